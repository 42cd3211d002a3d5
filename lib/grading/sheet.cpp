// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet.hpp"

#include "grading/sheet_rows.hpp"
#include "recording/table_text.hpp"

#include <algorithm>
#include <charconv>
#include <filesystem>

namespace lull {
namespace {

/// A time may lie this far beyond the recording.
constexpr double slack_s = 5.0;
/// The heading is one of the first rows.
constexpr std::size_t heading_rows = 15;

/// A line whose time has several readings.
struct Undecided {
    Answer answer;
    TimeReading reading;
};

SheetColumns columns_of(const WrittenRows& table, const Synonyms& words) {
    SheetColumns columns;
    for (std::size_t r = 0; r < std::min(heading_rows, table.rows.size()); ++r) {
        std::vector<std::string> names;
        int known = 0;
        for (const std::string& cell : table.rows[r].cells) {
            std::string name = words.column_of(cell);
            if (std::find(names.begin(), names.end(), name) != names.end()) name.clear();
            known += name.empty() ? 0 : 1;
            names.push_back(std::move(name));
        }
        const bool timed = std::find(names.begin(), names.end(), "time") != names.end();
        if (!timed || (known < 2 && names.size() > 1)) continue;
        columns.names = std::move(names);
        columns.first_row = r + 1;
        return columns;
    }
    columns.names = {"time", "kind", "channel", "x_m", "y_m", "note"};
    return columns;
}

bool digits_only(std::string_view text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

/// Repairs a row separated by commas: an unquoted decimal comma in the time makes one cell too
/// many, and commas in the closing note make more.
std::vector<std::string> mended(std::vector<std::string> cells, const SheetColumns& columns,
                                char separator) {
    const std::size_t wanted = columns.names.size();
    if (separator != ',' || cells.size() <= wanted) return cells;
    if (columns.names[0] == "time" && digits_only(cells[1]) && cells[1].size() <= 3 &&
        cells[0].find_first_not_of("0123456789:+") == std::string::npos &&
        columns.names.size() > 1 && columns.names[1] == "kind") {
        cells[0] += "." + cells[1];
        cells.erase(cells.begin() + 1);
    }
    if (columns.names.back() == "note")
        while (cells.size() > wanted) {
            cells[wanted - 1] += ", " + cells[wanted];
            cells.erase(cells.begin() + static_cast<std::ptrdiff_t>(wanted));
        }
    return cells;
}

class SheetReader {
  public:
    SheetReader(const SheetContext& context, Sheet& sheet) : context_(context), sheet_(sheet) {}

    void read(const WrittenRow& row, const SheetColumns& columns, char separator) {
        if (!row.fault.empty()) return fault(row.line, "", row.fault, true);
        const std::vector<std::string> cells = mended(row.cells, columns, separator);
        Undecided line;
        line.answer.line = row.line;
        if (!read_time(columns.cell(cells, "time"), line)) return;
        read_kind(columns.cell(cells, "kind"), line.answer);
        read_channels(columns.cell(cells, "channel"), line.answer);
        line.answer.x_m = number(columns.cell(cells, "x_m"), "x_m", row.line);
        line.answer.y_m = number(columns.cell(cells, "y_m"), "y_m", row.line);
        line.answer.confidence = number(columns.cell(cells, "confidence"), "confidence", row.line);
        line.answer.note = columns.cell(cells, "note");
        lines_.push_back(std::move(line));
    }

    /// Chooses between stopwatch and clock, once all lines are known.
    void decide() {
        int clock = 0, stopwatch = 0;
        for (const Undecided& line : lines_) {
            const bool c = fits(line.reading.clock_s), s = fits(line.reading.elapsed_s);
            if (c && !s) ++clock;
            if (s && !c && line.reading.two_digit_hours) ++stopwatch;
        }
        for (Undecided& line : lines_) {
            const TimeReading& reading = line.reading;
            bool by_clock = reading.clock_s.has_value();
            if (by_clock && reading.elapsed_s) {
                const bool c = fits(reading.clock_s), s = fits(reading.elapsed_s);
                by_clock = c != s               ? c
                           : clock != stopwatch ? clock > stopwatch
                                                : line.reading.two_digit_hours;
            }
            line.answer.time_s = by_clock ? *reading.clock_s : *reading.elapsed_s;
            sheet_.answers.push_back(std::move(line.answer));
        }
    }

  private:
    bool read_time(std::string_view cell, Undecided& line) {
        const int number = line.answer.line;
        if (context_.words.is_unknown(cell)) {
            fault(number, "time", cell.empty() ? "no time is given" : "the time is not known",
                  true);
            return false;
        }
        const std::optional<TimeReading> reading = parse_written_time(cell, context_.start);
        if (!reading) {
            fault(number, "time",
                  "\"" + std::string(cell) +
                      "\" is no time that can be read; write seconds, m:ss or h:mm:ss" +
                      (context_.start ? ", or a clock time after the start" : ""),
                  true);
            return false;
        }
        line.reading = *reading;
        return true;
    }

    void read_kind(std::string_view cell, Answer& answer) {
        if (context_.words.is_unknown(cell)) return;
        answer.kind = context_.words.kind_of(cell);
        if (!answer.kind)
            fault(answer.line, "kind",
                  "\"" + std::string(cell) +
                      "\" does not name one kind; write tapping, voice-like, horn or "
                      "other, or add the word to the synonyms file",
                  false);
    }

    void read_channels(std::string_view cell, Answer& answer) {
        if (context_.words.is_unknown(cell)) return;
        const auto whole = channel_named(cell, context_.channels);
        if (whole && !context_.channels.empty()) {
            answer.channels.push_back(*whole);
            return;
        }
        for (const std::string& part : listed(cell)) {
            if (context_.words.is_unknown(part)) continue;
            const auto name = channel_named(part, context_.channels);
            if (name)
                answer.channels.push_back(*name);
            else
                fault(answer.line, "channel", "\"" + part + "\" is none of the channels", false);
        }
    }

    std::optional<double> number(std::string_view cell, const char* column, int line) {
        if (context_.words.is_unknown(cell)) return std::nullopt;
        std::string_view text = cell;
        if (text.ends_with("m")) text = trimmed(text.substr(0, text.size() - 1));
        const std::optional<double> value = parse_written_number(text);
        if (!value) fault(line, column, "\"" + std::string(cell) + "\" is no number", false);
        return value;
    }

    [[nodiscard]] bool fits(const std::optional<double>& time_s) const {
        return time_s && *time_s >= 0.0 &&
               (!context_.duration_s || *time_s <= *context_.duration_s + slack_s);
    }

    void fault(int line, const char* column, std::string what, bool lost) {
        sheet_.faults.push_back({line, column, std::move(what), lost});
    }

    const SheetContext& context_;
    Sheet& sheet_;
    std::vector<Undecided> lines_;
};

} // namespace

std::string_view SheetColumns::cell(const std::vector<std::string>& row,
                                    std::string_view column) const {
    const auto found = std::find(names.begin(), names.end(), column);
    const auto index = static_cast<std::size_t>(found - names.begin());
    return found == names.end() || index >= row.size() ? std::string_view() : trimmed(row[index]);
}

bool SheetColumns::has(std::string_view column) const {
    return std::find(names.begin(), names.end(), column) != names.end();
}

std::optional<std::string> channel_named(std::string_view written,
                                         const std::vector<std::string>& channels) {
    if (channels.empty()) return std::string(written);
    const std::string plain = plain_name(written);
    for (const std::string& name : channels)
        if (plain_name(name) == plain) return name;
    std::string_view digits = plain;
    for (const std::string_view word : {"channel ", "ch ", "ch", "sensor ", "#"})
        if (digits.starts_with(word)) {
            digits.remove_prefix(word.size());
            break;
        }
    std::size_t number = 0;
    const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
    if (fault == std::errc() && end == digits.data() + digits.size() && number >= 1 &&
        number <= channels.size())
        return channels[number - 1];
    return std::nullopt;
}

Sheet parse_sheet(std::string_view bytes, const std::string& file, const SheetContext& context) {
    Sheet sheet;
    sheet.file = file;
    sheet.name = std::filesystem::path(file).stem().string();
    const WrittenRows table = split_written_rows(bytes, file);
    const SheetColumns columns = columns_of(table, context.words);
    SheetReader reader(context, sheet);
    for (std::size_t r = columns.first_row; r < table.rows.size(); ++r)
        reader.read(table.rows[r], columns, table.separator);
    reader.decide();
    return sheet;
}

Sheet read_sheet(const std::string& file, const SheetContext& context) {
    return parse_sheet(read_table_bytes(file), file, context);
}

} // namespace lull
