// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/read_tables.hpp"

#include "error.hpp"
#include "recording/start_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"

#include <fmt/format.h>

#include <charconv>
#include <filesystem>

namespace lull {
namespace {

std::optional<double> whole_number(std::string_view text) {
    double value = 0.0;
    const auto read =
        std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
    if (text.empty() || read.ec != std::errc() || read.ptr != text.data() + text.size() ||
        value < 0)
        return std::nullopt;
    return value;
}

/// "1:23" or "61:07.5": minutes and seconds from the start.
std::optional<double> minutes_and_seconds(std::string_view text) {
    const std::size_t colon = text.find(':');
    if (colon == std::string_view::npos || text.find(':', colon + 1) != std::string_view::npos)
        return std::nullopt;
    const std::string_view minutes_text = text.substr(0, colon);
    if (minutes_text.find('.') != std::string_view::npos) return std::nullopt;
    const auto minutes = whole_number(minutes_text);
    const auto seconds = whole_number(text.substr(colon + 1));
    if (!minutes || !seconds || *seconds >= 60.0) return std::nullopt;
    return 60.0 * *minutes + *seconds;
}

LogRow log_row(const CsvTable& table, const CsvRow& row, const Recording& recording) {
    const std::string time = table.text(row, "time");
    const auto stopwatch = minutes_and_seconds(time);
    LogRow written{.time_s = 0.0,
                   .person = table.text(row, "person"),
                   .action = table.text(row, "action"),
                   .channels = {},
                   .text = table.text(row, "text")};
    try {
        written.time_s = stopwatch ? *stopwatch : parse_time(time, recording.start);
    } catch (const Error& error) {
        table.fail(row, "time", error.fault, error.mend);
    }
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
