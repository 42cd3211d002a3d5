// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/read_tables.hpp"

#include "error.hpp"
#include "recording/written_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace lull {
namespace {

/// 1:23 counts from the start where that lies in the recording, as logs are kept by a stopwatch.
double log_time(const CsvTable& table, const CsvRow& row, const Recording& recording) {
    const std::optional<WrittenTime> time = read_written_time(table.text(row, "time"));
    if (!time || !time->hours_and_minutes) return table.time(row, "time", recording.start);
    if (!recording.start.unix_s || *time->elapsed_s <= recording.duration_s())
        return *time->elapsed_s;
    return time_of_day_after(recording.start, *time->second_of_day);
}

LogRow log_row(const CsvTable& table, const CsvRow& row, const Recording& recording) {
    LogRow written{.time_s = log_time(table, row, recording),
                   .person = table.text(row, "person"),
                   .action = table.text(row, "action"),
                   .channels = {},
                   .text = table.text(row, "text")};
    for (const std::string& name : split_list(table.text(row, "channels"))) {
        const auto channel = channel_named(recording, name);
        if (!channel)
            table.fail(row, "channels", "no channel \"" + name + "\" in the recording",
                       "names as in the session, joined by ;");
        written.channels.push_back(*channel);
    }
    return written;
}

} // namespace

OperatorsLog read_log(const std::string& file, const Recording& recording) {
    const CsvTable table(file, {"time", "action"});
    OperatorsLog log;
    for (const CsvRow& row : table.rows()) {
        try {
            log.rows.push_back(log_row(table, row, recording));
        } catch (const Error& error) {
            log.notices.push_back({.file = std::filesystem::path(file).filename().string(),
                                   .text = error.place + ": " + error.fault +
                                           "; the line is left out. Right would be: " + error.mend,
                                   .degraded = true});
        }
    }
    return log;
}

} // namespace lull
