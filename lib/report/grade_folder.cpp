// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/grade_folder.hpp"

#include "report/caution.hpp"
#include "report/class_page.hpp"
#include "report/csv.hpp"
#include "report/grade_tables.hpp"
#include "report/json.hpp"
#include "report/read_first.hpp"
#include "report/score_card.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <map>
#include <set>

namespace lull {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const GradeRules& rules) {
    const auto per_kind = [](const auto& values) {
        Json json;
        for (const EventKind kind :
             {EventKind::tapping, EventKind::voice_like, EventKind::horn, EventKind::other})
            json[name_of(kind)] = of_kind(values, kind);
        return json;
    };
    return {{"onset_tolerance_s", per_kind(rules.onset_tolerance_s)},
            {"asked", per_kind(rules.asked)},
            {"anywhere_within_event", rules.anywhere_within_event},
            {"repeats_are_false_calls", rules.repeats_are_false_calls},
            {"points", Json{{"heard", rules.points_heard},
                            {"kind", rules.points_kind},
                            {"channel", rules.points_channel},
                            {"place", rules.points_place},
                            {"false_call", rules.points_false_call}}},
            {"place_limit_m", rules.place_limit_m},
            {"reaction_limit_s", rules.reaction_limit_s},
            {"slot_s", rules.slot_s},
            {"guess", rules.guess},
            {"lapse", rules.lapse},
            {"confidence_from", rules.confidence_from},
            {"log_before_s", rules.log_before_s},
            {"log_after_s", rules.log_after_s}};
}

/// Every excerpt once, by name.
std::map<std::string, ExcerptReference> excerpts_of(const Grade& grade) {
    std::map<std::string, ExcerptReference> excerpts;
    const auto take = [&](const ListenerGrade& g) {
        for (const Miss& miss : g.misses)
            excerpts.try_emplace(miss.excerpt.name, miss.excerpt);
        for (const GradedAnswer& a : g.answers)
            if (a.excerpt) excerpts.try_emplace(a.excerpt->name, *a.excerpt);
    };
    for (const ListenerGrade& g : grade.listeners)
        take(g);
    if (grade.program) take(*grade.program);
    for (const EventGrade& event : grade.events)
        excerpts.try_emplace(event.excerpt.name, event.excerpt);
    excerpts.erase(""); // withheld
    return excerpts;
}

std::string file_name(const std::string& name, std::set<std::string>& taken) {
    std::string plain;
    for (const char c : name) {
        const bool kept =
            (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (kept)
            plain += c;
        else if (!plain.empty() && plain.back() != '-')
            plain += '-';
    }
    if (plain.empty()) plain = "sheet";
    std::string unique = plain;
    for (int number = 2; !taken.insert(unique).second; ++number)
        unique = fmt::format("{}-{}", plain, number);
    return unique;
}

} // namespace

std::string grade_json(const Grade& grade, const GradeProvenance& provenance,
                       std::span<const Table> tables) {
    Json inputs = Json::array();
    for (const auto& [name, bytes, digest] : provenance.inputs)
        inputs.push_back(Json{{"file", name}, {"bytes", bytes}, {"sha256", digest}});
    const auto known = [](const std::string& text) { return text.empty() ? Json() : Json(text); };
    Json head{{"format", "lull-scores"},
              {"version", 1},
              {"lull", LULL_VERSION},
              {"tool", "lull-grade"},
              {"caution", caution_text},
              {"exercise", grade.exercise},
              {"made_for_training", provenance.made_for_training},
              {"start", Json{{"clock", known(provenance.start_clock)},
                             {"known_from", known(provenance.start_known_from)}}},
              {"inputs", inputs},
              {"rules", json_of(provenance.rules)}};
    std::string text = head.dump(1, ' ', false, Json::error_handler_t::replace);
    text.erase(text.find_last_of('}'));
    while (!text.empty() && text.back() == '\n')
        text.pop_back();
    for (const Table& table : tables)
        text += fmt::format(",\n \"{}\": {}", table.name, rows_json(table));
    while (text.back() == '\n')
        text.pop_back();
    return text + "\n}\n";
}

void write_grades(OutputFolder& folder, const Grade& grade, const GradeProvenance& provenance,
                  const GradeExtras& extras) {
    std::vector<Table> tables{scores_table(grade), answers_table(grade), misses_table(grade),
                              heard_table(grade),  class_table(grade),   curves_table(grade),
                              apart_table(grade),  faults_table(grade)};
    if (!extras.learning.empty()) tables.push_back(learning_table(extras.learning));
    tables.insert(tables.end(), extras.tables.begin(), extras.tables.end());
    for (const Table& table : tables)
        folder.write(table.name + ".csv", to_csv(table));
    folder.write("scores.json", grade_json(grade, provenance, tables));
    const std::string_view marked = provenance.made_for_training ? exercise_text : "";
    std::vector<std::string> sounds;
    if (extras.cut)
        for (const auto& [name, excerpt] : excerpts_of(grade)) {
            sounds.push_back("excerpts/" + name + ".flac");
            extras.cut(excerpt, folder.path_of(sounds.back()));
        }
    folder.write("READ-FIRST.txt", fmt::format("{}{}{}\n\n{}", marked, marked.empty() ? "" : "\n\n",
                                               caution_text, sound_list(sounds)));
    std::set<std::string> taken;
    ClassPage page{grade, marked, extras.sound, {}, extras.learning, extras.tables};
    for (const ListenerGrade& g : grade.listeners) {
        page.cards.push_back(file_name(g.name, taken) + ".html");
        folder.write("cards/" + page.cards.back(),
                     score_card(grade, g, marked, extras.cut ? "../excerpts" : ""));
    }
    folder.write("cards.html", all_score_cards(grade, marked, extras.cut ? "excerpts" : ""));
    folder.write("index.html", class_page(page));
}

} // namespace lull
