// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a search for templates found becomes events, and part of the series it repeats.
#pragma once

#include "detect/event.hpp"
#include "detect/tap_template.hpp"
#include "detect/template_search.hpp"

#include <span>
#include <vector>

namespace lull {

inline constexpr double same_tap_s = 0.04; ///< a match this near an impulse is that impulse

/// A match and how it arrives on each channel that it is heard on.
struct Repeat {
    Match match;
    std::vector<Arrival> arrivals; ///< by channel; empty where the match is an impulse known before
};

inline constexpr double repeat_length_s = 0.08; ///< most that a repeat is measured over

/// How a repeat arrives on a channel, its channel apart.
/// \param waveform    band-passed; `onset` is the index of the onset in it
/// \param score       of the channel: its onset is the surer the higher
/// \param floor_power mean square of the noise floor there
[[nodiscard]] Arrival repeat_arrival(std::span<const float> waveform, std::size_t onset,
                                     double onset_s, double score, double floor_power,
                                     double rate_hz);

/// Probability that a match is a tap of the template's source, given that the template is what it
/// seems: logistic in the score, the correlation and how often the template matches, with weights
/// that were set, not fitted. \param matches_per_minute of the template, over the whole recording
[[nodiscard]] double repeat_probability(const Match& match, double matches_per_minute);

/// Whether a tap of a series that a template covers is so near that a match is that tap, or an
/// echo of it; events in order of onset.
[[nodiscard]] bool own_tap(const TapTemplate& like, std::span<const Event> events, double onset_s);

/// Whether an impulse that is known begins here; events in order of onset.
[[nodiscard]] bool known_impulse(std::span<const Event> events, double onset_s);

/// Matches where nothing was heard before become tapping events; tapping that was heard there
/// becomes surer. What is at least as likely as not joins the series of which a tap is near, of
/// those that the template covers, unless it is in another; elsewhere it is a sound heard again. A
/// repeat with no other of them within 3 s, echoes apart, stays under 0.5, as any impulse alone.
/// Events and series are numbered anew. \param repeats  in order of onset \param minutes  searched
void add_repeats(std::vector<Event>& events, std::vector<Series>& series,
                 std::span<const TapTemplate> templates, std::vector<Repeat> repeats,
                 double minutes);

/// Says in the `why` of each event which series it is like: "like series 3: correlation 0.81, 17 dB
/// over the noise of the matching". Once series have their last numbers.
void tell_likeness(std::vector<Event>& events);

} // namespace lull
