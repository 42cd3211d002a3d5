// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/internal/cells.hpp"

#include "noise/floor.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

Frame floor_divide(Frame a, Frame b) {
    return a / b - (a % b < 0 ? 1 : 0);
}

} // namespace

Cells::Cells(const TrackRaster& track, double rate_hz, double cell_s) : track_(track) {
    const auto rounded = [](double x) { return std::max<Frame>(1, std::llround(x)); };
    hops_a_cell_ = rounded(cell_s * rate_hz / static_cast<double>(track.hop));
    cell_frames_ = hops_a_cell_ * track.hop;
    const double one_s = static_cast<double>(cell_frames_) / rate_hz;
    cells_a_step_ = static_cast<std::size_t>(rounded(floor_step_s / one_s));
    const double step_s = one_s * static_cast<double>(cells_a_step_);
    steps_a_window_ = static_cast<std::size_t>(std::max(1.0, std::floor(floor_window_s / step_s)));
    if (track.values == 0) return;
    const Frame last = track.first_begin + (static_cast<Frame>(track.values) - 1) * track.hop;
    first_step_ = floor_divide(track.first_begin, step_frames());
    steps_ = static_cast<std::size_t>(floor_divide(last, step_frames()) - first_step_ + 1);
}

std::vector<char> Cells::present(std::span<const Run> missing) const {
    std::vector<char> there(track_.values, 1);
    for (const Run& run : missing) {
        // Values whose stretch [begin, end) overlaps the run.
        const Frame from = floor_divide(run.first - track_.first_end, track_.hop) + 1;
        const Frame to = -floor_divide(track_.first_begin - run.first - run.count, track_.hop);
        const auto end = static_cast<Frame>(track_.values);
        for (Frame i = std::max<Frame>(0, from); i < std::min(end, to); ++i)
            there[static_cast<std::size_t>(i)] = 0;
    }
    return there;
}

std::vector<float> Cells::gather(std::span<const float> power, std::size_t bands,
                                 std::span<const Run> missing, std::span<const char> marked) const {
    std::vector<float> cells(count() * bands, -1.0F);
    std::vector<char> there = present(missing);
    for (std::size_t i = 0; i < marked.size(); ++i)
        if (marked[i]) there[i] = 0;
    std::vector<double> sum(bands);
    Frame in_cell = 0, cell = -1;
    // A track shorter than one cell is used as it is.
    const Frame needed =
        marked.empty() ? std::min<Frame>(hops_a_cell_, static_cast<Frame>(track_.values)) : 1;
    const auto close = [&] {
        if (cell < 0 || in_cell < needed) return;
        for (std::size_t b = 0; b < bands; ++b)
            cells[b * count() + static_cast<std::size_t>(cell)] =
                static_cast<float>(sum[b] / static_cast<double>(in_cell));
    };
    for (std::size_t i = 0; i < track_.values; ++i) {
        const Frame begin = track_.first_begin + static_cast<Frame>(i) * track_.hop;
        const Frame now = floor_divide(begin - first(), cell_frames_);
        if (now != cell) {
            close();
            cell = now;
            in_cell = 0;
            std::fill(sum.begin(), sum.end(), 0.0);
        }
        if (!there[i]) continue;
        ++in_cell;
        for (std::size_t b = 0; b < bands; ++b)
            sum[b] += static_cast<double>(power[i * bands + b]);
    }
    close();
    return cells;
}

} // namespace lull
