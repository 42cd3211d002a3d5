// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/repeats.hpp"

#include "conventions.hpp"
#include "detect/internal/logistic.hpp"
#include "detect/internal/measures.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <iterator>
#include <numbers>
#include <optional>

namespace lull {
namespace {

constexpr double joins_from = 0.5; ///< probability from which a repeat is one of the series' taps
constexpr double most_probable = 0.97;
/// People knock in groups: what repeats alone, be it all night, may be anything that strikes.
constexpr double company_s = 3.0, most_alone = 0.45;
constexpr double echo_s = 0.1;             ///< nobody knocks twice within this
constexpr double raster_sigma_s = 2e-4;    ///< of the template's own onsets, on the thinned raster
constexpr double usual_breadth_hz = 250.0; ///< rms breadth of a knock's band

/// Set, not fitted: on made scenes all but one of some hundred matches are true, far too many to
/// fit on. So that they mean something where repeats are ten times as rare, they are less sure than
/// those scenes would have them (scripts/measure_repeats.py shows how far).
constexpr Logistic<3> repeat_weights{
    2.0, {17.0, 0.7, 1.0}, {4.0, 0.15, 0.7}, {1.0, 1.0, -0.5}, {0.0, 0.0, 0.0, 0.0, 0.0, 0.0}};

std::array<double, 3> repeat_features(const Match& match, double matches_per_minute) {
    return {std::min(20.0 * std::log10(match.score), 40.0), match.correlation,
            std::log1p(matches_per_minute)};
}

/// The impulse that begins nearest to a time, within same_tap_s.
std::optional<std::size_t> impulse_at(std::span<const Event> events, double onset_s) {
    std::optional<std::size_t> best;
    double least = same_tap_s;
    const auto from = std::ranges::lower_bound(events, onset_s - same_tap_s, {}, &Event::onset_s);
    for (auto it = from; it != events.end() && it->onset_s <= onset_s + same_tap_s; ++it) {
        if (it->arrivals.empty() || it->arrivals.front().shape.sustained) continue;
        const double off = std::abs(it->onset_s - onset_s);
        if (best && off >= least) continue;
        least = off;
        best = static_cast<std::size_t>(it - events.begin());
    }
    return best;
}

Event make_event(Repeat&& repeat, double confidence) {
    Event event;
    event.kind = EventKind::tapping;
    event.arrivals = std::move(repeat.arrivals);
    event.confidence = confidence;
    event.onset_s = event.arrivals.front().onset_s;
    event.end_s = event.arrivals.front().end_s;
    for (Arrival& arrival : event.arrivals) {
        event.onset_s = std::min(event.onset_s, arrival.onset_s);
        event.end_s = std::max(event.end_s, arrival.end_s);
        arrival.confidence = confidence;
    }
    event.strongest = strongest_of(event.arrivals).channel;
    event.why = fmt::format("found again on {} channel{}", event.arrivals.size(),
                            event.arrivals.size() == 1 ? "" : "s");
    return event;
}

/// Leaves out the template's own taps and their echoes.
void drop_known(std::vector<Repeat>& repeats, std::span<const Event> events,
                std::span<const TapTemplate> templates) {
    std::erase_if(repeats, [&](const Repeat& repeat) {
        if (own_tap(templates[repeat.match.of], events, repeat.match.onset_s)) return true;
        return repeat.arrivals.empty() && !known_impulse(events, repeat.match.onset_s);
    });
}

/// For each repeat, whether another likely one of its template, or a tap of its series, is near.
std::vector<bool> in_company(std::span<const Repeat> repeats, std::span<const Event> events,
                             std::span<const TapTemplate> templates,
                             std::span<const double> probable) {
    const auto near = [](double a_s, double b_s) {
        const double apart_s = std::abs(a_s - b_s);
        return apart_s > echo_s && apart_s <= company_s;
    };
    std::vector<bool> company(repeats.size());
    for (std::size_t i = 0; i < repeats.size(); ++i) {
        const Match& own = repeats[i].match;
        const auto onset_s = [](const Repeat& one) { return one.match.onset_s; };
        const auto first = std::ranges::lower_bound(repeats, own.onset_s - company_s, {}, onset_s);
        for (auto k = static_cast<std::size_t>(first - repeats.begin());
             k < repeats.size() && onset_s(repeats[k]) <= own.onset_s + company_s && !company[i];
             ++k)
            company[i] = repeats[k].match.of == own.of && probable[k] >= joins_from &&
                         near(repeats[k].match.onset_s, own.onset_s);
        auto at = std::ranges::lower_bound(events, own.onset_s - company_s, {}, &Event::onset_s);
        for (; at != events.end() && at->onset_s <= own.onset_s + company_s && !company[i]; ++at)
            company[i] = at->series && templates[own.of].covers(*at->series) &&
                         near(at->onset_s, own.onset_s);
    }
    return company;
}

/// For each repeat, the series that it is one of the taps of: that which its template covers and
/// whose last tap, or next, is no farther than groups of one series are apart. What is farther
/// stays a sound heard again, so that no series lasts through what nobody knocked in.
std::vector<std::optional<int>> joined_series(std::span<const Repeat> repeats,
                                              std::span<const Event> events,
                                              std::span<const TapTemplate> templates,
                                              std::span<const double> probable,
                                              const std::vector<bool>& company) {
    struct Tap {
        double onset_s = 0.0;
        std::optional<int> series;
        std::size_t repeat = 0; ///< where it is one
    };
    std::vector<std::optional<int>> joined(repeats.size());
    for (std::size_t of = 0; of < templates.size(); ++of) {
        std::vector<Tap> taps;
        for (const Event& event : events)
            if (event.series && templates[of].covers(*event.series))
                taps.push_back({event.onset_s, event.series, repeats.size()});
        for (std::size_t i = 0; i < repeats.size(); ++i)
            if (repeats[i].match.of == of && company[i] && probable[i] >= joins_from)
                taps.push_back({repeats[i].match.onset_s, {}, i});
        std::ranges::stable_sort(taps, {}, &Tap::onset_s);
        const auto spread = [&](auto begin, auto end) {
            const Tap* last = nullptr; // known to be of a series
            for (auto tap = begin; tap != end; ++tap) {
                if (!tap->series && last &&
                    std::abs(tap->onset_s - last->onset_s) <= longest_pause_s)
                    joined[tap->repeat] = tap->series = last->series;
                if (tap->series) last = &*tap;
            }
        };
        spread(taps.begin(), taps.end());
        spread(taps.rbegin(), taps.rend());
    }
    return joined;
}

/// Numbers events by their onsets, and series' members with them.
void number_anew(std::vector<Event>& events, std::vector<Series>& series) {
    std::stable_sort(events.begin(), events.end(),
                     [](const Event& a, const Event& b) { return a.onset_s < b.onset_s; });
    for (Series& one : series)
        one.events.clear();
    for (std::size_t e = 0; e < events.size(); ++e) {
        events[e].number = static_cast<int>(e) + 1;
        if (!events[e].series) continue;
        Series& own = series[static_cast<std::size_t>(*events[e].series) - 1];
        own.events.push_back(events[e].number);
        own.from_s = std::min(own.from_s, events[e].onset_s);
        own.to_s = std::max(own.to_s, events[e].end_s);
    }
    for (Series& one : series)
        one.taps = static_cast<int>(one.events.size());
}

} // namespace

Arrival repeat_arrival(std::span<const float> waveform, std::size_t onset, double onset_s,
                       double score, double floor_power, double rate_hz) {
    const std::size_t limit =
        std::min(waveform.size(), onset + static_cast<std::size_t>(repeat_length_s * rate_hz));
    const ImpulseMeasures measures = measure_impulse(waveform, onset, limit, rate_hz, floor_power);
    Arrival arrival;
    arrival.kind = EventKind::tapping;
    arrival.onset_s = onset_s;
    // The bound of a matched filter: 1 / (score * angular breadth of the band).
    arrival.onset_sigma_s =
        raster_sigma_s + 1.0 / (std::max(1.0, score) * 2.0 * std::numbers::pi * usual_breadth_hz);
    arrival.end_s = onset_s + measures.duration_s;
    arrival.peak = measures.peak;
    arrival.peak_energy = measures.peak_energy;
    arrival.energy = measures.energy;
    arrival.floor_power = floor_power;
    arrival.snr_db = signal_to_noise_db(measures.peak_energy, floor_power);
    return arrival;
}

double repeat_probability(const Match& match, double matches_per_minute) {
    return std::min(
        most_probable,
        probability(log_odds(repeat_weights, repeat_features(match, matches_per_minute))));
}

bool own_tap(const TapTemplate& like, std::span<const Event> events, double onset_s) {
    auto at = std::ranges::lower_bound(events, onset_s - echo_s, {}, &Event::onset_s);
    for (; at != events.end() && at->onset_s <= onset_s + echo_s; ++at)
        if (at->series && like.covers(*at->series)) return true;
    return false;
}

bool known_impulse(std::span<const Event> events, double onset_s) {
    return impulse_at(events, onset_s).has_value();
}

void add_repeats(std::vector<Event>& events, std::vector<Series>& series,
                 std::span<const TapTemplate> templates, std::vector<Repeat> repeats,
                 double minutes) {
    drop_known(repeats, events, templates);
    std::vector<double> rate(templates.size());
    for (const Repeat& repeat : repeats)
        rate[repeat.match.of] += 1.0 / std::max(minutes, 1.0);
    std::vector<double> probable;
    for (const Repeat& repeat : repeats)
        probable.push_back(templates[repeat.match.of].confidence *
                           repeat_probability(repeat.match, rate[repeat.match.of]));
    const std::vector<bool> company = in_company(repeats, events, templates, probable);
    const std::vector<std::optional<int>> joined =
        joined_series(repeats, events, templates, probable, company);
    std::vector<Event> found;
    for (std::size_t i = 0; i < repeats.size(); ++i) {
        Repeat& repeat = repeats[i];
        const TapTemplate& like = templates[repeat.match.of];
        const double p = company[i] ? probable[i] : std::min(probable[i], most_alone);
        const SeriesLikeness likeness{like.series, repeat.match.correlation,
                                      20.0 * std::log10(repeat.match.score)};
        const auto known = impulse_at(events, repeat.match.onset_s);
        if (!known) found.push_back(make_event(std::move(repeat), p));
        Event& event = known ? events[*known] : found.back();
        event.confidence = std::max(event.confidence, p);
        event.like = likeness;
        if (!event.series) event.series = joined[i];
    }
    events.insert(events.end(), std::make_move_iterator(found.begin()),
                  std::make_move_iterator(found.end()));
    number_anew(events, series);
}

void tell_likeness(std::vector<Event>& events) {
    for (Event& event : events)
        if (event.like)
            event.why += fmt::format(
                "; like series {}: correlation {:.2f}, {:.0f} dB over the noise of the matching",
                event.like->series, event.like->correlation, event.like->score_db);
}

} // namespace lull
