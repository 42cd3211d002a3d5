// SPDX-License-Identifier: GPL-3.0-or-later
//
// The one streaming pass over a unit of work: decoded once, filtered once, transformed once.
#pragma once

#include "detect/event.hpp"
#include "detect/scores.hpp"
#include "health/health.hpp"
#include "noise/levels.hpp"
#include "recording/units.hpp"
#include "review/course.hpp"
#include "review/settings.hpp"
#include "signal/sections.hpp"

#include <atomic>
#include <memory>
#include <vector>

namespace lull {

/// What a unit gives to the whole; joined in order of the units.
struct UnitResult {
    std::vector<ChannelHealth> health; ///< a channel each
    std::vector<Course> courses;       ///< a channel each, steps of the core
    std::vector<BandLevels> levels;    ///< a channel each, third octaves, steps of the core
    std::vector<Arrival> arrivals;     ///< whose onset lies in the core
    std::vector<ScoreTrack> scores;    ///< a channel each, steps of the core
};

/// The band-pass of the analysis band: Butterworth, order 4 per edge.
[[nodiscard]] Sections analysis_filter(Band band, double rate_hz);

/// Does units on one thread, with a stream and buffers of its own.
class UnitPass {
  public:
    UnitPass(const Recording& recording, const Settings& settings, const Wanted& wanted);

    /// \param stop  set by another thread: the pass ends early and its result means nothing
    [[nodiscard]] UnitResult run(const Unit& unit, const std::atomic<bool>& stop);

  private:
    struct Meters;
    void stream_unit(const Unit& unit, Meters& meters, const std::atomic<bool>& stop);
    [[nodiscard]] FloorTrack level_floor(const LevelTrack& level, int channel,
                                         const std::vector<Run>& missing) const;
    [[nodiscard]] std::vector<FloorTrack> floors_of_bands(const SpectrumTrack& spectrum,
                                                          int channel,
                                                          const std::vector<Run>& missing) const;
    [[nodiscard]] Frame settling() const; ///< of the band-pass
    [[nodiscard]] std::vector<BandLevels> measure_levels(const Unit& unit, Meters& meters) const;
    void hear(const Unit& unit, Meters& meters, const std::vector<FloorTrack>& floors,
              UnitResult& result);

    const Recording* recording_;
    Settings settings_;
    Wanted wanted_;
    Sections band_pass_;
    std::unique_ptr<Stream> stream_;
    Block block_;
};

} // namespace lull
