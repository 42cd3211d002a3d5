// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/night.hpp"

#include "recording/start_time.hpp"
#include "report/internal/cells.hpp"

#include <utility>

namespace lull {
namespace {

Cell clock_cell(const Recording& recording, double time_s) {
    std::string clock = clock_text(recording.start, time_s);
    return clock.empty() ? Cell() : Cell(std::move(clock));
}

Cell yes_or_no(bool value) {
    return std::string(value ? "yes" : "no");
}

Cell text_cell(const std::string& text) {
    return text.empty() ? Cell() : Cell(text);
}

std::vector<Cell> find_row(const Find& find, const Recording& recording) {
    std::string channels;
    for (const int channel : find.channels)
        channels += (channels.empty() ? "" : ";") +
                    recording.channels[static_cast<std::size_t>(channel)].name;
    Cell file, in_file_s;
    if (find.file) {
        const InputFile& input = recording.inputs[static_cast<std::size_t>(*find.file)];
        file = input.label;
        in_file_s = find.from_s - recording.seconds(input.first);
    }
    return {cell_of(find.number),
            std::string(name_of(find.kind)),
            find.from_s,
            find.to_s,
            clock_cell(recording, find.from_s),
            channel_cell(recording, find.channel),
            channels,
            numbers_cell(find.events),
            cell_of(find.series),
            find.confidence,
            snr_cell(find.snr_db),
            std::move(file),
            std::move(in_file_s),
            yes_or_no(find.in_quiet),
            cell_of(find.after_hail),
            yes_or_no(find.listened)};
}

std::vector<Cell> tally_cells(const Tally& tally, const Recording& recording) {
    std::vector<Cell> cells{tally.from_s,
                            tally.to_s,
                            clock_cell(recording, tally.from_s),
                            tally.analysed_s,
                            cell_of(tally.headline),
                            cell_of(tally.lower)};
    for (const int count : tally.of_kind)
        cells.push_back(cell_of(count));
    return cells;
}

const std::vector<Column> tally_columns{{"from_s", time_decimals},
                                        {"to_s", time_decimals},
                                        {"from_clock"},
                                        {"analysed_s", time_decimals},
                                        {"confidence_0.5_and_more"},
                                        {"listed_under_0.5"},
                                        {"tapping"},
                                        {"voice_like"},
                                        {"horn"},
                                        {"other"}};

Table hours_table(const Night& night, const Recording& recording) {
    Table table{"hours", tally_columns, {}};
    for (const Tally& hour : night.hours)
        table.rows.push_back(tally_cells(hour, recording));
    return table;
}

Table quiet_periods_table(const Night& night, const Recording& recording) {
    Table table{"quiet", tally_columns, {}};
    table.columns.push_back({"drop_db", level_decimals});
    table.columns.push_back({"best_rank"});
    for (const QuietTally& period : night.quiet) {
        std::vector<Cell> row = tally_cells(period.heard, recording);
        row.emplace_back(period.drop_db);
        row.push_back(cell_of(period.best));
        table.rows.push_back(std::move(row));
    }
    return table;
}

Table hails_table(const Account& account) {
    const Recording& recording = account.recording();
    Table table{"hails",
                {{"hail"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"from_clock"},
                 {"channel"},
                 {"known_from"},
                 {"events"},
                 {"followed_by"}},
                {}};
    for (const Hail& hail : account.hails)
        table.rows.push_back(
            {cell_of(hail.number), hail.from_s, hail.to_s, clock_cell(recording, hail.from_s),
             channel_cell(recording, hail.channel), std::string(hail.from_log ? "log" : "channel"),
             numbers_cell(hail.events), numbers_cell(hail.followed_by)});
    return table;
}

Table faults_table(const Night& night, const Recording& recording) {
    Table table{"faults",
                {{"channel"},
                 {"fitness"},
                 {"finding"},
                 {"stretches"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"effect"},
                 {"remedy"}},
                {}};
    for (const ChannelFault& fault : night.faults) {
        const bool some = !fault.finding.empty();
        table.rows.push_back(
            {channel_cell(recording, fault.channel), std::string(name_of(fault.fitness)),
             text_cell(fault.finding), cell_of(fault.stretches), some ? Cell(fault.from_s) : Cell(),
             some ? Cell(fault.to_s) : Cell(), text_cell(fault.effect), text_cell(fault.remedy)});
    }
    return table;
}

Table not_analysed_table(const Night& night, const Recording& recording) {
    Table table{"not_analysed",
                {{"what"},
                 {"file"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"from_clock"},
                 {"why"}},
                {}};
    for (const NotAnalysed& one : night.not_analysed)
        table.rows.push_back({one.what, text_cell(one.file), cell_of(one.from_s), cell_of(one.to_s),
                              one.from_s ? clock_cell(recording, *one.from_s) : Cell(), one.why});
    return table;
}

} // namespace

Table night_table(const Account& account) {
    Table table{"finds",
                {{"rank"},
                 {"kind"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"from_clock"},
                 {"channel"},
                 {"channels"},
                 {"events"},
                 {"series"},
                 {"confidence", share_decimals},
                 {"snr_db", level_decimals},
                 {"file"},
                 {"in_file_s", time_decimals},
                 {"in_quiet"},
                 {"after_hail"},
                 {"listened"}},
                {}};
    for (const Find& find : account.finds)
        table.rows.push_back(find_row(find, account.recording()));
    return table;
}

std::string night_json(const Account& account) {
    const Recording& recording = account.recording();
    const Night& night = account.night;
    const std::vector<SettingShown> said{{"rule", std::string(find_rule), -1},
                                         {"files", std::int64_t{night.files}, -1},
                                         {"files_skipped", std::int64_t{night.files_skipped}, -1}};
    const std::vector<Table> tables{not_analysed_table(night, recording),
                                    night_table(account),
                                    hours_table(night, recording),
                                    quiet_periods_table(night, recording),
                                    hails_table(account),
                                    faults_table(night, recording)};
    return summary_json("lull-night", account.provenance, account.counts, said, tables);
}

} // namespace lull
