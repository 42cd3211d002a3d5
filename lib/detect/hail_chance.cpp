// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hail_chance.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double each_tail = 0.025;
constexpr double group_pause_s = 1.6; ///< between taps of one run, at most
constexpr double least_step_s = 0.5;  ///< of the shifts
constexpr int most_shifts = 4999;

/// P(N <= count) of a Poisson variate.
double poisson_below(int count, double mean) {
    if (mean <= 0.0) return 1.0;
    double sum = 0.0;
    for (int k = 0; k <= count; ++k)
        sum += std::exp(-mean + k * std::log(mean) - std::lgamma(k + 1.0));
    return sum;
}

/// The mean at which P(N <= count) is `share`.
double mean_with(int count, double share) {
    double low = 0.0, high = count + 20.0 + 10.0 * std::sqrt(count + 1.0);
    for (int i = 0; i < 100; ++i) {
        const double middle = 0.5 * (low + high);
        (poisson_below(count, middle) > share ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

/// Positions on the listened time laid end to end.
class Circle {
  public:
    explicit Circle(std::span<const ListenedSpan> listened) : listened_(listened) {
        for (const ListenedSpan& span : listened)
            length_s += span.to_s - span.from_s;
    }

    /// None outside the listened time.
    [[nodiscard]] std::optional<double> place(double time_s) const {
        double before = 0.0;
        for (const ListenedSpan& span : listened_) {
            if (time_s < span.from_s) return std::nullopt;
            if (time_s < span.to_s) return before + time_s - span.from_s;
            before += span.to_s - span.from_s;
        }
        return std::nullopt;
    }

    /// The end of a stretch that begins in the listened time, cut where that is interrupted.
    [[nodiscard]] double end_of(double from_s, double to_s) const {
        for (const ListenedSpan& span : listened_)
            if (from_s >= span.from_s && from_s < span.to_s) return std::min(to_s, span.to_s);
        return to_s;
    }

    double length_s = 0.0;

  private:
    std::span<const ListenedSpan> listened_;
};

/// Occurrences in the windows when these are shifted by `shift` round the circle.
int count_in(const std::vector<ListenedSpan>& windows, const std::vector<double>& sorted,
             double shift, double length_s) {
    const auto before = [&](double at) { // how many lie before `at`, over whole turns too
        const double turns = std::floor(at / length_s);
        const auto within = std::ranges::lower_bound(sorted, at - turns * length_s);
        return static_cast<std::ptrdiff_t>(turns) * static_cast<std::ptrdiff_t>(sorted.size()) +
               (within - sorted.begin());
    };
    std::ptrdiff_t count = 0;
    for (const ListenedSpan& window : windows)
        count += before(window.to_s + shift) - before(window.from_s + shift);
    return static_cast<int>(count);
}

double permutation_p(const std::vector<ListenedSpan>& windows, const std::vector<double>& sorted,
                     double length_s, int shifts) {
    const int heard = count_in(windows, sorted, 0.0, length_s);
    int as_many = 0;
    for (int k = 1; k <= shifts; ++k)
        as_many +=
            count_in(windows, sorted, length_s * k / (shifts + 1), length_s) >= heard ? 1 : 0;
    return (1.0 + as_many) / (1.0 + shifts);
}

bool counts(const Event& event, const HailRules& rules) {
    const bool sign = event.kind == EventKind::tapping || event.kind == EventKind::voice_like;
    return sign && event.confidence >= rules.least_confidence;
}

/// Onsets of lone events and of runs of one series.
std::vector<double> occurrences(const std::vector<Event>& events, const HailRules& rules) {
    std::vector<double> onsets;
    std::vector<std::pair<int, double>> last; // onset of the last tap of each series
    for (const Event& event : events) {
        if (!counts(event, rules)) continue;
        if (event.series) {
            const auto own = std::ranges::find(last, *event.series, &std::pair<int, double>::first);
            const bool goes_on = own != last.end() && event.onset_s - own->second <= group_pause_s;
            if (own == last.end())
                last.emplace_back(*event.series, event.onset_s);
            else
                own->second = event.onset_s;
            if (goes_on) continue;
        }
        onsets.push_back(event.onset_s);
    }
    return onsets;
}

} // namespace

std::pair<double, double> poisson_interval(int count) {
    // The low end is where `count` or more are as rare as the tail.
    const double low = count == 0 ? 0.0 : mean_with(count - 1, 1.0 - each_tail);
    return {low, mean_with(count, each_tail)};
}

std::vector<ListenedSpan> listened_time(std::span<const QuietPeriod> quiet,
                                        const std::vector<Hail>& hails, ListenedSpan whole) {
    const bool in_quiet = std::ranges::any_of(hails, [&](const Hail& hail) {
        return std::ranges::any_of(quiet, [&](const QuietPeriod& period) {
            return hail.to_s >= period.from_s && hail.to_s < period.to_s;
        });
    });
    if (!in_quiet) return {whole};
    std::vector<ListenedSpan> listened;
    for (const QuietPeriod& period : quiet)
        listened.push_back({period.from_s, period.to_s});
    return listened;
}

std::optional<HailChance> hail_chance(const std::vector<Hail>& hails,
                                      const std::vector<Event>& events,
                                      std::span<const ListenedSpan> listened,
                                      const HailRules& rules) {
    const Circle circle(listened);
    HailChance chance;
    chance.listened_s = circle.length_s;
    std::vector<ListenedSpan> windows;
    std::vector<double> one_each;
    double own_s = 0.0; // of the hails themselves
    for (std::size_t h = 0; h < hails.size(); ++h) {
        const auto begin = circle.place(hails[h].to_s);
        if (!begin) continue;
        const double end_s = circle.end_of(hails[h].to_s, answer_until(hails, h, rules));
        windows.push_back({*begin, *begin + end_s - hails[h].to_s});
        one_each.push_back(*begin + 0.5 * (end_s - hails[h].to_s));
        chance.answer_s += end_s - hails[h].to_s;
        own_s += circle.end_of(hails[h].from_s, hails[h].to_s) - hails[h].from_s;
    }
    if (windows.empty() || !(chance.answer_s > 0.0)) return std::nullopt;
    chance.hails = static_cast<int>(windows.size());
    std::vector<double> heard;
    for (const double onset_s : occurrences(events, rules)) {
        const bool own = std::ranges::any_of(hails, [&](const Hail& hail) {
            return onset_s >= hail.from_s && onset_s <= hail.to_s;
        });
        const auto at = circle.place(onset_s);
        if (at && !own) heard.push_back(*at);
    }
    chance.followed = count_in(windows, heard, 0.0, circle.length_s);
    chance.elsewhere = static_cast<int>(heard.size()) - chance.followed;
    const double rest_s = circle.length_s - chance.answer_s - own_s;
    if (rest_s > 0.0) {
        const auto [low, high] = poisson_interval(chance.elsewhere);
        chance.expected = chance.elsewhere * chance.answer_s / rest_s;
        chance.expected_low = low * chance.answer_s / rest_s;
        chance.expected_high = high * chance.answer_s / rest_s;
    }
    chance.shifts =
        std::clamp(static_cast<int>(circle.length_s / least_step_s) - 1, 1, most_shifts);
    chance.p = permutation_p(windows, heard, circle.length_s, chance.shifts);
    chance.smallest_p = permutation_p(windows, one_each, circle.length_s, chance.shifts);
    return chance;
}

} // namespace lull
