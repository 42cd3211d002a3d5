// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/strongest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>

namespace lull {
namespace {

constexpr double hour_s = 3600.0;

} // namespace

std::vector<char> take_strongest(std::span<const Contender> contenders, std::size_t an_hour,
                                 const std::string& what, std::vector<Notice>& notices) {
    std::vector<char> taken(contenders.size(), 0);
    std::map<int, std::vector<std::size_t>> hours;
    for (std::size_t i = 0; i < contenders.size(); ++i) {
        taken[i] = contenders[i].clear ? 1 : 0;
        if (!contenders[i].clear)
            hours[static_cast<int>(contenders[i].onset_s / hour_s)].push_back(i);
    }
    for (auto& [hour, others] : hours) {
        std::ranges::stable_sort(others, std::greater{},
                                 [&](std::size_t i) { return contenders[i].strength_db; });
        for (std::size_t k = 0; k < std::min(an_hour, others.size()); ++k)
            taken[others[k]] = 1;
        if (others.size() > an_hour)
            notices.push_back(
                {"", fmt::format("{}: the strongest {} of {} under 0.5 from {} s to {} s", what,
                                 an_hour, others.size(), hour * 3600, (hour + 1) * 3600)});
    }
    return taken;
}

} // namespace lull
