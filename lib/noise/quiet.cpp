// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/quiet.hpp"

#include "conventions.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {
namespace {

constexpr double side_s = 10.0; // of an edge that its two levels are taken from
constexpr double edge_db = 4.0; // medians on the two sides of an edge differ by this at least
constexpr double no_level = std::numeric_limits<double>::quiet_NaN();

/// p in 0..1 of the values that are levels; no_level when there are none. Reorders its argument.
double quantile(std::vector<double>& values, double p) {
    std::erase_if(values, [](double v) { return std::isnan(v); });
    if (values.empty()) return no_level;
    const auto at = static_cast<std::ptrdiff_t>(p * static_cast<double>(values.size() - 1) + 0.5);
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

double median(std::span<const double> values) {
    std::vector<double> copy(values.begin(), values.end());
    return quantile(copy, 0.5);
}

double level_of(float power) {
    return power_db(static_cast<double>(power)).value_or(no_level);
}

/// Median over the channels of each one's level against its own median [dB].
std::vector<double> site_level(std::span<const std::vector<float>> power) {
    std::size_t steps = 0;
    std::vector<double> own;
    for (const std::vector<float>& track : power) {
        steps = std::max(steps, track.size());
        std::vector<double> levels;
        for (float p : track)
            levels.push_back(level_of(p));
        own.push_back(quantile(levels, 0.5));
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
    std::size_t step = 0; ///< first step after it
    double before_db = 0.0, after_db = 0.0;
    [[nodiscard]] double drop_db() const { return before_db - after_db; }
};

class EdgeFinder {
  public:
    EdgeFinder(std::span<const double> site, std::size_t side) : site_(site), side_(side) {}

    /// Edges in order, falls and rises alternating or not, none nearer to another than half a side.
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
            edges.push_back(place(best));
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

    /// Median of the side before each step less the median of the side after it.
    [[nodiscard]] std::vector<double> drops() const {
        std::vector<double> drop(site_.size(), 0.0);
        const std::size_t least = std::max<std::size_t>(1, side_ / 2);
        for (std::size_t i = least; i + least <= site_.size(); ++i)
            drop[i] = median(before(i)) - median(after(i));
        return drop;
    }

    /// Two levels fitted round `at` in least absolute deviation.
    [[nodiscard]] Edge place(std::size_t at) const {
        Edge edge{at, median(before(at)), median(after(at))};
        const std::size_t begin = at - std::min(side_, at),
                          end = std::min(site_.size(), at + side_);
        double cost = 0.0;
        for (std::size_t i = begin; i < end; ++i)
            cost += deviation(i, edge.after_db);
        double least = cost;
        edge.step = begin;
        for (std::size_t i = begin; i < end; ++i) {
            cost += deviation(i, edge.before_db) - deviation(i, edge.after_db);
            if (cost >= least) continue;
            least = cost;
            edge.step = i + 1;
        }
        return edge;
    }

    [[nodiscard]] double deviation(std::size_t i, double level) const {
        return std::isnan(site_[i]) ? 0.0 : std::fabs(site_[i] - level);
    }

    std::span<const double> site_;
    std::size_t side_;
};

/// A stretch between a fall (or the start) and the rise that ends it (or the end).
struct Stretch {
    std::size_t begin = 0, end = 0;
    double before_db = no_level, after_db = no_level; ///< levels outside, where there is an outside
};

/// Pairs falls with rises. A second fall within a quiet period only deepens it.
std::vector<Stretch> pair_edges(std::span<const Edge> edges, std::size_t steps) {
    std::vector<Stretch> stretches;
    Stretch open;
    bool quiet = !edges.empty() && edges.front().drop_db() < 0.0;
    for (const Edge& edge : edges) {
        if (edge.drop_db() > 0.0 && !quiet) {
            open = {edge.step, steps, edge.before_db, no_level};
            quiet = true;
        } else if (edge.drop_db() < 0.0 && quiet) {
            open.end = edge.step;
            open.after_db = edge.after_db;
            stretches.push_back(open);
            quiet = false;
        }
    }
    if (quiet) stretches.push_back(open);
    return stretches;
}

} // namespace

std::vector<QuietPeriod> quiet_periods(std::span<const std::vector<float>> power, double first_s,
                                       double step_s) {
    const std::vector<double> site = site_level(power);
    const auto side = static_cast<std::size_t>(std::max(4.0, std::round(side_s / step_s)));
    const std::vector<Edge> edges = EdgeFinder(site, side).find();
    std::vector<QuietPeriod> periods;
    for (const Stretch& stretch : pair_edges(edges, site.size())) {
        const auto inside = std::span(site).subspan(stretch.begin, stretch.end - stretch.begin);
        std::vector<double> levels(inside.begin(), inside.end());
        const double level = quantile(levels, 0.5);
        const double spread = quantile(levels, 0.9) - quantile(levels, 0.1);
        const bool two = !std::isnan(stretch.before_db) && !std::isnan(stretch.after_db);
        const double outside = two ? 0.5 * (stretch.before_db + stretch.after_db)
                               : std::isnan(stretch.before_db) ? stretch.after_db
                                                               : stretch.before_db;
        const double length_s = static_cast<double>(inside.size()) * step_s;
        if (!(outside - level >= quiet_least_drop_db) || length_s < quiet_least_s) continue;
        periods.push_back({first_s + static_cast<double>(stretch.begin) * step_s,
                           first_s + static_cast<double>(stretch.end) * step_s,
                           outside - level,
                           spread,
                           {}});
    }
    return periods;
}

} // namespace lull
