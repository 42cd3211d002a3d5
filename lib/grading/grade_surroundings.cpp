// SPDX-License-Identifier: GPL-3.0-or-later
//
// What was really there when somebody wrote down what was not.
#include "grading/grade_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double around_s = 2.0; ///< a note this near to the call is named
constexpr double near_s = 30.0;  ///< an event this near is named with its distance
constexpr std::size_t most_named = 3;

std::string words_of(const Surrounding& s) {
    std::string words = s.what;
    if (!s.channel.empty()) words += " on " + s.channel;
    if (!s.note.empty() && s.note != "site") words += " (" + s.note + ")";
    return words;
}

/// The sounds at a time, the shortest first. Ordered quiet is not a sound.
std::vector<const Surrounding*> at_moment(double time_s, std::span<const Surrounding> all) {
    std::vector<const Surrounding*> found;
    for (const Surrounding& s : all)
        if (s.what != "quiet" && s.from_s - around_s <= time_s && time_s <= s.to_s + around_s)
            found.push_back(&s);
    std::stable_sort(found.begin(), found.end(), [](const Surrounding* a, const Surrounding* b) {
        return a->to_s - a->from_s < b->to_s - b->from_s;
    });
    return found;
}

/// The nearest event, as "tapping 6.2 s earlier".
std::string nearest_event(double time_s, std::span<const TruthEvent> events) {
    const TruthEvent* nearest = nullptr;
    double best = near_s;
    for (const TruthEvent& event : events) {
        const double distance = std::max({event.time_s - time_s, time_s - event.end_s, 0.0});
        if (distance < best) best = distance, nearest = &event;
    }
    if (!nearest) return "";
    if (best == 0.0)
        return fmt::format("during event {}, {}", nearest->number, name_of(nearest->kind));
    return fmt::format("nearest: event {}, {}, {:.1f} s {}", nearest->number,
                       name_of(nearest->kind), best,
                       nearest->time_s > time_s ? "later" : "earlier");
}

} // namespace

std::string what_was_there(double time_s, const GradeScene& scene) {
    std::vector<std::string> parts;
    for (const Surrounding* s : at_moment(time_s, scene.truth.surroundings)) {
        std::string words = words_of(*s);
        const bool said = std::find(parts.begin(), parts.end(), words) != parts.end();
        if (!said && parts.size() < most_named) parts.push_back(std::move(words));
    }
    const std::string nearest = nearest_event(time_s, scene.truth.events);
    if (!nearest.empty()) parts.push_back(nearest);
    return parts.empty() ? "nothing in truth or notes" : fmt::format("{}", fmt::join(parts, "; "));
}

} // namespace lull
