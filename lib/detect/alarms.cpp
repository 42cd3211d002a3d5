// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/alarms.hpp"

#include "detect/internal/likeness.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <fmt/format.h>
#include <optional>

namespace lull {

namespace {

constexpr std::size_t least_blasts = 10;
constexpr double shortest_period_s = 0.2, longest_period_s = 6.0;
constexpr double off_beat_s = 0.03;      ///< of an onset that is followed on frames of 8 ms
constexpr double off_period = 0.02;      ///< and of the period; a person's beat is off by 0.05
constexpr double longest_absence_s = 60; ///< over which the beat goes on
constexpr double alike_from = 0.75;      ///< cosine of the bands
constexpr double most_alarm = 0.45;      ///< confidence
constexpr double length_off = 0.15, length_off_s = 0.06;

/// A run of like sounds on a beat, by index into the sounds.
struct Run {
    std::vector<std::size_t> members;
    double period_s = 0.0;
};

const Arrival* on_strongest(const Event& event) {
    const auto at = std::ranges::find(event.arrivals, event.strongest, &Arrival::channel);
    return at == event.arrivals.end() ? nullptr : &*at;
}

/// Of one length, and of one colour where both are heard.
bool alike(const Event& a, const Event& b) {
    const double length_a = a.end_s - a.onset_s, length_b = b.end_s - b.onset_s;
    if (std::abs(length_a - length_b) > length_off_s + length_off * std::min(length_a, length_b))
        return false;
    const Arrival* own = on_strongest(a);
    const auto other = std::ranges::find(b.arrivals, a.strongest, &Arrival::channel);
    return own != nullptr && other != b.arrivals.end() &&
           band_likeness(own->shape.band_db, other->shape.band_db) >= alike_from;
}

class Beats {
  public:
    explicit Beats(const std::vector<Event>& events) : events_(events) {
        for (std::size_t e = 0; e < events.size(); ++e) {
            const Arrival* own = on_strongest(events[e]);
            if (own != nullptr && own->shape.sustained) sounds_.push_back(e);
        }
        used_.assign(sounds_.size(), 0);
    }

    std::vector<Run> longer_than(std::size_t least) {
        std::vector<Run> found;
        for (std::size_t i = 0; i < sounds_.size(); ++i) {
            if (used_[i]) continue;
            Run run = run_from(i);
            if (run.members.size() < least) continue;
            go_on(run, 1.0);
            go_on(run, -1.0);
            for (const std::size_t member : run.members)
                used_[member] = 1;
            found.push_back(std::move(run));
        }
        return found;
    }

    [[nodiscard]] std::size_t event(std::size_t sound) const { return sounds_[sound]; }

  private:
    [[nodiscard]] const Event& sound(std::size_t i) const { return events_[sounds_[i]]; }

    /// The sound like `to` that begins nearest to a time.
    [[nodiscard]] std::optional<std::size_t> like_at(std::size_t to, double time_s,
                                                     double reach_s) const {
        std::optional<std::size_t> best;
        auto at = std::ranges::lower_bound(sounds_, time_s - reach_s, {},
                                           [&](std::size_t e) { return events_[e].onset_s; });
        for (; at != sounds_.end() && events_[*at].onset_s <= time_s + reach_s; ++at) {
            const auto i = static_cast<std::size_t>(at - sounds_.begin());
            const double off = std::abs(events_[*at].onset_s - time_s);
            if (used_[i] || (best && off >= std::abs(sound(*best).onset_s - time_s))) continue;
            if (alike(sound(to), events_[*at])) best = i;
        }
        return best;
    }

    [[nodiscard]] static double reach_of(double period_s) {
        return off_beat_s + off_period * period_s;
    }

    /// The next sound like `to` after another, the echo of that one aside.
    [[nodiscard]] std::optional<std::size_t> next_like(std::size_t to, std::size_t after) const {
        for (std::size_t i = after + 1; i < sounds_.size(); ++i) {
            const double period_s = sound(i).onset_s - sound(after).onset_s;
            if (period_s > longest_period_s) break;
            if (period_s >= shortest_period_s && !used_[i] && alike(sound(to), sound(i))) return i;
        }
        return std::nullopt;
    }

    /// Without a miss, and with nothing alike between: three short blasts, a pause and three again
    /// keep a beat too, but not from each blast to the next.
    [[nodiscard]] Run run_from(std::size_t first) const {
        Run run{{first}, 0.0};
        const double from_s = sound(first).onset_s;
        while (const auto next = next_like(first, run.members.back())) {
            const double step_s = sound(*next).onset_s - sound(run.members.back()).onset_s;
            if (run.members.size() > 1 && std::abs(step_s - run.period_s) > reach_of(run.period_s))
                break;
            run.members.push_back(*next);
            run.period_s =
                (sound(*next).onset_s - from_s) / static_cast<double>(run.members.size() - 1);
        }
        return run;
    }

    /// Over misses, onwards or (-1) back from an end of the run.
    void go_on(Run& run, double way) const {
        const std::size_t pattern = run.members.front();
        double at_s = sound(way > 0.0 ? run.members.back() : run.members.front()).onset_s;
        for (double absent_s = 0.0; absent_s < longest_absence_s;) {
            at_s += way * run.period_s;
            absent_s += run.period_s;
            const auto next = like_at(pattern, at_s, reach_of(run.period_s));
            if (!next) continue;
            run.members.push_back(*next);
            at_s = sound(*next).onset_s;
            absent_s = 0.0;
        }
    }

    const std::vector<Event>& events_;
    std::vector<std::size_t> sounds_; ///< that last, by index into the events
    std::vector<char> used_;
};

std::size_t longest_signal(const HornRules& rules) {
    std::size_t most = 0;
    for (const HornPattern& pattern : rules.patterns)
        most = std::max(most, pattern.blasts.size());
    return most;
}

} // namespace

void tell_alarms(std::vector<Event>& events, const HornRules& rules) {
    Beats beats(events);
    for (const Run& run :
         beats.longer_than(std::max(least_blasts, 2 * longest_signal(rules) + 1))) {
        for (const std::size_t member : run.members) {
            Event& event = events[beats.event(member)];
            if (event.kind != EventKind::other)
                event.confidence = std::min(event.confidence, most_alarm);
            event.why += fmt::format("; one of {} alike every {:.2f} s: repeats as an alarm does",
                                     run.members.size(), run.period_s);
        }
    }
}

} // namespace lull
