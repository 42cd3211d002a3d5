// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet_truth.hpp"

#include "error.hpp"
#include "grading/sheet_rows.hpp"
#include "recording/table_text.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {
namespace {

/// Precision at which two tables give the same onset for one event.
constexpr double same_onset_s = 0.001;

/// A table that a program wrote, read strictly by its headings.
class StrictTable {
  public:
    StrictTable(std::string_view bytes, std::string file, std::vector<std::string> needed,
                StartTime start)
        : file_(std::move(file)), start_(std::move(start)),
          table_(split_written_rows(bytes, file_)) {
        if (table_.rows.empty()) throw_input(file_, "line 1", "there is no heading", mend(needed));
        for (const std::string& cell : table_.rows[0].cells)
            columns_.names.push_back(plain_name(cell));
        columns_.first_row = 1;
        for (const std::string& name : needed)
            if (!columns_.has(plain_name(name)))
                throw_input(file_, "line 1", "the column " + name + " is missing", mend(needed));
    }

    [[nodiscard]] std::size_t rows() const { return table_.rows.size() - 1; }
    [[nodiscard]] int line(std::size_t row) const { return table_.rows[row + 1].line; }

    [[nodiscard]] std::string text(std::size_t row, std::string_view column) const {
        const WrittenRow& written = table_.rows[row + 1];
        if (!written.fault.empty()) throw_input(file_, place(row, ""), written.fault, "");
        return std::string(columns_.cell(written.cells, plain_name(column)));
    }
    [[nodiscard]] std::optional<double> number(std::size_t row, std::string_view column) const {
        const std::string cell = text(row, column);
        if (cell.empty()) return std::nullopt;
        const std::optional<double> value = parse_written_number(cell);
        if (!value) throw_input(file_, place(row, column), "\"" + cell + "\" is no number", "");
        return value;
    }
    /// A number, or "inf" over a digitally silent floor, as in tables.
    [[nodiscard]] std::optional<double> snr(std::size_t row, std::string_view column) const {
        if (text(row, column) == "inf") return std::numeric_limits<double>::infinity();
        return number(row, column);
    }
    [[nodiscard]] double time(std::size_t row, std::string_view column) const {
        double time_s = 0.0;
        try {
            time_s = parse_time(text(row, column), start_);
        } catch (const Error& error) {
            if (error.kind != ErrorKind::usage) throw;
            throw_input(file_, place(row, column), error.fault, error.mend);
        }
        if (time_s < 0.0)
            throw_input(file_, place(row, column), "lies before the start",
                        "give seconds from the start");
        return time_s;
    }
    [[nodiscard]] double time_or(std::size_t row, std::string_view column, double otherwise) const {
        return text(row, column).empty() ? otherwise : time(row, column);
    }
    [[nodiscard]] std::string place(std::size_t row, std::string_view column) const {
        std::string where = "line " + std::to_string(line(row));
        if (!column.empty()) where += ", " + std::string(column);
        return where;
    }
    [[nodiscard]] const std::string& file() const { return file_; }

  private:
    static std::string mend(const std::vector<std::string>& needed) {
        std::string list = "columns needed:";
        for (const std::string& name : needed)
            list += " " + name;
        return list;
    }

    std::string file_;
    StartTime start_;
    WrittenRows table_;
    SheetColumns columns_;
};

void read_truth_row(const StrictTable& table, std::size_t row, Truth& truth) {
    const double time_s = table.time(row, "time_s");
    const double end_s = table.time_or(row, "end_s", time_s);
    if (end_s < time_s)
        throw_input(table.file(), table.place(row, "end_s"), "lies before time_s", "");
    const std::string written = table.text(row, "kind");
    const std::optional<EventKind> kind = kind_named(written);
    if (!kind) {
        truth.surroundings.push_back(
            {time_s, end_s, written, table.text(row, "channel"), table.text(row, "note")});
        return;
    }
    TruthEvent event;
    event.number = static_cast<int>(truth.events.size()) + 1;
    event.time_s = time_s;
    event.end_s = end_s;
    event.kind = *kind;
    event.channels = listed(table.text(row, "channel"));
    event.x_m = table.number(row, "x_m");
    event.y_m = table.number(row, "y_m");
    event.z_m = table.number(row, "z_m");
    event.snr_db = table.snr(row, "snr_db");
    event.note = table.text(row, "note");
    event.asked = !lower_case(event.note).starts_with("hail");
    truth.events.push_back(std::move(event));
}

void sort_surroundings(Truth& truth) {
    std::stable_sort(
        truth.surroundings.begin(), truth.surroundings.end(),
        [](const Surrounding& a, const Surrounding& b) { return a.from_s < b.from_s; });
}

const JudgedEvent* judged(std::span<const JudgedEvent> events, double onset_s) {
    for (const JudgedEvent& event : events)
        if (std::abs(event.onset_s - onset_s) <= same_onset_s) return &event;
    return nullptr;
}

} // namespace

Truth parse_truth(std::string_view bytes, const std::string& file, const StartTime& start) {
    const StrictTable table(bytes, file, {"time_s", "kind"}, start);
    Truth truth;
    truth.file = file;
    for (std::size_t row = 0; row < table.rows(); ++row)
        read_truth_row(table, row, truth);
    sort_surroundings(truth);
    return truth;
}

Truth read_truth(const std::string& file, const StartTime& start) {
    return parse_truth(read_table_bytes(file), file, start);
}

void add_surroundings(Truth& truth, const std::string& notes_file, const StartTime& start) {
    const StrictTable table(read_table_bytes(notes_file), notes_file, {"time_s", "kind"}, start);
    for (std::size_t row = 0; row < table.rows(); ++row) {
        const double from_s = table.time(row, "time_s");
        truth.surroundings.push_back({from_s, table.time_or(row, "end_s", from_s),
                                      table.text(row, "kind"), table.text(row, "channel"),
                                      table.text(row, "note")});
    }
    sort_surroundings(truth);
}

std::vector<Judgement> parse_judgements(std::string_view bytes, const std::string& file,
                                        const StartTime& start) {
    const StrictTable table(bytes, file, {"reviewer", "onset_s", "judgement"}, start);
    std::vector<Judgement> judgements;
    for (std::size_t row = 0; row < table.rows(); ++row) {
        Judgement j;
        j.line = table.line(row);
        j.when = table.text(row, "when");
        j.reviewer = table.text(row, "reviewer");
        j.onset_s = table.time(row, "onset_s");
        j.channel = table.text(row, "channel");
        j.old_kind = kind_named(table.text(row, "old kind"));
        j.new_kind = kind_named(table.text(row, "new kind"));
        if (!table.text(row, "new_onset_s").empty()) j.new_onset_s = table.time(row, "new_onset_s");
        j.verdict = table.text(row, "judgement");
        j.reason = table.text(row, "reason");
        if (j.verdict != "agree" && j.verdict != "disagree" && j.verdict != "unsure")
            throw_input(file, table.place(row, "judgement"),
                        "\"" + j.verdict + "\" is no judgement", "use agree, disagree or unsure");
        const auto earlier = std::find_if(judgements.begin(), judgements.end(), [&](const auto& e) {
            return e.reviewer == j.reviewer && e.channel == j.channel &&
                   std::abs(e.onset_s - j.onset_s) <= same_onset_s;
        });
        if (earlier == judgements.end())
            judgements.push_back(std::move(j));
        else
            *earlier = std::move(j);
    }
    return judgements;
}

Truth truth_from_judgements(std::span<const Judgement> judgements,
                            std::span<const JudgedEvent> events) {
    Truth truth;
    for (const Judgement& j : judgements) {
        const JudgedEvent* event = judged(events, j.onset_s);
        const double onset_s = j.new_onset_s.value_or(j.onset_s);
        const double end_s = event ? std::max(event->end_s, onset_s) : onset_s;
        const EventKind kind = j.new_kind.value_or(j.old_kind.value_or(EventKind::other));
        if (j.verdict == "disagree") {
            truth.surroundings.push_back(
                {onset_s, end_s, "judged to be no event", j.channel, j.reason});
            continue;
        }
        TruthEvent entry;
        entry.number = static_cast<int>(truth.events.size()) + 1;
        entry.time_s = onset_s;
        entry.end_s = end_s;
        entry.kind = kind;
        entry.channels = listed(j.channel);
        if (event) entry.snr_db = event->snr_db;
        entry.note = j.reason;
        entry.asked = j.verdict == "agree";
        truth.events.push_back(std::move(entry));
    }
    sort_surroundings(truth);
    return truth;
}

} // namespace lull
