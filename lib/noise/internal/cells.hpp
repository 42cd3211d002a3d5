// SPDX-License-Identifier: GPL-3.0-or-later
//
// Powers averaged in cells, and cells grouped in steps, on rasters counted from frame 0 of the time
// line.
#pragma once

#include "conventions.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// Positions of a track's values on the time line: value i covers [first_begin + i*hop, first_end +
/// i*hop).
struct TrackRaster {
    Frame first_begin = 0;
    Frame first_end = 1;
    Frame hop = 1;
    std::size_t values = 0;
};

class Cells {
  public:
    Cells(const TrackRaster& track, double rate_hz, double cell_s);

    [[nodiscard]] Frame first() const { return first_step_ * step_frames(); }
    [[nodiscard]] Frame step_frames() const {
        return cell_frames_ * static_cast<Frame>(cells_a_step_);
    }
    [[nodiscard]] std::size_t cells_a_step() const { return cells_a_step_; }
    [[nodiscard]] std::size_t steps() const { return steps_; }
    [[nodiscard]] std::size_t steps_a_window() const { return steps_a_window_; }
    [[nodiscard]] std::size_t count() const { return steps_ * cells_a_step_; }
    [[nodiscard]] std::size_t begin_of(std::size_t step) const { return step * cells_a_step_; }
    [[nodiscard]] std::size_t end_of(std::size_t step) const { return (step + 1) * cells_a_step_; }

    /// Mean power of each cell, [band * count() + cell], from power[value * bands + band]. Cells
    /// that the track does not fill, or that overlap a missing stretch, are -1.
    /// \param marked  further values to leave out, if given; a cell is the mean of the rest
    [[nodiscard]] std::vector<float> gather(std::span<const float> power, std::size_t bands,
                                            std::span<const Run> missing,
                                            std::span<const char> marked = {}) const;

    /// The step in which value i of the track begins.
    [[nodiscard]] std::size_t step_of(std::size_t value) const {
        const Frame begin = track_.first_begin + static_cast<Frame>(value) * track_.hop;
        return static_cast<std::size_t>((begin - first()) / step_frames());
    }

  private:
    [[nodiscard]] std::vector<char> present(std::span<const Run> missing) const;

    TrackRaster track_;
    Frame hops_a_cell_ = 1;
    Frame cell_frames_ = 1;
    std::size_t cells_a_step_ = 1, steps_a_window_ = 1, steps_ = 0;
    Frame first_step_ = 0;
};

} // namespace lull
