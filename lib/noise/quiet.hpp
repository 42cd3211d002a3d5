// SPDX-License-Identifier: GPL-3.0-or-later
//
// Quiet periods: stretches in which the site's own noise dropped on all channels together.
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace lull {

struct QuietPeriod {
    double from_s = 0.0, to_s = 0.0;
    double drop_db = 0.0;       ///< how far the site's level lies under the level before and after
    double steadiness_db = 0.0; ///< spread of the level within, 10th to 90th percentile
    std::vector<int> broken_by; ///< numbers of the events within it; filled in by the review
    std::optional<int> ordered_by; ///< number of the first blast of the signal that began it
    /// the same for the signal that ended it; both filled in by the review
    std::optional<int> ended_by;
};

inline constexpr double quiet_least_drop_db = 5.0;
inline constexpr double quiet_least_s = 5.0;

/// Finds the quiet periods of a whole recording.
///
/// The site's level is the median over channels of each channel's level relative to its own median,
/// so that one noisy channel does not decide. At an edge the levels of the 10 s before and after
/// differ. Edges are placed by the best fit of two levels in absolute deviation, which events of a
/// few seconds do not move. A period that touches the recording's start or end is reported from or
/// to it.
///
/// \param power    one track a channel, all of one length: mean square of each step; 0 or not
///                 finite: no level
/// \param first_s  time where step 0 begins
/// \param step_s   0 < step_s <= 1
[[nodiscard]] std::vector<QuietPeriod> quiet_periods(std::span<const std::vector<float>> power,
                                                     double first_s, double step_s);

} // namespace lull
