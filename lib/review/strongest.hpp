// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which events are compared between channels and which sources are placed, where there are more
// than a review has time for: by strength, whatever their confidence.
#pragma once

#include "recording/recording.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace lull {

inline constexpr std::size_t compared_an_hour = 1200; ///< events, beside the clear ones
inline constexpr std::size_t placed_an_hour = 120;    ///< sources, beside the clear ones

/// What competes for the budget of an hour.
struct Contender {
    double onset_s = 0.0;
    double strength_db = 0.0; ///< as detect/strength.hpp says
    bool clear = false;       ///< of headline confidence: taken beside the budget
};

/// Takes all that are clear and, in each hour of the time line, the strongest of the others; of
/// equals the earlier.
/// \param what     "events compared between channels", for the notices
/// \param notices  gains one for each hour in which the budget ran out
/// \return for each contender, whether it is taken
[[nodiscard]] std::vector<char> take_strongest(std::span<const Contender> contenders,
                                               std::size_t an_hour, const std::string& what,
                                               std::vector<Notice>& notices);

} // namespace lull
