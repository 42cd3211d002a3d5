// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/looks.hpp"

#include <algorithm>
#include <tuple>

namespace lull {

namespace {

constexpr double cell_s = 0.05;  ///< raster on which the union is counted
constexpr double touch_s = 0.15; ///< a filter's run-in costs more than decoding this gap

/// A raster of cells over all looks, and which are decoded.
class Raster {
  public:
    Raster(const std::vector<Look>& looks, Frame cell) : cell_(cell) {
        begin_ = looks.front().from;
        Frame end = looks.front().to;
        for (const Look& look : looks) {
            begin_ = std::min(begin_, look.from);
            end = std::max(end, look.to);
        }
        covered_.resize(static_cast<std::size_t>((end - begin_) / cell) + 1);
    }

    /// Covers a look when no more than `most` frames are covered then.
    bool cover(const Look& look, Frame most) {
        const auto first = covered_.begin() + (look.from - begin_) / cell_;
        const auto last = covered_.begin() + (look.to - 1 - begin_) / cell_ + 1;
        const Frame fresh = cell_ * static_cast<Frame>(std::count(first, last, 0));
        if (used_ + fresh > most) return false;
        used_ += fresh;
        std::fill(first, last, 1);
        return true;
    }

  private:
    Frame begin_ = 0, cell_, used_ = 0;
    std::vector<char> covered_;
};

/// Keeps the highest-scoring looks whose union fits.
std::vector<Look> grant(std::vector<Look> looks, Frame most, Frame cell) {
    std::sort(looks.begin(), looks.end(), [](const Look& a, const Look& b) {
        return std::tuple(-a.score, a.from, a.owner) < std::tuple(-b.score, b.from, b.owner);
    });
    Raster raster(looks, cell);
    std::erase_if(looks, [&](const Look& look) { return !raster.cover(look, most); });
    return looks;
}

bool all_fit(const std::vector<Look>& looks, Frame most, Frame cell) {
    Raster raster(looks, cell);
    return std::ranges::all_of(looks, [&](const Look& look) { return raster.cover(look, most); });
}

} // namespace

std::vector<LookGroup> plan_looks(std::vector<Look> looks, Frame most, Frame longest,
                                  double rate_hz) {
    std::erase_if(looks, [](const Look& look) { return look.to <= look.from; });
    if (looks.empty()) return {};
    const auto cell = std::max<Frame>(1, static_cast<Frame>(cell_s * rate_hz));
    if (!all_fit(looks, most, cell))
        for (Look& look : looks)
            look.to = std::min(look.to, look.least_to);
    std::vector<Look> granted = grant(std::move(looks), most, cell);
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
