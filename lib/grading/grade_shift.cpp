// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_shift.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace lull {
namespace {

constexpr int fewest_pairs = 3;
constexpr int fewest_gained = 2;
constexpr double chance_limit = 0.01;
constexpr int most_rounds = 6;
constexpr double minute_s = 60.0;
/// Longer lists (a program's events) are not searched, since the work grows with the square of
/// their length.
constexpr std::size_t most_trials = 20000;

/// Pairs as many answers with windows as possible: each answer in order of time takes the open
/// window that closes first [published: Glover 1967, convex bipartite graphs].
/// \return distance to the onset for each pair; empty beyond the onset's own tolerance
struct PairCount {
    int pairs = 0;
    std::vector<double> late_s;
};

PairCount pair_up(std::span<const double> sorted_times, std::span<const AnswerWindow> by_start,
                  double shift_s) {
    const auto closes_first = [](const AnswerWindow* a, const AnswerWindow* b) {
        return a->to_s != b->to_s ? a->to_s < b->to_s : a < b;
    };
    std::set<const AnswerWindow*, decltype(closes_first)> open(closes_first);
    PairCount count;
    std::size_t next = 0;
    for (const double written : sorted_times) {
        const double time = written - shift_s;
        while (next < by_start.size() && by_start[next].from_s <= time)
            open.insert(&by_start[next++]);
        while (!open.empty() && (*open.begin())->to_s < time)
            open.erase(open.begin());
        if (open.empty()) continue;
        const AnswerWindow* window = *open.begin();
        open.erase(open.begin());
        ++count.pairs;
        if (std::abs(time - window->onset_s) <= window->tolerance_s)
            count.late_s.push_back(written - window->onset_s);
    }
    return count;
}

double covered_share(std::span<const AnswerWindow> by_start, double duration_s) {
    double covered = 0.0, reached = 0.0;
    for (const AnswerWindow& window : by_start) {
        const double from = std::max(window.from_s, reached);
        const double to = std::min(window.to_s, duration_s);
        if (to > from) covered += to - from;
        reached = std::max(reached, to);
    }
    return std::min(1.0, covered / duration_s);
}

/// P(at least k of n), each with probability p.
double at_least(int k, int n, double p) {
    if (k <= 0 || p >= 1.0) return 1.0;
    double sum = 0.0;
    for (int i = k; i <= n; ++i)
        sum += std::exp(std::lgamma(n + 1.0) - std::lgamma(i + 1.0) - std::lgamma(n - i + 1.0) +
                        i * std::log(p) + (n - i) * std::log1p(-p));
    return std::min(1.0, sum);
}

struct Best {
    double shift_s = 0.0;
    PairCount count;
};

/// Tries every distance between an answer and an onset. On a tie the smaller shift wins.
Best search(std::span<const double> times, std::span<const AnswerWindow> windows) {
    Best best{0.0, pair_up(times, windows, 0.0)};
    std::vector<double> shifts;
    for (const double time : times)
        for (const AnswerWindow& window : windows)
            shifts.push_back(time - window.onset_s);
    std::sort(shifts.begin(), shifts.end(), [](double a, double b) {
        return std::abs(a) != std::abs(b) ? std::abs(a) < std::abs(b) : a < b;
    });
    for (const double shift : shifts) {
        PairCount count = pair_up(times, windows, shift);
        if (count.pairs > best.count.pairs) best = {shift, std::move(count)};
    }
    return best;
}

/// Moves the shift to the median distance until it is stable.
void refine(std::span<const double> times, std::span<const AnswerWindow> windows, Best& best) {
    for (int round = 0; round < most_rounds; ++round) {
        if (best.count.late_s.empty()) return;
        const double middle = *median_of(best.count.late_s).value;
        PairCount count = pair_up(times, windows, middle);
        if (count.pairs < best.count.pairs || middle == best.shift_s) return;
        best = {middle, std::move(count)};
    }
}

void tell_apart(SheetShift& shift, double total, const Estimate& median, double limit_s) {
    shift.total_s = total;
    const double minutes = std::round(total / minute_s);
    const bool small = std::abs(total) <= limit_s;
    if (!small && std::abs(total - minutes * minute_s) > limit_s) {
        shift.offset_s = total;
        shift.words = fmt::format("times lie {:.1f} s {}: a clock started at another moment; the "
                                  "writer's own bias cannot be separated from it",
                                  std::abs(total), total > 0 ? "late" : "early");
        return;
    }
    shift.offset_s = small ? 0.0 : minutes * minute_s;
    shift.bias_s = total - shift.offset_s;
    if (median.low) shift.bias_low_s = *median.low - shift.offset_s;
    if (median.high) shift.bias_high_s = *median.high - shift.offset_s;
    shift.words = fmt::format("writes {:.1f} s {}", std::abs(*shift.bias_s),
                              *shift.bias_s >= 0 ? "late" : "early");
    if (!small)
        shift.words = fmt::format("the clock is {:.0f} whole minute(s) {}; beside that, {}",
                                  std::abs(minutes), minutes > 0 ? "ahead" : "behind", shift.words);
}

} // namespace

SheetShift estimate_shift(std::span<const double> times_s, std::span<const AnswerWindow> windows,
                          double duration_s, const GradeRules& rules) {
    std::vector<double> times(times_s.begin(), times_s.end());
    std::vector<AnswerWindow> by_start(windows.begin(), windows.end());
    std::sort(times.begin(), times.end());
    std::sort(by_start.begin(), by_start.end(),
              [](const AnswerWindow& a, const AnswerWindow& b) { return a.from_s < b.from_s; });
    const std::size_t trials = times.size() * by_start.size();
    SheetShift shift;
    Best best{0.0, pair_up(times, by_start, 0.0)};
    const PairCount as_written = best.count;
    shift.pairs_as_written = as_written.pairs;
    if (trials <= most_trials) best = search(times, by_start);
    refine(times, by_start, best);
    const auto clear = [&](const Best& found) {
        const double chance = at_least(found.count.pairs, static_cast<int>(times.size()),
                                       covered_share(by_start, duration_s));
        return found.count.pairs >= as_written.pairs + fewest_gained &&
               chance * static_cast<double>(trials) < chance_limit;
    };
    std::string suspicion;
    if (std::abs(best.shift_s) > rules.reaction_limit_s && !clear(best)) {
        if (best.count.pairs >= std::max(fewest_pairs, as_written.pairs + fewest_gained))
            suspicion =
                fmt::format("; moved by {:.1f} s, {} of {} lines would lie at events, but so "
                            "few lines can do that by chance",
                            -best.shift_s, best.count.pairs, times.size());
        best = {0.0, as_written}; // no wrong clock was shown: stay near the times as written
        refine(times, by_start, best);
        if (std::abs(best.shift_s) > rules.reaction_limit_s) best = {0.0, as_written};
    }
    shift.pairs = static_cast<int>(best.count.late_s.size());
    if (shift.pairs < fewest_pairs) {
        shift.words =
            "too few answers near events to estimate a shift; times taken as written" + suspicion;
        return shift;
    }
    const Estimate median = median_of(best.count.late_s);
    tell_apart(shift, *median.value, median, rules.reaction_limit_s);
    shift.words += suspicion;
    return shift;
}

} // namespace lull
