// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/place.hpp"

#include "locate/internal/agreement.hpp"

#include <Eigen/Dense>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double chi2_90 = 4.605170185988091; ///< -2 ln 0.1
/// sensors within this share of their line's length count as in line
constexpr double in_line_share = 0.05;
/// depth is reported when its spread is below this share of the prior's
constexpr double depth_told = 0.4;

struct Moments {
    double x = 0.0, y = 0.0, xx = 0.0, xy = 0.0, yy = 0.0;
};

Moments moments_of(const DensityMap& map, const std::vector<std::size_t>& part) {
    Moments m;
    double sum = 0.0;
    const auto columns = static_cast<std::size_t>(map.columns);
    const auto each = [&](auto&& use) {
        for (const std::size_t i : part)
            use(map.middle(static_cast<int>(i % columns), static_cast<int>(i / columns)),
                map.probability[i]);
    };
    each([&](const auto& at, double p) { sum += p, m.x += p * at[0], m.y += p * at[1]; });
    m.x /= sum, m.y /= sum;
    each([&](const auto& at, double p) {
        m.xx += p / sum * (at[0] - m.x) * (at[0] - m.x);
        m.xy += p / sum * (at[0] - m.x) * (at[1] - m.y);
        m.yy += p / sum * (at[1] - m.y) * (at[1] - m.y);
    });
    // A region narrower than a pixel has the spread of a pixel.
    m.xx += map.pixel_x_m * map.pixel_x_m / 12.0;
    m.yy += map.pixel_y_m * map.pixel_y_m / 12.0;
    return m;
}

/// The point of least expected distance: the geometric median, by Weiszfeld's iteration [1937,
/// Tohoku Math. J. 43].
std::array<double, 2> nearest_to_all(const DensityMap& map, const std::vector<std::size_t>& part) {
    constexpr int rounds = 40;
    const Moments m = moments_of(map, part);
    std::array<double, 2> at{m.x, m.y};
    const auto columns = static_cast<std::size_t>(map.columns);
    for (int round = 0; round < rounds; ++round) {
        double sum = 0.0, x = 0.0, y = 0.0;
        for (const std::size_t i : part) {
            const auto pixel =
                map.middle(static_cast<int>(i % columns), static_cast<int>(i / columns));
            const double apart = std::hypot(pixel[0] - at[0], pixel[1] - at[1]);
            const double weight = map.probability[i] / (apart + 0.1 * map.pixel_x_m);
            sum += weight, x += weight * pixel[0], y += weight * pixel[1];
        }
        at = {x / sum, y / sum};
    }
    return at;
}

void set_axes(Place& place, const Moments& m) {
    const double mean = 0.5 * (m.xx + m.yy), half = 0.5 * (m.xx - m.yy);
    const double spread = std::hypot(half, m.xy);
    place.major_m = 2.0 * std::sqrt(chi2_90 * (mean + spread));
    place.minor_m = 2.0 * std::sqrt(chi2_90 * std::max(0.0, mean - spread));
    const double from_x = 0.5 * std::atan2(2.0 * m.xy, m.xx - m.yy) * 180.0 / std::numbers::pi;
    place.bearing_deg = std::fmod(450.0 - from_x, 180.0);
}

/// The line nearest to a set of points, and the largest distance from it.
struct Line {
    Eigen::Vector2d through, along;
    double length = 0.0, farthest = 0.0;
};

Line line_of(const std::vector<Eigen::Vector2d>& points) {
    Line line{Eigen::Vector2d::Zero(), {1.0, 0.0}};
    for (const auto& p : points)
        line.through += p / static_cast<double>(points.size());
    Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
    for (const auto& p : points)
        scatter += (p - line.through) * (p - line.through).transpose();
    line.along = Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d>(scatter).eigenvectors().col(1);
    double low = 0.0, high = 0.0;
    for (const auto& p : points) {
        const Eigen::Vector2d off = p - line.through;
        low = std::min(low, off.dot(line.along)), high = std::max(high, off.dot(line.along));
        line.farthest = std::max(line.farthest, (off - off.dot(line.along) * line.along).norm());
    }
    line.length = high - low;
    return line;
}

/// The sensors that delays connect, and the number of independent delays.
struct Tied {
    std::vector<Eigen::Vector2d> at;
    double sigma_m = 0.0;
    int delays = 0;
};

Tied tied_sensors(const std::vector<Listening>& listenings, const PlaceLikelihood& likelihood) {
    Tied tied;
    for (std::size_t l = 0; l < listenings.size(); ++l) {
        if (likelihood.hypotheses(l).empty()) continue;
        for (const TiedArrivals& set : likelihood.hypotheses(l).front().tied) {
            tied.delays += static_cast<int>(set.sensors.size()) - 1;
            for (const int s : set.sensors) {
                const Sensor& sensor = listenings[l].sensors[static_cast<std::size_t>(s)];
                tied.at.emplace_back(sensor.position_m[0], sensor.position_m[1]);
                tied.sigma_m = std::max(tied.sigma_m, sensor.sigma_m);
            }
        }
    }
    return tied;
}

/// The median of a value over the patches, weighted by probability.
template <class Value>
double quantile(const std::vector<Patch>& patches, double share, const Value& value) {
    std::vector<std::pair<double, double>> sorted;
    for (const Patch& patch : patches)
        if (patch.probability > 1e-9) sorted.emplace_back(value(patch), patch.probability);
    std::ranges::sort(sorted);
    double sum = 0.0;
    for (const auto& [at, probability] : sorted) {
        sum += probability;
        if (sum >= share) return at;
    }
    return sorted.back().first;
}

void set_depth(Place& place, const SearchSpace& space) {
    double mean = 0.0, square = 0.0;
    for (const Patch& patch : place.patches) {
        const double z = patch.box.centre[2], size = patch.box.size[2];
        mean += patch.probability * z;
        square += patch.probability * (z * z + size * size / 12.0);
    }
    const double before = (space.high[2] - space.low[2]) / std::sqrt(12.0);
    if (std::sqrt(std::max(0.0, square - mean * mean)) < depth_told * before) place.z_m = mean;
}

/// Whether the outlines come within a pixel of the edge of the search space.
bool reaches_edge(const Place& place, const SearchSpace& space) {
    for (const Outline& outline : place.outline90)
        for (const auto& point : outline.outer)
            if (point[0] < space.low[0] + place.map.pixel_x_m ||
                point[0] > space.high[0] - place.map.pixel_x_m ||
                point[1] < space.low[1] + place.map.pixel_y_m ||
                point[1] > space.high[1] - place.map.pixel_y_m)
                return true;
    return false;
}

/// The side of a line with more of the probability, as pixels of the 90 % region, and the other
/// side.
void set_better_side(Place& place, const Line& line, double threshold) {
    std::array<std::vector<std::size_t>, 2> sides;
    std::array<double, 2> sum{};
    for (std::size_t i = 0; i < place.map.probability.size(); ++i) {
        if (place.map.probability[i] < threshold) continue;
        const auto columns = static_cast<std::size_t>(place.map.columns);
        const auto at =
            place.map.middle(static_cast<int>(i % columns), static_cast<int>(i / columns));
        const Eigen::Vector2d off = Eigen::Vector2d(at[0], at[1]) - line.through;
        const std::size_t side = line.along[0] * off[1] - line.along[1] * off[0] > 0.0 ? 1 : 0;
        sides[side].push_back(i);
        sum[side] += place.map.probability[i];
    }
    const std::size_t better = sum[1] > sum[0] ? 1 : 0;
    const Moments m = moments_of(place.map, sides[better]);
    place.x_m = m.x, place.y_m = m.y;
    set_axes(place, m);
    if (!sides[1 - better].empty()) {
        const Moments other = moments_of(place.map, sides[1 - better]);
        place.evidence +=
            fmt::format("; sensors in a line: {:.0f} % this side, {:.0f} % the other, at "
                        "x {:.1f} m, y {:.1f} m",
                        100.0 * sum[better] / (sum[0] + sum[1]),
                        100.0 * sum[1 - better] / (sum[0] + sum[1]), other.x, other.y);
    }
}

} // namespace

const char* name_of(PlaceShape shape) {
    constexpr const char* names[] = {"region", "curve", "two-places", "rank-only"};
    return names[static_cast<int>(shape)];
}

Place locate(const std::vector<Listening>& listenings, const SearchSpace& space,
             const Medium& medium, std::span<const std::string> names) {
    Place place;
    const PlaceLikelihood likelihood(listenings, medium);
    const Tied tied = tied_sensors(listenings, likelihood);
    if (tied.delays == 0) {
        place.evidence = levels_alone(listenings, names);
        return place;
    }
    place.patches = posterior(likelihood, space, medium);
    place.map = density_map(place.patches, space);
    const double threshold90 = region_threshold(place.map, 0.9),
                 threshold50 = region_threshold(place.map, 0.5);
    place.outline90 = outlines(place.map, threshold90);
    place.outline50 = outlines(place.map, threshold50);
    place.evidence = agreement(listenings, likelihood, medium, place.patches, names);
    if (reaches_edge(place, space)) place.evidence += "; reaches the edge of the area searched";
    if (tied.delays == 1) {
        place.shape = PlaceShape::curve;
        return place;
    }
    const Line line = line_of(tied.at);
    place.area50_m2 = area_m2(place.map, threshold50);
    place.area90_m2 = area_m2(place.map, threshold90);
    if (likelihood.has_structure())
        place.speed_m_s = std::exp(
            quantile(place.patches, 0.5, [](const Patch& patch) { return patch.box.centre[3]; }));
    if (line.farthest <= std::max(in_line_share * line.length, tied.sigma_m)) {
        place.shape = PlaceShape::two_places;
        set_better_side(place, line, threshold90);
        return place;
    }
    place.shape = PlaceShape::region;
    const auto parts = connected_parts(place.map, threshold90);
    set_axes(place, moments_of(place.map, parts.front()));
    const auto best = nearest_to_all(place.map, parts.front());
    place.x_m = best[0], place.y_m = best[1];
    set_depth(place, space);
    if (parts.size() > 1) place.evidence += fmt::format("; {} separate areas", parts.size());
    return place;
}

} // namespace lull
