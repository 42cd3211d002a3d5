// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/class_figures.hpp"

#include <algorithm>

namespace lull {

const char* name_of(Hearing hearing) {
    switch (hearing) {
    case Hearing::missed:
        return "missed";
    case Hearing::wrong_kind:
        return "wrong kind";
    case Hearing::heard:
        break;
    }
    return "heard";
}

std::vector<EventHearing> hearings_of(const ListenerGrade& listener,
                                      std::span<const EventGrade> events) {
    std::vector<EventHearing> hearings;
    for (const EventGrade& graded : events) {
        EventHearing& one = hearings.emplace_back();
        const auto hit = std::ranges::find_if(listener.answers, [&](const GradedAnswer& a) {
            return a.outcome == Outcome::hit && *a.event == graded.event.number;
        });
        if (hit == listener.answers.end()) continue;
        one.hearing = hit->kind_right.value_or(true) ? Hearing::heard : Hearing::wrong_kind;
        one.answer = *hit;
    }
    return hearings;
}

PerKind<KindCount> kinds_of(const ListenerGrade& listener, std::span<const EventGrade> events) {
    PerKind<KindCount> kinds{};
    const std::vector<EventHearing> hearings = hearings_of(listener, events);
    for (std::size_t i = 0; i < hearings.size(); ++i) {
        KindCount& count = kinds[static_cast<std::size_t>(events[i].event.kind)];
        ++count.asked;
        if (hearings[i].hearing != Hearing::missed) ++count.heard;
    }
    return kinds;
}

} // namespace lull
