// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/read_grades.hpp"

#include "grading/class_figures.hpp"
#include "grading/sheet_words.hpp"
#include "report/csv.hpp"

#include <map>

namespace lull {
namespace {

EventKind kind_of(const CsvTable& table, const CsvRow& row) {
    const std::optional<EventKind> kind = kind_named(table.text(row, "kind"));
    if (!kind)
        table.fail(row, "kind", "is no kind of event", "use tapping, voice-like, horn or other");
    return *kind;
}

using KindsByListener = std::map<std::string, PerKind<KindCount>>;

/// How much of each kind everybody heard, of a table class.
KindsByListener read_kinds(const std::string& file) {
    const CsvTable table(file, {"listener", "kind", "heard"});
    KindsByListener kinds;
    for (const CsvRow& row : table.rows()) {
        const auto kind = static_cast<std::size_t>(kind_of(table, row));
        KindCount& count = kinds[table.text(row, "listener")][kind];
        ++count.asked;
        if (table.text(row, "heard") != name_of(Hearing::missed)) ++count.heard;
    }
    return kinds;
}

} // namespace

std::vector<PastScore> read_past_scores(const std::string& file, const std::string& class_file) {
    const CsvTable table(file, {"exercise", "listener", "hits", "misses", "false_calls"});
    const auto kinds = class_file.empty() ? KindsByListener{} : read_kinds(class_file);
    std::vector<PastScore> scores;
    for (const CsvRow& row : table.rows()) {
        PastScore score;
        score.exercise = table.text(row, "exercise");
        score.listener = table.text(row, "listener");
        if (score.listener == "all" || score.listener == "program") continue;
        score.counts = {table.whole(row, "hits"), table.whole(row, "misses"),
                        table.whole(row, "false_calls")};
        const auto figure = [&](const char* name) -> std::optional<double> {
            if (table.text(row, name).empty()) return std::nullopt;
            return table.number(row, name);
        };
        score.threshold_db = {figure("threshold_db"), figure("threshold_db_low"),
                              figure("threshold_db_high")};
        if (const auto found = kinds.find(score.listener); found != kinds.end())
            score.kinds = found->second;
        scores.push_back(std::move(score));
    }
    return scores;
}

Sheet read_finds(const std::string& file) {
    Sheet sheet;
    sheet.name = "program";
    sheet.file = file;
    const CsvTable table(file, {"kind", "from_s", "to_s", "channel", "confidence"});
    for (const CsvRow& row : table.rows()) {
        Answer answer;
        answer.line = row.line;
        answer.time_s = table.number(row, "from_s");
        answer.end_s = table.number(row, "to_s");
        answer.kind = kind_of(table, row);
        answer.channels = listed(table.text(row, "channel"));
        answer.confidence = table.number(row, "confidence");
        sheet.answers.push_back(std::move(answer));
    }
    return sheet;
}

} // namespace lull
