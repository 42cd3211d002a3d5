// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/outline.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

namespace lull {
namespace {

using Corner = std::array<int, 2>; ///< of pixels: column, row

/// Outer edges of the part's pixels, by their start. The part lies to their left.
std::multimap<Corner, Corner> free_edges(const DensityMap& map,
                                         const std::vector<std::size_t>& part) {
    std::vector<bool> inside(map.probability.size());
    for (const std::size_t i : part)
        inside[i] = true;
    const auto has = [&](int column, int row) {
        return column >= 0 && row >= 0 && column < map.columns && row < map.rows &&
               inside[static_cast<std::size_t>(row) * static_cast<std::size_t>(map.columns) +
                      static_cast<std::size_t>(column)];
    };
    std::multimap<Corner, Corner> edges;
    for (const std::size_t i : part) {
        const int c = static_cast<int>(i % static_cast<std::size_t>(map.columns)),
                  r = static_cast<int>(i / static_cast<std::size_t>(map.columns));
        if (!has(c, r - 1)) edges.insert({{c, r}, {c + 1, r}});
        if (!has(c + 1, r)) edges.insert({{c + 1, r}, {c + 1, r + 1}});
        if (!has(c, r + 1)) edges.insert({{c + 1, r + 1}, {c, r + 1}});
        if (!has(c - 1, r)) edges.insert({{c, r + 1}, {c, r}});
    }
    return edges;
}

/// Removes one ring from the edges. Where two rings meet in a corner it turns left, which separates
/// pixels that touch only there.
std::vector<Corner> take_ring(std::multimap<Corner, Corner>& edges) {
    std::vector<Corner> ring{edges.begin()->first};
    Corner at = edges.begin()->second, from = ring.front();
    edges.erase(edges.begin());
    while (at != ring.front()) {
        auto [next, last] = edges.equal_range(at);
        for (auto other = next; other != last; ++other) {
            const int turn = (at[0] - from[0]) * (other->second[1] - at[1]) -
                             (at[1] - from[1]) * (other->second[0] - at[0]);
            if (turn > 0) next = other;
        }
        ring.push_back(at);
        from = at;
        at = next->second;
        edges.erase(next);
    }
    return ring;
}

double off_line(const std::array<double, 2>& p, const std::array<double, 2>& a,
                const std::array<double, 2>& b) {
    const double length = std::hypot(b[0] - a[0], b[1] - a[1]);
    if (length == 0.0) return std::hypot(p[0] - a[0], p[1] - a[1]);
    return std::abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length;
}

/// Removes points within the tolerance of the line between those kept [Douglas & Peucker 1973, The
/// Canadian Cartographer 10(2)].
void simplify(const Ring& ring, std::size_t first, std::size_t last, double tolerance, Ring& kept) {
    std::size_t farthest = first;
    double most = tolerance;
    const auto& end = ring[last % ring.size()];
    for (std::size_t i = first + 1; i < last; ++i) {
        const double off = off_line(ring[i], ring[first], end);
        if (off > most) most = off, farthest = i;
    }
    if (farthest != first) {
        simplify(ring, first, farthest, tolerance, kept);
        simplify(ring, farthest, last, tolerance, kept);
    } else {
        kept.push_back(ring[first]);
    }
}

Ring smooth_ring(const DensityMap& map, const std::vector<Corner>& corners) {
    Ring middles; // of the edges, which turns a staircase into a slope
    for (std::size_t i = 0; i < corners.size(); ++i) {
        const Corner &a = corners[i], &b = corners[(i + 1) % corners.size()];
        middles.push_back({map.x_m + map.pixel_x_m * 0.5 * (a[0] + b[0]),
                           map.y_m + map.pixel_y_m * 0.5 * (a[1] + b[1])});
    }
    std::size_t across = 0;
    double longest = 0.0;
    for (std::size_t i = 1; i < middles.size(); ++i) {
        const double length =
            std::hypot(middles[i][0] - middles[0][0], middles[i][1] - middles[0][1]);
        if (length > longest) longest = length, across = i;
    }
    // Less than what would cut a corner off, so that the sides of a rectangle stay straight.
    const double tolerance = 0.4 * std::max(map.pixel_x_m, map.pixel_y_m);
    Ring kept;
    simplify(middles, 0, across, tolerance, kept);
    simplify(middles, across, middles.size(), tolerance, kept);
    return kept.size() < 3 ? middles : kept;
}

double twice_area(const std::vector<Corner>& ring) {
    double sum = 0.0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const Corner &a = ring[i], &b = ring[(i + 1) % ring.size()];
        sum += static_cast<double>(a[0]) * b[1] - static_cast<double>(a[1]) * b[0];
    }
    return sum;
}

void append_ring(std::string& text, const Ring& ring) {
    text += '(';
    for (const auto& point : ring)
        fmt::format_to(std::back_inserter(text), "{:.2f} {:.2f}, ", point[0] + 0.0, point[1] + 0.0);
    fmt::format_to(std::back_inserter(text), "{:.2f} {:.2f})", ring[0][0] + 0.0, ring[0][1] + 0.0);
}

} // namespace

std::vector<Outline> outlines(const DensityMap& map, double threshold) {
    std::vector<Outline> result;
    for (const auto& part : connected_parts(map, threshold)) {
        auto edges = free_edges(map, part);
        Outline outline;
        while (!edges.empty()) {
            const std::vector<Corner> ring = take_ring(edges);
            if (twice_area(ring) > 0.0)
                outline.outer = smooth_ring(map, ring);
            else
                outline.holes.push_back(smooth_ring(map, ring));
        }
        result.push_back(std::move(outline));
    }
    return result;
}

std::string well_known_text(const std::vector<Outline>& outlines) {
    if (outlines.empty()) return {};
    std::string text = "MULTIPOLYGON(";
    for (const Outline& outline : outlines) {
        text += text.back() == ')' ? ", (" : "(";
        append_ring(text, outline.outer);
        for (const Ring& hole : outline.holes) {
            text += ", ";
            append_ring(text, hole);
        }
        text += ')';
    }
    return text + ')';
}

} // namespace lull
