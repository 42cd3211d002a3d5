// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade.hpp"

#include "error.hpp"
#include "grading/grade_group.hpp"
#include "grading/grade_sheet.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

double known_end(const GradeRequest& request) {
    if (request.duration_s && *request.duration_s > 0.0) return *request.duration_s;
    double end = 1.0;
    for (const TruthEvent& event : request.truth.events)
        end = std::max(end, event.end_s);
    for (const Sheet& sheet : request.sheets)
        for (const Answer& answer : sheet.answers)
            end = std::max(end, answer.time_s);
    return end;
}

Sheet without_doubtful(const Sheet& sheet, double confidence_from) {
    Sheet kept = sheet;
    std::erase_if(kept.answers, [&](const Answer& answer) {
        return answer.confidence && *answer.confidence < confidence_from;
    });
    return kept;
}

std::vector<EventGrade> events_of(const GradeScene& scene,
                                  std::span<const ListenerGrade> listeners) {
    std::vector<EventGrade> events;
    for (const TruthEvent& event : scene.truth.events) {
        if (!is_asked(event, scene.rules)) continue;
        EventGrade graded;
        graded.event = event;
        graded.excerpt = excerpt_of(event);
        graded.listeners = static_cast<int>(listeners.size());
        for (const ListenerGrade& listener : listeners)
            for (const GradedAnswer& answer : listener.answers)
                if (answer.outcome == Outcome::hit && *answer.event == event.number)
                    graded.heard_by.push_back(listener.name);
        graded.heard = static_cast<int>(graded.heard_by.size());
        graded.share = proportion(graded.heard, graded.listeners);
        events.push_back(std::move(graded));
    }
    return events;
}

} // namespace

const char* name_of(Outcome outcome) {
    switch (outcome) {
    case Outcome::hit:
        return "hit";
    case Outcome::not_asked:
        return "not asked";
    case Outcome::repeat:
        return "repeat";
    case Outcome::false_call:
        break;
    }
    return "false call";
}

std::vector<Slot> even_slots(double from_s, double to_s, double length_s) {
    std::vector<Slot> slots;
    for (int i = 0;; ++i) { // by multiplication, since sums of the length would drift
        const double start = from_s + i * length_s;
        const double end = std::min(start + length_s, to_s);
        if (!(end - start >= 0.5 * length_s)) return slots;
        slots.push_back({start, end});
    }
}

Grade grade(const GradeRequest& request) {
    const bool any =
        std::any_of(request.truth.events.begin(), request.truth.events.end(),
                    [&](const TruthEvent& event) { return is_asked(event, request.rules); });
    if (!any && request.truth.events.empty() && request.truth.surroundings.empty())
        throw_input(request.truth.file, "", "holds no row", "name the exercise's truth");
    Grade result;
    result.exercise = request.exercise;
    result.surroundings = request.truth.surroundings;
    result.slots = request.slots;
    if (result.slots.empty() && request.duration_s)
        result.slots = even_slots(0.0, *request.duration_s, request.rules.slot_s);
    const GradeScene scene{request.truth, request.rules, result.slots, known_end(request)};
    for (std::size_t i = 0; i < request.sheets.size(); ++i)
        result.listeners.push_back(grade_sheet(request.sheets[i], static_cast<int>(i) + 1, scene));
    if (request.program) {
        const Sheet kept = without_doubtful(*request.program, request.rules.confidence_from);
        result.program = grade_sheet(kept, 0, scene);
    }
    result.events = events_of(scene, result.listeners);
    result.group = group_of(result.listeners, result.events, request.rules);
    result.apart = lying_apart(result.listeners);
    return result;
}

} // namespace lull
