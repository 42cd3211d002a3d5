// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/runs.hpp"

#include "detect/internal/source.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <numbers>
#include <optional>
#include <span>
#include <utility>

namespace lull {

namespace {

constexpr double shortest_interval_s = 0.10;
constexpr std::size_t most_compared = 64; ///< impulses before one, of which it may follow
constexpr std::size_t most_followed = 24; ///< the most alike
constexpr double rate_reach_s = 5.0;
constexpr double least_rate = 0.1; ///< 1/s
constexpr double start_cost = 1.0; ///< few impulses begin a run
const double interval_range = std::log(longest_interval_s / shortest_interval_s); ///< [nepers]
constexpr double longest_stretch = 2.6; ///< of neighbouring intervals: a longer one is a pause
constexpr double shortest_pause_s = 0.6;
constexpr double slow_s = 1.6; ///< interval of runs that are not told by two taps alone
constexpr std::size_t least_slow = 3;
constexpr double lowest_score =
    -3.0; ///< of a run: the model that judges it shall see doubtful ones
constexpr std::size_t most_at_once = 20000;
constexpr int rounds = 4;

/// That an impulse follows another.
struct Link {
    std::size_t from = 0; ///< index into the impulses
    double gap_s = 0.0;
    double alike = 0.0;                ///< log likelihood ratio of one source
    double score = 0.0;                ///< of the best run that ends with this link
    std::optional<std::size_t> before; ///< the run's link to `from`; none: the run begins here
};

double bell(double x, double centre, double width) {
    const double off = (x - centre) / width;
    return std::exp(-0.5 * off * off) / (width * std::sqrt(2.0 * std::numbers::pi));
}

/// Density of an interval over the one before it: kept, with one tap missed or one too many, or
/// anything.
double rhythm_density(double ratio) {
    return 0.55 * bell(ratio, 1.0, 0.12) + 0.1 * bell(ratio, 2.0, 0.2) +
           0.05 * bell(ratio, 0.5, 0.06) + 0.3 / (ratio * interval_range);
}

class Runs {
  public:
    /// \param rate local rate of impulses at each [1/s]
    Runs(const std::vector<Event>& events, std::span<const std::size_t> impulses,
         std::span<const double> rate, const ForEach& each)
        : events_(events), impulses_(impulses), links_(impulses.size()), rate_(rate),
          best_(impulses.size()), used_(impulses.size(), 0) {
        each(impulses.size(), [this](std::size_t j) { link(j); });
    }

    std::vector<std::vector<std::size_t>> run() {
        std::vector<std::vector<std::size_t>> found;
        for (int round = 0; round < rounds; ++round) {
            score();
            if (!take(found)) break;
        }
        return found;
    }

  private:
    [[nodiscard]] double time(std::size_t i) const { return events_[impulses_[i]].onset_s; }

    void link(std::size_t j) {
        std::vector<Link>& links = links_[j];
        for (std::size_t i = j; i-- > 0 && links.size() < most_compared;) {
            const double gap = time(j) - time(i);
            if (gap > longest_interval_s) break;
            if (gap < shortest_interval_s) continue;
            links.push_back(
                {i, gap, same_source(events_[impulses_[i]], events_[impulses_[j]]), 0.0, {}});
        }
        if (links.size() <= most_followed) return;
        std::ranges::stable_sort(links, std::ranges::greater(), &Link::alike);
        links.resize(most_followed);
        std::ranges::sort(links, std::ranges::greater(), &Link::from);
    }

    void score() {
        std::fill(best_.begin(), best_.end(), 0.0);
        for (std::size_t j = 0; j < impulses_.size(); ++j) {
            if (used_[j]) continue;
            for (Link& one : links_[j]) {
                if (used_[one.from]) continue;
                const double begin = -start_cost - std::log(one.gap_s * interval_range * rate_[j]);
                one.score = one.alike + begin;
                one.before.reset();
                double gain = begin;
                for (std::size_t k = 0; k < links_[one.from].size(); ++k)
                    extend(one, k, rate_[j], gain);
                // A run that this tap makes worse ends before it.
                if (one.score > best_[one.from]) best_[j] = std::max(best_[j], one.score);
            }
        }
    }

    /// Lets a run go on, if that gains more than ending it one tap earlier and beginning anew.
    void extend(Link& one, std::size_t k, double rate, double& most) const {
        const Link& before = links_[one.from][k];
        if (used_[before.from]) return;
        const double ratio = one.gap_s / before.gap_s;
        const double longer_s = std::max(one.gap_s, before.gap_s);
        if (longer_s > shortest_pause_s && std::max(ratio, 1.0 / ratio) > longest_stretch) return;
        const double rhythm = std::log(rhythm_density(ratio) / (before.gap_s * rate));
        const double gain = before.score - best_[before.from] + rhythm;
        if (gain <= most) return;
        most = gain;
        one.score = before.score + one.alike + rhythm;
        one.before = k;
    }

    /// Takes the best runs that do not share taps.
    bool take(std::vector<std::vector<std::size_t>>& found) {
        std::vector<std::pair<double, std::pair<std::size_t, std::size_t>>> ends;
        for (std::size_t j = 0; j < impulses_.size(); ++j)
            for (std::size_t k = 0; k < links_[j].size(); ++k)
                if (!used_[j] && !used_[links_[j][k].from] && links_[j][k].score > lowest_score)
                    ends.push_back({-links_[j][k].score, {j, k}});
        std::sort(ends.begin(), ends.end());
        bool any = false;
        for (const auto& [score, end] : ends) {
            std::vector<std::size_t> taps = trace(end.first, end.second);
            if (std::any_of(taps.begin(), taps.end(), [&](std::size_t i) { return used_[i]; }))
                continue;
            if (taps.size() < least_slow && time(taps.back()) - time(taps.front()) > slow_s)
                continue;
            for (std::size_t& tap : taps) {
                used_[tap] = 1;
                tap = impulses_[tap];
            }
            found.push_back(std::move(taps));
            any = true;
        }
        return any;
    }

    [[nodiscard]] std::vector<std::size_t> trace(std::size_t j, std::size_t k) const {
        std::vector<std::size_t> taps{j};
        std::optional<std::size_t> next = k;
        while (next) {
            const Link& one = links_[taps.back()][*next];
            taps.push_back(one.from);
            next = one.before;
        }
        std::reverse(taps.begin(), taps.end());
        return taps;
    }

    const std::vector<Event>& events_;
    std::span<const std::size_t> impulses_;
    std::vector<std::vector<Link>> links_;
    std::span<const double> rate_;
    std::vector<double> best_; ///< score of the best run that gains by ending here, or 0
    std::vector<char> used_;
};

std::vector<double> rates_of(const std::vector<Event>& events,
                             const std::vector<std::size_t>& impulses) {
    std::vector<double> rates;
    std::size_t first = 0;
    std::size_t last = 0;
    for (const std::size_t impulse : impulses) {
        const double at = events[impulse].onset_s;
        while (events[impulses[first]].onset_s < at - rate_reach_s)
            ++first;
        while (last < impulses.size() && events[impulses[last]].onset_s < at + rate_reach_s)
            ++last;
        rates.push_back(
            std::max(least_rate, static_cast<double>(last - first) / (2.0 * rate_reach_s)));
    }
    return rates;
}

} // namespace

std::vector<std::vector<std::size_t>> find_runs(const std::vector<Event>& events,
                                                const std::vector<std::size_t>& impulses,
                                                const ForEach& each) {
    const std::vector<double> rates = rates_of(events, impulses);
    std::vector<std::vector<std::size_t>> found;
    for (std::size_t begin = 0; begin < impulses.size();) {
        // No run goes over a pause; a night of rain is taken in parts that fit into memory.
        std::size_t end = begin + 1;
        while (end < impulses.size() && end - begin < most_at_once &&
               events[impulses[end]].onset_s - events[impulses[end - 1]].onset_s <=
                   longest_interval_s)
            ++end;
        std::vector<std::vector<std::size_t>> part =
            Runs(events, std::span(impulses).subspan(begin, end - begin),
                 std::span(rates).subspan(begin, end - begin), each)
                .run();
        std::move(part.begin(), part.end(), std::back_inserter(found));
        begin = end;
    }
    std::sort(found.begin(), found.end());
    return found;
}

} // namespace lull
