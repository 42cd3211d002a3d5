// SPDX-License-Identifier: GPL-3.0-or-later
//
// Third-octave levels by filters.
// Mid-bands are 1000 * 10^(3x/30) Hz, edges 10^(+-1/20) away [IEC 61260-1:2014, base ten]. Each
// band is a Butterworth band-pass of order 4 per edge, which meets the class 1 limits of that
// standard up to 0.4 of the rate (the tests measure this bank). Bands under a tenth of the rate run
// on streams decimated by half-band filters, octave by octave, so that single precision suffices
// for every filter.
#pragma once

#include "recording/recording.hpp"

#include <memory>
#include <vector>

namespace lull {

inline constexpr double third_octave_step_s = 0.1; ///< approximately; see BandTrack::hop

/// Exact mid-band frequencies from low_hz to high_hz, both within half a band.
[[nodiscard]] std::vector<double> third_octave_centres(double low_hz, double high_hz);

/// Power of one channel in every band, step by step.
struct BandTrack {
    Frame first = 0;             ///< time-line frame where step 0 begins
    Frame hop = 1;               ///< frames a step
    std::vector<double> mid_hz;  ///< bands, rising
    std::vector<Frame> settling; ///< [band] time in which a filter's memory of a jump decays
    std::vector<std::vector<float>> power; ///< [band][step] mean square; NaN while a filter settles
};

class ThirdOctaveBank {
  public:
    /// Bands from 25 Hz to 0.4 of the rate. Steps lie on a raster counted from frame 0.
    ThirdOctaveBank(int channels, double rate_hz, Frame first);
    ~ThirdOctaveBank();
    ThirdOctaveBank(ThirdOctaveBank&&) noexcept;

    /// Blocks must follow one another without a gap from `first` on.
    void push(const Block& block);
    /// The tracks, one a channel, without an unfinished last step. The bank cannot be used
    /// afterwards.
    [[nodiscard]] std::vector<BandTrack> take();

  private:
    struct Octave;
    struct Group;
    void push_group(Group& group, const Block& block, Frame from);
    static void run_tile(Group& group);
    static void end_step(Group& group, Octave& octave);

    int channels_;
    Frame step_, at_;
    bool begun_ = false;
    std::vector<std::unique_ptr<Group>> groups_; ///< of up to eight channels
};

} // namespace lull
