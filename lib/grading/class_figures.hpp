// SPDX-License-Identifier: GPL-3.0-or-later
//
// Who heard what: one listener's answer to each event asked for.
#pragma once

#include "grading/grade_group.hpp"

namespace lull {

enum class Hearing {
    missed,
    wrong_kind, ///< heard, and another kind written down
    heard,      ///< the kind right, or not stated
};
[[nodiscard]] const char* name_of(Hearing hearing); ///< "missed", "wrong kind", "heard"

struct EventHearing {
    Hearing hearing = Hearing::missed;
    std::optional<GradedAnswer> answer; ///< the line that stands for it; none: missed
};

/// One for each of the events, in their order.
/// \param events  of the same grading
[[nodiscard]] std::vector<EventHearing> hearings_of(const ListenerGrade& listener,
                                                    std::span<const EventGrade> events);

/// The same by kind.
[[nodiscard]] PerKind<KindCount> kinds_of(const ListenerGrade& listener,
                                          std::span<const EventGrade> events);

} // namespace lull
