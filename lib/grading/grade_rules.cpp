// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_rules.hpp"

#include "recording/strict_json.hpp"

namespace lull {
namespace {

constexpr std::array<const char*, 4> kinds{"tapping", "voice-like", "horn", "other"};
constexpr double longest_s = 3600.0;

void take(const JsonObject& json, const char* key, double& value, double low, double high) {
    if (json.has(key)) value = json.number(key, low, high);
}

void take(const JsonObject& json, const char* key, bool& value) {
    if (json.has(key)) value = json.flag(key);
}

void take_points(const JsonObject& points, GradeRules& rules) {
    constexpr double most = 1000.0;
    points.allow_only({"heard", "kind", "channel", "place", "false_call"});
    take(points, "heard", rules.points_heard, 0.0, most);
    take(points, "kind", rules.points_kind, 0.0, most);
    take(points, "channel", rules.points_channel, 0.0, most);
    take(points, "place", rules.points_place, 0.0, most);
    take(points, "false_call", rules.points_false_call, -most, 0.0);
}

} // namespace

GradeRules load_grade_rules(const std::string& path) {
    const nlohmann::json text = load_json(path);
    const JsonObject json(text, path, "");
    json.allow_only({"format", "version", "onset_tolerance_s", "asked", "anywhere_within_event",
                     "repeats_are_false_calls", "points", "place_limit_m", "reaction_limit_s",
                     "slot_s", "guess", "lapse", "confidence_from", "log_before_s", "log_after_s"});
    (void)json.word("format", {"lull-grade-weights"});
    (void)json.whole("version", 1, 1);
    GradeRules rules;
    for (std::size_t k = 0; k < kinds.size(); ++k) {
        for (const char* key : {"onset_tolerance_s", "asked"})
            if (json.has(key))
                json.object(key).allow_only({"tapping", "voice-like", "horn", "other"});
        if (json.has("onset_tolerance_s"))
            take(json.object("onset_tolerance_s"), kinds[k], rules.onset_tolerance_s[k], 0.0,
                 longest_s);
        if (json.has("asked")) take(json.object("asked"), kinds[k], rules.asked[k]);
    }
    take(json, "anywhere_within_event", rules.anywhere_within_event);
    take(json, "repeats_are_false_calls", rules.repeats_are_false_calls);
    if (json.has("points")) take_points(json.object("points"), rules);
    take(json, "place_limit_m", rules.place_limit_m, 0.0, 1e6);
    take(json, "reaction_limit_s", rules.reaction_limit_s, 0.0, longest_s);
    take(json, "slot_s", rules.slot_s, 0.1, longest_s);
    take(json, "guess", rules.guess, 0.0, 0.9);
    take(json, "lapse", rules.lapse, 0.0, 0.09);
    take(json, "confidence_from", rules.confidence_from, 0.0, 1.0);
    take(json, "log_before_s", rules.log_before_s, 0.0, longest_s);
    take(json, "log_after_s", rules.log_after_s, 0.0, longest_s);
    return rules;
}

} // namespace lull
