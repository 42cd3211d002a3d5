// SPDX-License-Identifier: GPL-3.0-or-later
//
// Was each channel fit to hear? Measured on the samples as decoded, before any filter.
// HealthMeter applies cheap tests to every sample of a unit of work, and detailed ones only where a
// cheap test fires. Its results are joined in the order of the units; findings() then judges the
// whole.
#pragma once

#include "conventions.hpp"
#include "health/finding.hpp"
#include "health/hum.hpp"
#include "noise/scale_changes.hpp"
#include "recording/recording.hpp"

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

namespace lull {

/// A stretch of the time line.
struct Stretch {
    Frame first = 0;
    Frame count = 0;
};

/// Stretches of one kind. All are counted; the first most_listed of them are listed.
struct StretchList {
    static constexpr std::size_t most_listed = 1000;
    std::vector<Stretch> listed;
    std::int64_t stretches = 0;
    Frame frames = 0; ///< in all stretches, listed or not
    Frame end = 0;    ///< of the last stretch

    void add(Stretch stretch);
    /// Appends later stretches. A stretch that begins where the last one ends is joined to it.
    void append(const StretchList& later);
};

/// Merges two lists of the same time, in order.
[[nodiscard]] StretchList merged(const StretchList& a, const StretchList& b);

/// A channel's level over one step of about health_step_s.
struct HealthStep {
    float mean = 0.0F;       ///< mean of the samples
    float power = 0.0F;      ///< mean square about that mean
    float high_share = 0.0F; ///< power of the sample differences over 4 times the power: 0..1
    float peak = 0.0F;
    float weighted_power = 0.0F; ///< A-weighted mean square over weighted_frames
    std::int32_t weighted_frames = 0;
    Frame frames = 0; ///< measured in this step; 0: no data
};

/// Adds the A-weighted power of further frames to a step's.
void add_weighted(HealthStep& step, double power, Frame frames);

inline constexpr double health_step_s = 2.0;

/// Sums over spectra taken every 2 s, in equal bands up to half the rate.
struct SpectrumLooks {
    static constexpr std::size_t bands = 128;
    std::vector<double> level_db; ///< of each band, sum over the spectra
    std::int64_t looks = 0;
    std::int64_t looked = 0;     ///< bands compared with their neighbours, in all spectra
    std::int64_t holes = 0;      ///< of them far under both sides, or under their usual level
    std::int64_t with_holes = 0; ///< spectra with any hole
};

/// Fall of the background over a loud sound, as automatic gain causes it.
struct GainDip {
    Frame frame = 0; ///< end of the sound
    float db = 0.0F; ///< background before the sound over background after it
};

/// What was measured of one channel. append() joins the units.
struct ChannelHealth {
    Frame first = 0;  ///< of what was measured
    Frame frames = 0; ///< number measured, without missing, lost and non-finite ones
    double sum = 0.0, sum_of_squares = 0.0;
    double peak = 0.0;       ///< largest absolute sample
    double least_step = 0.0; ///< smallest non-zero difference between neighbours; 0: none
    StretchList clipped;     ///< samples at a flattened extreme
    double clip_level = 0.0; ///< lowest level at which it clipped; 0: never
    StretchList zeroed;      ///< samples set to exactly 0 in a channel that is not silent
    StretchList held;        ///< one value repeated
    StretchList repeated;    ///< a block that was sent twice
    StretchList missing;     ///< no file has data
    StretchList lost;        ///< in a damaged part of a file
    StretchList non_finite;  ///< not a number, or infinite
    Frame step = 1;          ///< frames a step
    std::vector<HealthStep> steps;
    std::vector<HumUnit> hum; ///< one for each unit of work long enough
    SpectrumLooks spectrum;
    StretchList jumps; ///< steps between two samples that their neighbourhood does not explain
    static constexpr std::size_t most_dips = 1000;
    std::vector<GainDip> dips; ///< by note_gain_dips()

    [[nodiscard]] double mean() const;  ///< of the samples; 0 without samples
    [[nodiscard]] double power() const; ///< mean square

    /// Appends what a later unit of work measured.
    void append(const ChannelHealth& later);

  private:
    void append_steps(const ChannelHealth& later);
};

class HealthMeter {
  public:
    /// \param a_weighted  for each channel whether A-weighted power is needed; may be empty
    HealthMeter(int channels, double rate_hz, const std::vector<bool>& a_weighted = {});
    ~HealthMeter();
    HealthMeter(HealthMeter&&) noexcept;
    HealthMeter& operator=(HealthMeter&&) noexcept;

    /// Measures the frames of a block that lie in [core_begin, core_end). Blocks follow one
    /// another.
    void push(const Block& raw, Frame core_begin, Frame core_end);

    /// The results, one a channel. The meter cannot be used afterwards.
    [[nodiscard]] std::vector<ChannelHealth> finish();

  private:
    struct ChannelMeter;
    std::vector<std::unique_ptr<ChannelMeter>> meters_;
    bool started_ = false;
};

/// What the session says about a channel.
struct ChannelFacts {
    ChannelKind kind = ChannelKind::unknown;
    ScaleChanges changes;           ///< relative to the first measured frame
    std::optional<double> mains_hz; ///< nominal
};

/// Judges all channels of a recording, in order of channel and then of kind. Times in seconds of
/// the time line.
/// \param facts  one a channel; empty where nothing is known
[[nodiscard]] std::vector<Finding> findings(std::span<const ChannelHealth> channels, double rate_hz,
                                            std::span<const ChannelFacts> facts = {});

} // namespace lull
