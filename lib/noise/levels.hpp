// SPDX-License-Identifier: GPL-3.0-or-later
//
// The noise table: floor, median and level of each band over each interval.
#pragma once

#include "conventions.hpp"
#include "signal/tracks.hpp"

#include <cstdint>
#include <map>
#include <span>
#include <vector>

namespace lull {

/// A row of the noise table. Powers are mean squares relative to full scale = 1; 0: no sound at
/// all.
struct NoiseLevel {
    int channel = 0;
    double band_hz = 0.0; ///< exact mid-band frequency
    double from_s = 0.0, to_s = 0.0;
    double floor = 0.0;  ///< mean power without events
    double median = 0.0; ///< of the steps' powers
    double level = 0.0;  ///< mean power of everything
};

/// Accumulates one channel's bands. Memory depends on bands and intervals, not on length.
class BandLevels {
  public:
    BandLevels() = default;
    /// \param mid_hz    mid-band frequencies
    /// \param from, to  the reported time [frames]
    /// \param interval  frames an interval, counted from `from`; 0: one interval over everything
    BandLevels(std::vector<double> mid_hz, Frame from, Frame to, Frame interval);

    /// Adds the steps of one band that begin within [core_begin, core_end).
    /// \param band   index into mid_hz
    /// \param power  mean square of each step; negative or not finite: left out
    /// \param first  time-line frame where step 0 begins
    /// \param hop    frames a step
    /// \param floor  of the same track (noise_floor)
    void add(std::size_t band, std::span<const float> power, Frame first, Frame hop,
             const FloorTrack& floor, Frame core_begin, Frame core_end);

    /// Appends what a later unit of work measured.
    void append(const BandLevels& later);

    /// Whether these can be the levels of a unit with that core. `like` has the bands, time and
    /// interval asked for. Levels from a file must pass this before append().
    [[nodiscard]] bool could_be_of(const BandLevels& like, Frame core_begin, Frame core_end) const;

    /// Rows in order of interval, then band. Intervals without any step are left out.
    [[nodiscard]] std::vector<NoiseLevel> levels(int channel, double rate_hz) const;

    /// Reads or writes all of it (review/internal/unit_form.hpp).
    template <class Form>
    friend void pass(Form& form, BandLevels& levels);

  private:
    struct Sum {
        std::int64_t steps = 0, floor_steps = 0;
        double power = 0.0, floor = 0.0;
        std::map<int, std::int64_t> histogram; ///< number of steps at each twentieth of a decibel
        double median = -1.0; ///< set when the interval is over; the histogram is then empty
    };
    [[nodiscard]] std::vector<Sum>& interval_of(Frame frame);
    void close_before(std::int64_t interval);

    std::vector<double> mid_hz_;
    Frame from_ = 0, to_ = 0, interval_ = 0;
    std::map<std::int64_t, std::vector<Sum>> sums_; ///< by interval, one Sum a band
};

} // namespace lull
