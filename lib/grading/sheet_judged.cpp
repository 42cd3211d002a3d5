// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet_judged.hpp"

#include "grading/sheet_rows.hpp"
#include "grading/sheet_truth.hpp"
#include "recording/table_text.hpp"

#include <algorithm>
#include <utility>

namespace lull {
namespace {

bool holds_judgements(std::string_view bytes, const std::string& file) {
    const WrittenRows table = split_written_rows(bytes, file);
    if (table.rows.empty()) return false;
    const std::vector<std::string>& heading = table.rows.front().cells;
    return std::ranges::all_of(
        std::initializer_list<const char*>{"reviewer", "onset s", "judgement"},
        [&](const std::string& name) {
            return std::ranges::find(heading, name, plain_name) != heading.end();
        });
}

void add_answer(const Judgement& judged, const SheetContext& context, Sheet& sheet) {
    if (judged.verdict != "agree") return;
    Answer answer;
    answer.line = judged.line;
    answer.time_s = judged.new_onset_s.value_or(judged.onset_s);
    answer.kind = judged.new_kind ? judged.new_kind : judged.old_kind;
    answer.note = judged.reason;
    if (!judged.channel.empty()) {
        if (const auto name = channel_named(judged.channel, context.channels))
            answer.channels.push_back(*name);
        else
            sheet.faults.push_back({judged.line, "channel",
                                    "\"" + judged.channel + "\" is none of the channels", false});
    }
    sheet.answers.push_back(std::move(answer));
}

} // namespace

std::vector<Sheet> parse_sheets(std::string_view bytes, const std::string& file,
                                const SheetContext& context, const StartTime& start) {
    if (!holds_judgements(bytes, file)) return {parse_sheet(bytes, file, context)};
    std::vector<Sheet> sheets;
    for (const Judgement& judged : parse_judgements(bytes, file, start)) {
        auto sheet = std::ranges::find(sheets, judged.reviewer, &Sheet::name);
        if (sheet == sheets.end()) {
            Sheet fresh;
            fresh.name = judged.reviewer;
            fresh.file = file;
            sheet = sheets.insert(sheets.end(), std::move(fresh));
        }
        add_answer(judged, context, *sheet);
    }
    return sheets;
}

std::vector<Sheet> read_sheets(const std::string& file, const SheetContext& context,
                               const StartTime& start) {
    return parse_sheets(read_table_bytes(file), file, context, start);
}

} // namespace lull
