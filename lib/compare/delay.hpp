// SPDX-License-Identifier: GPL-3.0-or-later
//
// Arrival-time differences between two channels, by generalised cross-correlation
// [Knapp & Carter 1976, IEEE Trans. ASSP 24(4)].
#pragma once

#include "compare/ranking.hpp"
#include "recording/recording.hpp"
#include "signal/band.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// What a delay is measured by.
enum class DelayMethod {
    waveform, ///< the first waves as waveforms, which must then be alike
    envelope, ///< when the energy in the event's own band begins to arrive
};
[[nodiscard]] const char* name_of(DelayMethod method); ///< "waveform", "envelope"

/// The delay by the other method, and how probable it is that it is the right one.
struct OtherDelay {
    double delay_s = 0.0, sigma_s = 0.0, path_sigma_s = 0.0;
    double probability = 0.0; ///< the same for all pairs of an event
};

/// delay_s = arrival at b minus arrival at a: positive when b hears later.
struct DelayEstimate {
    int event = 0;
    int channel_a = 0, channel_b = 0;
    double delay_s = 0.0;
    double sigma_s = 0.0;      ///< standard deviation, all causes
    double path_sigma_s = 0.0; ///< the part of it that stays from knock to knock at one place: what
                               ///< follows the first waves on their ways, not the noise
    double correlation = 0.0;  ///< -1..1, in the band, at the delay
    bool usable = false;
    std::string reason; ///< why not; empty when usable
    DelayMethod method = DelayMethod::waveform;
    std::optional<OtherDelay> other; ///< where both methods can be used
};

/// What the delay between two stretches of one event is measured from.
struct DelayInput {
    std::span<const float> a, b;             ///< of equal length, the event in both
    std::span<const float> noise_a, noise_b; ///< of equal length, before the event; may be empty
    double rate_hz = 0.0;
    Band band;                    ///< to which the samples are band-passed
    double longest_delay_s = 0.0; ///< > 0
};

/// For one path to each channel: the delay that maximises the likelihood, given the spectra:
/// cross-spectrum weighted by g/|S| with g = r_a r_b / (1 + r_a + r_b) from the channels' SNR
/// spectra; its maximum over
/// [-longest, longest] found between samples. sigma from the general bound
/// 1/var = 2 sum (2 pi f)^2 g. Not usable: too little above the noise, a better one beyond, or a
/// second maximum that is nearly as likely (a ringing knock matches itself a period away).
[[nodiscard]] DelayEstimate delay_between(const DelayInput& input);

/// All pairs of the channels that heard the event, within one kind, by the likelier method: where
/// the waveforms' delays and the envelopes' differ, waves spread out on their way, and the
/// waveforms match somewhere in them.
/// \param stretch      band-passed
/// \param raw_stretch  as recorded: an impact's own band may lie below the analysis band
[[nodiscard]] std::vector<DelayEstimate> delays_of(const EventSpan& event,
                                                   const Recording& recording, Band band,
                                                   const StretchOf& stretch,
                                                   const StretchOf& raw_stretch);

/// Sum of the delays round three channels and its sigma: zero within its sigma when all are right.
struct Closure {
    double sum_s = 0.0, sigma_s = 0.0;
};
[[nodiscard]] Closure closure(const DelayEstimate& ab, const DelayEstimate& bc,
                              const DelayEstimate& ac);

} // namespace lull
