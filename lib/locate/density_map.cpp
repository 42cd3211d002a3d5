// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/density_map.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace lull {
namespace {

constexpr int most_pixels = 256; ///< in each direction
constexpr double left_out = 1e-3;

/// The interval on one axis that holds everything except `left_out`, from patches by their edges.
std::pair<double, double> extent(const std::vector<Patch>& patches, std::size_t d) {
    std::vector<std::size_t> order(patches.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto edge = [&](std::size_t i, double side) {
        return patches[i].box.centre[d] + side * 0.5 * patches[i].box.size[d];
    };
    std::pair<double, double> ends;
    for (const double side : {-1.0, 1.0}) {
        std::ranges::stable_sort(order, [&](std::size_t a, std::size_t b) {
            return side * edge(a, side) > side * edge(b, side);
        });
        double outside = 0.0, end = edge(order.front(), side);
        for (const std::size_t i : order) {
            outside += patches[i].probability;
            end = edge(i, side);
            if (outside > left_out / 4.0) break;
        }
        (side < 0.0 ? ends.first : ends.second) = end;
    }
    return ends;
}

/// Weights of the pixels on one axis.
struct Cover {
    int first = 0;
    std::vector<double> share;
};

/// The share of a triangle over [-1, 1] that lies below a point.
double tent_below(double at) {
    const double inside = std::clamp(at, -1.0, 1.0), rest = 1.0 - std::abs(inside);
    return inside < 0.0 ? 0.5 * rest * rest : 1.0 - 0.5 * rest * rest;
}

/// Spreads a box as a triangle twice as wide. Triangles of neighbouring boxes of equal density add
/// up to that density; where the density falls, it falls evenly without steps. What would lie
/// outside the lattice stays on it.
Cover cover(double low, double high, int pixels) {
    Cover result;
    const double width = high - low, middle = 0.5 * (low + high);
    const int from = std::clamp(static_cast<int>(std::floor(middle - width)), 0, pixels - 1),
              to = std::clamp(static_cast<int>(std::ceil(middle + width)), from + 1, pixels);
    result.first = from;
    double sum = 0.0;
    for (int i = from; i < to; ++i) {
        result.share.push_back(tent_below((i + 1.0 - middle) / width) -
                               tent_below((i - middle) / width));
        sum += result.share.back();
    }
    if (!(sum > 0.0)) result.share.clear(); // outside the lattice
    for (double& share : result.share)
        share /= sum;
    return result;
}

} // namespace

DensityMap density_map(const std::vector<Patch>& patches, const SearchSpace& space) {
    DensityMap map;
    const auto [left, right] = extent(patches, 0);
    const auto [bottom, top] = extent(patches, 1);
    const double longer = std::max({right - left, top - bottom, 1e-3});
    map.pixel_x_m = map.pixel_y_m = longer / most_pixels;
    map.x_m = std::max(left, space.low[0]);
    map.y_m = std::max(bottom, space.low[1]);
    map.columns = std::clamp(static_cast<int>(std::ceil((right - left) / map.pixel_x_m - 1e-9)), 1,
                             most_pixels);
    map.rows = std::clamp(static_cast<int>(std::ceil((top - bottom) / map.pixel_y_m - 1e-9)), 1,
                          most_pixels);
    map.probability.assign(
        static_cast<std::size_t>(map.columns) * static_cast<std::size_t>(map.rows), 0.0);
    for (const Patch& patch : patches) {
        if (patch.probability < 1e-9) continue;
        const auto on_axis = [&](std::size_t d, double origin, double pixel, int pixels) {
            const double low = (patch.box.centre[d] - 0.5 * patch.box.size[d] - origin) / pixel;
            return cover(low, low + patch.box.size[d] / pixel, pixels);
        };
        const Cover across = on_axis(0, map.x_m, map.pixel_x_m, map.columns),
                    up = on_axis(1, map.y_m, map.pixel_y_m, map.rows);
        for (std::size_t j = 0; j < up.share.size(); ++j)
            for (std::size_t i = 0; i < across.share.size(); ++i)
                map.probability[(static_cast<std::size_t>(up.first) + j) *
                                    static_cast<std::size_t>(map.columns) +
                                static_cast<std::size_t>(across.first) + i] +=
                    patch.probability * up.share[j] * across.share[i];
    }
    return map;
}

double region_threshold(const DensityMap& map, double share) {
    std::vector<double> sorted = map.probability;
    std::ranges::sort(sorted, std::greater<>());
    double sum = 0.0;
    for (const double p : sorted) {
        sum += p;
        if (sum >= share) return p;
    }
    return sorted.empty() ? 0.0 : sorted.back();
}

double area_m2(const DensityMap& map, double threshold) {
    return static_cast<double>(
               std::ranges::count_if(map.probability, [&](double p) { return p >= threshold; })) *
           map.pixel_m2();
}

std::vector<std::vector<std::size_t>> connected_parts(const DensityMap& map, double threshold) {
    const auto columns = static_cast<std::size_t>(map.columns);
    std::vector<bool> seen(map.probability.size());
    std::vector<std::pair<double, std::vector<std::size_t>>> parts;
    for (std::size_t start = 0; start < seen.size(); ++start) {
        if (seen[start] || map.probability[start] < threshold) continue;
        std::vector<std::size_t> part{start};
        seen[start] = true;
        double sum = 0.0;
        for (std::size_t next = 0; next < part.size(); ++next) {
            const std::size_t i = part[next], column = i % columns;
            sum += map.probability[i];
            const auto visit = [&](bool there, std::size_t k) {
                if (!there || seen[k] || map.probability[k] < threshold) return;
                seen[k] = true;
                part.push_back(k);
            };
            visit(column > 0, i - 1);
            visit(column + 1 < columns, i + 1);
            visit(i >= columns, i - columns);
            visit(i + columns < seen.size(), i + columns);
        }
        parts.emplace_back(sum, std::move(part));
    }
    std::ranges::stable_sort(parts, [](const auto& a, const auto& b) { return a.first > b.first; });
    std::vector<std::vector<std::size_t>> result;
    for (auto& part : parts)
        result.push_back(std::move(part.second));
    return result;
}

} // namespace lull
