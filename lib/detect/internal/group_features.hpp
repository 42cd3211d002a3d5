// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a group of taps is judged by: itself, and what else is heard around it.
#pragma once

#include "detect/event.hpp"
#include "detect/internal/known_runs.hpp"
#include "detect/internal/rhythm.hpp"

#include <array>
#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

namespace lull {

/// What is weighed about one group of a chain.
struct GroupFeatures {
    double taps = 0.0;
    double interval_s = 0.0; ///< median
    double regularity = 0.0;
    double likeness = 0.0;       ///< mean between neighbours in the group
    double correlation = 0.0;    ///< of their imprints, mean between neighbours
    double agreement = 0.0;      ///< asinh of that of their places, mean between neighbours
    double stays = 0.0;          ///< the same of the first tap and the last
    double channels = 0.0;       ///< on which two neighbours are compared, mean
    double of_channels = 0.0;    ///< of the recording
    double heard = 0.0;          ///< channels that hear a tap, mean
    double dominance_db = 0.0;   ///< best channel over the next, mean: large at the sensor itself;
                                 ///< 0 where there is one channel
    double same_again = 0.0;     ///< as `same`, of every tap and the one but next
    double expected = 0.0;       ///< what it would be at this noise, were they one blow repeated
    double snr_db = 0.0;         ///< mean of the taps
    double snr_spread_db = 0.0;  ///< standard deviation
    double alone = 0.0;          ///< mean confidence of the taps by themselves, as log odds
    double crowd = 0.0;          ///< other impulses in the 10 s before and after, per 10 s
    double alike = 0.0;          ///< of them, those of its own source, probability as weight
    double stronger = 0.0;       ///< of them, those that are stronger
    double centroid_hz = 0.0;    ///< mean of the taps, each on its strongest channel
    double within_lasting = 0.0; ///< 0..1: share of the taps inside a sound that lasts
    double groups = 0.0;         ///< groups of 2 taps and more in the chain within a minute
    double goes_on = 0.0;        ///< beats before and after at which any impulse falls, <= 16
    double apart = 0.0;          ///< shorter pause around it, from any impulse, in intervals
    double apart_from_alike = 0.0; ///< the same, from impulses that sound like it
    double same = 0.0;             ///< log likelihood ratio of one source, mean between neighbours
    double weakest = 0.0;          ///< the same, least
    double by_chance = 0.0;        ///< ln of such groups expected in a minute by chance
    double trend = 0.0;            ///< 0..1: how steadily the levels come and go; from 4 taps
    double sides = 0.0;            ///< how much more alike every other tap is; from 4 taps
    double groups_beat = 0.0;      ///< 0..1: how strictly the chain's groups follow one another
};

/// The sounds that groups are judged against, by index into the events.
class Surroundings {
  public:
    explicit Surroundings(const std::vector<Event>& events);

    /// Remembers the runs of all chains, so that groups of others are held against them.
    void add_runs(const std::vector<Chain>& chains) { runs_.add(chains); }

    /// \param own  a group of the chain, or a part of one: the rest is then as if it were not there
    [[nodiscard]] GroupFeatures features_of(const Chain& chain, const TapGroup& own) const;

  private:
    void measure_taps(GroupFeatures& features, const Chain& chain, const TapGroup& own) const;
    void measure_chain(GroupFeatures& features, const Chain& chain, const TapGroup& own) const;
    void measure_others(GroupFeatures& features, const Chain& chain, const TapGroup& own) const;
    void measure_course(GroupFeatures& features, const Chain& chain, const TapGroup& own) const;
    [[nodiscard]] double beats_beyond(std::span<const std::size_t> rivals, double from_s,
                                      double step_s) const;
    [[nodiscard]] double pause_around(std::span<const std::size_t> rivals, double from_s,
                                      double to_s) const;
    [[nodiscard]] std::vector<std::size_t> repeats_of(const Chain& chain,
                                                      const TapGroup& own) const;
    [[nodiscard]] std::vector<std::size_t> rivals_of(const Chain& chain, const TapGroup& own) const;

    const std::vector<Event>& events_;
    std::vector<std::size_t> impulses_;
    std::vector<std::size_t> lasting_;
    int channels_ = 0; ///< of the recording, as far as anything was heard on them
    KnownRuns runs_;
};

/// The same in the form that the model of series weighs, in order.
inline constexpr std::string_view series_schema =
    "log2 taps, up to 6; asinh of the agreement of places; regularity; likeness; "
    "mean SNR [10 dB]; mean log odds of the taps alone; ln(1 + crowd per 10 s); "
    "log2(1 + groups); 1 for a pair; log2(interval / 0.4 s); "
    "beats beyond the group, up to 4 [4]; beats beyond 4 [4]; log2(taps up to 6 + beats beyond); "
    "log2 of the pause around it [intervals]; correlation of imprints; correlation expected; "
    "SNR spread [4 dB]; ln(1 + alike per 10 s); ln(1 + stronger per 10 s); "
    "share inside lasting sounds; log2 of the pause from what is alike [intervals]; "
    "log likelihood ratio of one source; the least of it; "
    "ln of such groups by chance in a minute [4]; trend of levels; sides; "
    "the same of the first tap and the last; beat of the chain's groups beyond 0.8; "
    "log2 of the channels they are compared on; log2 of the recording's channels; "
    "log2 of the channels that hear a tap; best channel over the next [10 dB]; "
    "log likelihood ratio of the one but next";
inline constexpr std::size_t series_feature_count = 33;
[[nodiscard]] std::array<double, series_feature_count> series_features(const GroupFeatures& f);

} // namespace lull
