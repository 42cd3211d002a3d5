// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/exercise_signs.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

constexpr double tone_s = 0.2; ///< from one tone to the next; each sounds for three quarters of it

float sign_at(double time_s) {
    const double number = std::floor(time_s / tone_s), in = time_s - number * tone_s;
    const double length_s = 0.75 * tone_s;
    if (in >= length_s) return 0.0F;
    const double edge = std::min({1.0, in / 0.01, (length_s - in) / 0.01});
    const double tone_hz = static_cast<int>(number) % 2 == 0 ? 800.0 : 1200.0;
    const double amplitude = db_to_amplitude(exercise_sign_level_db) * std::numbers::sqrt2;
    return static_cast<float>(amplitude * edge * std::sin(2.0 * std::numbers::pi * tone_hz * in));
}

} // namespace

void add_exercise_sign(Frame first, Frame frames, double rate_hz, std::span<float> out) {
    const auto length = static_cast<Frame>(exercise_sign_s * rate_hz);
    const Frame end = first + static_cast<Frame>(out.size());
    for (const Frame start : {Frame{0}, frames - length}) {
        for (Frame n = std::max(first, start); n < std::min(end, start + length); ++n) {
            out[static_cast<std::size_t>(n - first)] +=
                sign_at(static_cast<double>(n - start) / rate_hz);
        }
    }
}

void limit_playback(std::span<float> out) {
    const auto limit = static_cast<float>(db_to_amplitude(playback_limit_db));
    const float knee = limit * 0.7079F, room = limit - knee;
    for (float& sample : out) {
        const float size = std::abs(sample);
        if (size > knee)
            sample = std::copysign(knee + room * std::tanh((size - knee) / room), sample);
    }
}

} // namespace lull
