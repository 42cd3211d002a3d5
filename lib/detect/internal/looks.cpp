// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/looks.hpp"

#include <algorithm>
#include <tuple>

namespace lull {

namespace {

constexpr double cell_s = 0.05;  ///< raster on which the union is counted
constexpr double touch_s = 0.15; ///< a filter's run-in costs more than decoding this gap

/// Keeps the highest-scoring looks whose union fits, counted on a raster of cells.
std::vector<Look> grant(std::vector<Look> looks, Frame most, Frame cell) {
    std::sort(looks.begin(), looks.end(), [](const Look& a, const Look& b) {
        return std::tuple(-a.score, a.from, a.owner) < std::tuple(-b.score, b.from, b.owner);
    });
    Frame begin = looks.front().from;
    Frame end = looks.front().to;
    for (const Look& look : looks) {
        begin = std::min(begin, look.from);
        end = std::max(end, look.to);
    }
    std::vector<char> covered(static_cast<std::size_t>((end - begin) / cell) + 1, 0);
    std::vector<Look> granted;
    Frame used = 0;
    for (const Look& look : looks) {
        const auto first = static_cast<std::size_t>((look.from - begin) / cell);
        const auto last = static_cast<std::size_t>((look.to - 1 - begin) / cell);
        Frame fresh = 0;
        for (std::size_t c = first; c <= last; ++c)
            fresh += covered[c] ? 0 : cell;
        if (used + fresh > most) continue;
        used += fresh;
        for (std::size_t c = first; c <= last; ++c)
            covered[c] = 1;
        granted.push_back(look);
    }
    return granted;
}

} // namespace

std::vector<LookGroup> plan_looks(std::vector<Look> looks, Frame most, Frame longest,
                                  double rate_hz) {
    std::erase_if(looks, [](const Look& look) { return look.to <= look.from; });
    if (looks.empty()) return {};
    std::vector<Look> granted =
        grant(std::move(looks), most, std::max<Frame>(1, static_cast<Frame>(cell_s * rate_hz)));
    std::sort(granted.begin(), granted.end(), [](const Look& a, const Look& b) {
        return std::tuple(a.from, a.owner) < std::tuple(b.from, b.owner);
    });
    const auto touch = static_cast<Frame>(touch_s * rate_hz);
    std::vector<LookGroup> groups;
    for (const Look& look : granted) {
        const bool joins = !groups.empty() && look.from <= groups.back().to + touch &&
                           std::max(look.to, groups.back().to) - groups.back().from <= longest;
        if (!joins) groups.push_back({look.from, look.to, {}});
        groups.back().to = std::max(groups.back().to, look.to);
        groups.back().looks.push_back(look);
    }
    return groups;
}

} // namespace lull
