// SPDX-License-Identifier: GPL-3.0-or-later
//
// Was each channel fit to hear? Measured on the samples as decoded, before any filter.
//
// HealthMeter looks at every sample of a unit of work with cheap tests and closely only where one
// of them fires. Its results join in the order of the units; findings() then judges the whole.
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

/// Stretches of one kind: all counted, the first most_listed of them listed.
struct StretchList {
    static constexpr std::size_t most_listed = 1000;
    std::vector<Stretch> listed;
    std::int64_t stretches = 0;
    Frame frames = 0; ///< in all of them, listed or not
    Frame end = 0;    ///< of the last of them

    void add(Stretch stretch);
    /// Adds those of later frames; a stretch that goes on where the last one ended is one with it.
    void append(const StretchList& later);
};

/// Two lists of one stretch of time, in order.
[[nodiscard]] StretchList merged(const StretchList& a, const StretchList& b);

/// A channel's level over one step of about health_step_s.
struct HealthStep {
    float mean = 0.0F;       ///< of the samples
    float power = 0.0F;      ///< mean square about that mean
    float high_share = 0.0F; ///< power of the differences of samples over 4 times the power: 0..1
    float peak = 0.0F;
    float weighted_power = 0.0F; ///< A-weighted mean square over weighted_frames
    std::int32_t weighted_frames = 0;
    Frame frames = 0; ///< measured in this step; 0: nothing there
};

/// Joins A-weighted power of further frames to a step's.
void add_weighted(HealthStep& step, double power, Frame frames);

inline constexpr double health_step_s = 2.0;

/// What was seen in spectra taken every 2 s, up to half the rate in equal bands.
struct SpectrumLooks {
    static constexpr std::size_t bands = 128;
    std::vector<double> level_db; ///< of each band, added up over the looks
    std::int64_t looks = 0;
    std::int64_t looked = 0;     ///< bands held against those beside them, in all looks
    std::int64_t holes = 0;      ///< of them far under both sides, or under what they usually have
    std::int64_t with_holes = 0; ///< looks with any
};

/// How far the background fell over a loud sound, as a recorder's automatic gain makes it.
struct GainDip {
    Frame frame = 0; ///< the sound's end
    float db = 0.0F; ///< background before over background after
};

/// What one channel was like; joined over units by append().
struct ChannelHealth {
    Frame first = 0;  ///< of the stretch that was measured
    Frame frames = 0; ///< measured; missing, lost and not finite ones are not
    double sum = 0.0, sum_of_squares = 0.0;
    double peak = 0.0;       ///< largest absolute sample
    double least_step = 0.0; ///< smallest difference between neighbours that differ; 0: none seen
    StretchList clipped;     ///< samples at a flattened extreme
    double clip_level = 0.0; ///< lowest level at which it clipped; 0: never
    StretchList zeroed;      ///< samples set to exactly 0 in a channel that is not silent
    StretchList held;        ///< one value repeated
    StretchList repeated;    ///< a block sent twice
    StretchList missing;     ///< no file has data
    StretchList lost;        ///< damaged in the file that has them
    StretchList non_finite;  ///< not a number, or infinite
    Frame step = 1;          ///< frames a step below
    std::vector<HealthStep> steps;
    std::vector<HumUnit> hum; ///< one for each unit of work long enough
    SpectrumLooks spectrum;
    StretchList jumps; ///< between two samples, with nothing in the samples round them
    static constexpr std::size_t most_dips = 1000;
    std::vector<GainDip> dips; ///< by note_gain_dips()

    [[nodiscard]] double mean() const;  ///< of the samples; 0 without samples
    [[nodiscard]] double power() const; ///< mean square

    /// Joins what a later unit of work measured.
    void append(const ChannelHealth& later);

  private:
    void append_steps(const ChannelHealth& later);
};

class HealthMeter {
  public:
    /// \param a_weighted  for each channel whether its A-weighted power is wanted; may be empty
    HealthMeter(int channels, double rate_hz, const std::vector<bool>& a_weighted = {});
    ~HealthMeter();
    HealthMeter(HealthMeter&&) noexcept;
    HealthMeter& operator=(HealthMeter&&) noexcept;

    /// Measures the frames of a block that lie in [core_begin, core_end). Blocks follow each other.
    void push(const Block& raw, Frame core_begin, Frame core_end);

    /// What was measured, a channel each. The meter is spent.
    [[nodiscard]] std::vector<ChannelHealth> finish();

  private:
    struct ChannelMeter;
    std::vector<std::unique_ptr<ChannelMeter>> meters_;
    bool started_ = false;
};

/// What the session says of a channel that is to be judged.
struct ChannelFacts {
    ChannelKind kind = ChannelKind::unknown;
    ScaleChanges changes;           ///< with the first measured frame as reference
    std::optional<double> mains_hz; ///< nominal
};

/// Judges all channels of a recording, in order of channel and then of kind. Times in seconds of
/// the time line.
/// \param facts  one a channel, or none where nothing is known
[[nodiscard]] std::vector<Finding> findings(std::span<const ChannelHealth> channels, double rate_hz,
                                            std::span<const ChannelFacts> facts = {});

} // namespace lull
