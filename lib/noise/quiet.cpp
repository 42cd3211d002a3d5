// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/quiet.hpp"

#include "conventions.hpp"
#include "signal/quantile.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {
namespace {

constexpr double side_s = 10.0; // on either side of an edge; its two levels are taken from these
constexpr double edge_db = 4.0; // smallest difference of the levels on the two sides of an edge
constexpr double event_over_db = 3.0;
constexpr double context_s = 60.0; // of what lies outside a quiet period
constexpr double usual_s = 20.0;   // a shorter level is not the site's usual state,
constexpr double steady_usual_s = 12.0, steady_db = 2.0; // unless it is steady, as machines are
constexpr double no_level = std::numeric_limits<double>::quiet_NaN();

/// The level of a stretch. Events only add to it, so a quantile below the median is robust.
double level_of(std::span<const double> values) {
    return quantile_of({values.begin(), values.end()}, 0.3);
}

double level_of(float power) {
    return power_db(static_cast<double>(power)).value_or(no_level);
}

/// Median over the channels of each channel's level relative to its own median [dB].
std::vector<double> site_level(std::span<const std::vector<float>> power) {
    std::size_t steps = 0;
    std::vector<double> own;
    for (const std::vector<float>& track : power) {
        steps = std::max(steps, track.size());
        std::vector<double> levels;
        for (float p : track)
            levels.push_back(level_of(p));
        own.push_back(quantile_of(levels, 0.5));
    }
    std::vector<double> site(steps, no_level), here;
    for (std::size_t i = 0; i < steps; ++i) {
        here.clear();
        for (std::size_t c = 0; c < power.size(); ++c)
            if (i < power[c].size()) here.push_back(level_of(power[c][i]) - own[c]);
        std::erase_if(here, [](double v) { return std::isnan(v); });
        std::sort(here.begin(), here.end());
        const std::size_t n = here.size();
        if (n) site[i] = 0.5 * (here[(n - 1) / 2] + here[n / 2]);
    }
    return site;
}

struct Edge {
    std::size_t step = 0; ///< first step after the edge
    double before_db = 0.0, after_db = 0.0;
    [[nodiscard]] double drop_db() const { return before_db - after_db; }
};

class EdgeFinder {
  public:
    EdgeFinder(std::span<const double> site, std::size_t side) : site_(site), side_(side) {}

    /// Edges in order. Falls and rises need not alternate.
    [[nodiscard]] std::vector<Edge> find() const {
        const std::vector<double> drop = drops();
        std::vector<Edge> edges;
        for (std::size_t i = 1; i < drop.size();) {
            if (!(std::fabs(drop[i]) >= edge_db)) {
                ++i;
                continue;
            }
            std::size_t best = i, end = i;
            while (end < drop.size() && std::fabs(drop[end]) >= edge_db &&
                   std::signbit(drop[end]) == std::signbit(drop[i])) {
                if (std::fabs(drop[end]) > std::fabs(drop[best])) best = end;
                ++end;
            }
            edges.push_back(place(best, edges.empty() ? 0 : edges.back().step));
            i = end;
        }
        return edges;
    }

  private:
    [[nodiscard]] std::span<const double> before(std::size_t at) const {
        const std::size_t n = std::min(side_, at);
        return site_.subspan(at - n, n);
    }
    [[nodiscard]] std::span<const double> after(std::size_t at) const {
        return site_.subspan(at, std::min(side_, site_.size() - at));
    }

    /// Level before each step minus the level after it.
    [[nodiscard]] std::vector<double> drops() const {
        std::vector<double> drop(site_.size(), 0.0);
        const std::size_t least = std::max<std::size_t>(1, side_ / 2);
        for (std::size_t i = least; i + least <= site_.size(); ++i)
            drop[i] = level_of(before(i)) - level_of(after(i));
        return drop;
    }

    /// Fits two levels round `at` in least absolute deviation, after the edge before.
    [[nodiscard]] Edge place(std::size_t at, std::size_t edge_before) const {
        Edge edge{at, level_of(before(at)), level_of(after(at))};
        const std::size_t begin = std::max(at - std::min(side_, at), edge_before),
                          end = std::min(site_.size(), at + side_);
        // Steps well over both levels are events and belong to neither.
        const double event_db = std::max(edge.before_db, edge.after_db) + event_over_db;
        double cost = 0.0, least = 0.0;
        edge.step = begin;
        for (std::size_t i = begin; i < end; ++i) {
            if (std::isnan(site_[i]) || site_[i] > event_db) continue;
            cost += std::fabs(site_[i] - edge.before_db) - std::fabs(site_[i] - edge.after_db);
            if (cost >= least) continue;
            least = cost;
            edge.step = i + 1;
        }
        return edge;
    }

    std::span<const double> site_;
    std::size_t side_;
};

/// Whether a stretch can be the site's usual state and not a run of events. Events only add to a
/// level, so its lower part shows how steady it is.
bool is_usual(std::span<const double> stretch, double step_s) {
    const double length_s = static_cast<double>(stretch.size()) * step_s;
    if (length_s >= usual_s || length_s < steady_usual_s) return length_s >= usual_s;
    std::vector<double> levels(stretch.begin(), stretch.end());
    return quantile_of(levels, 0.7) - quantile_of(levels, 0.1) <= steady_db;
}

/// Removes the edges of short bumps that are not the site's usual state.
std::vector<Edge> without_bumps(std::span<const Edge> edges, std::span<const double> site,
                                double step_s) {
    std::vector<Edge> kept;
    for (const Edge& edge : edges) {
        const bool fall = edge.drop_db() > 0.0;
        const bool after_rise = !kept.empty() && kept.back().drop_db() < 0.0;
        const std::size_t begin = kept.empty() ? 0 : kept.back().step;
        const bool bump = fall && (after_rise || kept.empty()) &&
                          !is_usual(site.subspan(begin, edge.step - begin), step_s);
        if (bump) {
            if (after_rise) kept.pop_back();
            continue;
        }
        kept.push_back(edge);
    }
    return kept;
}

/// A quiet stretch between a fall (or the start) and the rise that ends it (or the end), and its
/// sides up to the next edges.
struct Stretch {
    std::size_t begin = 0, end = 0;
    std::size_t before_begin = 0, after_end = 0;
};

/// Pairs falls with rises. A second fall within a quiet period only deepens it.
std::vector<Stretch> pair_edges(std::span<const Edge> edges, std::size_t steps) {
    std::vector<Stretch> stretches;
    Stretch open{0, steps, 0, steps};
    bool quiet = !edges.empty() && edges.front().drop_db() < 0.0;
    for (std::size_t i = 0; i < edges.size(); ++i) {
        const Edge& edge = edges[i];
        if (edge.drop_db() > 0.0 && !quiet) {
            open = {edge.step, steps, i > 0 ? edges[i - 1].step : 0, steps};
            quiet = true;
        } else if (edge.drop_db() < 0.0 && quiet) {
            open.end = edge.step;
            open.after_end = i + 1 < edges.size() ? edges[i + 1].step : steps;
            stretches.push_back(open);
            quiet = false;
        }
    }
    if (quiet) stretches.push_back(open);
    return stretches;
}

/// The level outside a stretch: mean of the sides that exist; no_level without any. A side between
/// two edges that is too short to be the site's usual state is extended past its edge.
double outside_level(std::span<const double> site, const Stretch& stretch, double step_s) {
    const auto in_steps = [step_s](double seconds) {
        return static_cast<std::size_t>(seconds / step_s);
    };
    const auto length = [&](std::size_t to_edge, std::size_t to_end) {
        return std::min(to_end, to_edge < in_steps(usual_s)
                                    ? in_steps(context_s)
                                    : std::min(to_edge, in_steps(context_s)));
    };
    const std::size_t before = length(stretch.begin - stretch.before_begin, stretch.begin);
    const std::size_t after = length(stretch.after_end - stretch.end, site.size() - stretch.end);
    const auto side = [&](std::size_t from, std::size_t count) {
        const auto part = site.subspan(from, count);
        return is_usual(part, step_s) ? level_of(part) : no_level;
    };
    const double left = side(stretch.begin - before, before), right = side(stretch.end, after);
    if (std::isnan(left)) return right;
    return std::isnan(right) ? left : 0.5 * (left + right);
}

} // namespace

std::vector<QuietPeriod> quiet_periods(std::span<const std::vector<float>> power, double first_s,
                                       double step_s) {
    const std::vector<double> site = site_level(power);
    const auto side = static_cast<std::size_t>(std::max(4.0, std::round(side_s / step_s)));
    const std::vector<Edge> edges = without_bumps(EdgeFinder(site, side).find(), site, step_s);
    std::vector<QuietPeriod> periods;
    for (const Stretch& stretch : pair_edges(edges, site.size())) {
        const auto inside = std::span(site).subspan(stretch.begin, stretch.end - stretch.begin);
        std::vector<double> levels(inside.begin(), inside.end());
        const double level = level_of(inside);
        const double spread = quantile_of(levels, 0.9) - quantile_of(levels, 0.1);
        const double outside = outside_level(site, stretch, step_s);
        const double length_s = static_cast<double>(inside.size()) * step_s;
        if (!(outside - level >= quiet_least_drop_db) || length_s < quiet_least_s) continue;
        periods.push_back({first_s + static_cast<double>(stretch.begin) * step_s,
                           first_s + static_cast<double>(stretch.end) * step_s,
                           outside - level,
                           spread,
                           {},
                           {},
                           {}});
    }
    return periods;
}

} // namespace lull
