// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/units.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

std::vector<Unit> plan_units(Frame frames, double rate_hz, Frame from, Frame to) {
    const auto in_frames = [rate_hz](double seconds) {
        return static_cast<Frame>(std::llround(seconds * rate_hz));
    };
    const Frame core = in_frames(unit_core_s);
    from = std::clamp<Frame>(from, 0, frames);
    to = std::clamp<Frame>(to, from, frames);
    std::vector<Unit> units;
    for (Frame number = from / core; number * core < to; ++number) {
        Unit unit;
        unit.number = static_cast<int>(number);
        unit.core_begin = std::max(from, number * core);
        unit.core_end = std::min(to, (number + 1) * core);
        unit.read_begin = std::max<Frame>(0, number * core - in_frames(unit_run_in_s));
        unit.read_end = std::min(frames, (number + 1) * core + in_frames(unit_run_out_s));
        units.push_back(unit);
    }
    return units;
}

} // namespace lull
