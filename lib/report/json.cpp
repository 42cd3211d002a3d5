// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/json.hpp"

#include "recording/start_time.hpp"
#include "report/caution.hpp"
#include "report/csv.hpp"
#include "report/language.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <charconv>
#include <cmath>
#include <utility>

namespace lull {
namespace {

using Json = nlohmann::ordered_json;

std::string dumped(const Json& value, int indent = -1) {
    return value.dump(indent, ' ', false, Json::error_handler_t::replace);
}

void append_cell(std::string& json, const Cell& cell, int decimals) {
    const auto* number = std::get_if<double>(&cell);
    if (number && std::isfinite(*number))
        json += number_text(*number, decimals);
    else if (const auto* whole = std::get_if<std::int64_t>(&cell))
        fmt::format_to(std::back_inserter(json), "{}", *whole);
    else if (const auto* text = std::get_if<std::string>(&cell))
        json += dumped(*text);
    else
        json += "null";
}

/// The number with the digits that tables show.
Json rounded(double value, int decimals) {
    const std::string text = number_text(value, decimals);
    double read = 0.0;
    if (text.empty()) return nullptr;
    std::from_chars(text.data(), text.data() + text.size(), read);
    return read;
}

Json json_of(const SettingShown& setting) {
    if (const auto* number = std::get_if<double>(&setting.value))
        return rounded(*number, setting.decimals);
    if (const auto* whole = std::get_if<std::int64_t>(&setting.value)) return *whole;
    if (const auto* text = std::get_if<std::string>(&setting.value)) return *text;
    return nullptr;
}

Json json_of(const InputFile& input, double rate_hz) {
    Json json = {{"file", input.label}, {"bytes", input.bytes}};
    json["sha256"] = input.sha256.empty() ? Json(nullptr) : Json(input.sha256);
    json["format"] = input.format;
    json["tracks"] = input.tracks;
    json["frames_promised"] = input.frames_promised ? Json(*input.frames_promised) : Json(nullptr);
    json["frames"] = input.frames;
    json["first_s"] = rounded(static_cast<double>(input.first) / rate_hz, 6);
    json["cut_short"] = input.cut_short;
    Frame lost = 0;
    for (const FrameRange& range : input.lost)
        lost += range.frames;
    json["lost_s"] = rounded(static_cast<double>(lost) / rate_hz, 6);
    return json;
}

Json json_of(const StartTime& start) {
    const std::string clock = clock_text(start, 0.0);
    Json json;
    json["clock"] = clock.empty() ? Json(nullptr) : Json(clock);
    json["known_from"] = start.source;
    json["sigma_s"] = rounded(start.sigma_s, 6);
    json["utc_offset_s"] = start.utc_offset_s ? Json(*start.utc_offset_s) : Json(nullptr);
    json["zone"] = start.zone_name.empty() ? Json(nullptr) : Json(start.zone_name);
    return json;
}

Json head(const char* format, const Provenance& provenance) {
    const Recording& recording = *provenance.recording;
    Json json = {{"format", format},
                 {"version", 1},
                 {"lull", LULL_VERSION},
                 {"tool", provenance.tool},
                 {"caution", caution_text},
                 {"exercise", recording.exercise},
                 {"label", recording.session.label},
                 {"exhibit", recording.session.exhibit}};
    json["settings"] = Json::object();
    for (const SettingShown& setting : provenance.settings)
        json["settings"][setting.name] = json_of(setting);
    json["inputs"] = Json::array();
    for (const InputFile& input : recording.inputs)
        json["inputs"].push_back(json_of(input, recording.rate_hz));
    json["start"] = json_of(recording.start);
    json["notices"] = Json::array();
    for (const Notice& notice : recording.notices)
        json["notices"].push_back(
            {{"file", notice.file}, {"text", notice.text}, {"degraded", notice.degraded}});
    return json;
}

/// A dumped object without its last brace, so that tables can follow as text: as a tree, the
/// arrivals of a night would take more memory than the analysis.
std::string open_ended(const Json& object) {
    std::string text = dumped(object, 2);
    text.resize(text.size() - 2);
    return text;
}

Json head_and_counts(const char* format, const Provenance& provenance, const FindCounts& counts) {
    Json document = head(format, provenance);
    document["counts"] = {{"confidence_0.5_and_more", counts.headline},
                          {"listed_under_0.5", counts.lower},
                          {"of_hails", counts.of_hails},
                          {"events", counts.events}};
    document["counts"]["not_listed"] = counts.not_listed ? Json(*counts.not_listed) : Json(nullptr);
    return document;
}

Json json_of(const HailChance& chance) {
    return {{"hails", chance.hails},
            {"listened_s", rounded(chance.listened_s, 3)},
            {"answer_s", rounded(chance.answer_s, 3)},
            {"followed", chance.followed},
            {"elsewhere", chance.elsewhere},
            {"expected", rounded(chance.expected, 3)},
            {"expected_low", rounded(chance.expected_low, 3)},
            {"expected_high", rounded(chance.expected_high, 3)},
            {"shifts", chance.shifts},
            {"p", rounded(chance.p, 6)},
            {"smallest_p", rounded(chance.smallest_p, 6)},
            {"assumptions", Language::english()["hail_assumptions"]}};
}

std::vector<std::string> keys_of(const Table& table) {
    std::vector<std::string> keys;
    for (const Column& column : table.columns)
        keys.push_back(dumped(column.name) + ": ");
    return keys;
}

void append_members(std::string& json, const Table& table, const std::vector<std::string>& keys,
                    const std::vector<Cell>& row) {
    for (std::size_t c = 0; c < row.size(); ++c) {
        if (c) json += ", ";
        json += keys[c];
        append_cell(json, row[c], table.columns[c].decimals);
    }
}

/// \param before  rows of the table that the text holds already
void append_rows(std::string& json, const Table& table, std::size_t before) {
    const std::vector<std::string> keys = keys_of(table);
    for (const std::vector<Cell>& row : table.rows) {
        json += before++ ? ",\n    {" : "\n    {";
        append_members(json, table, keys, row);
        json += '}';
    }
}

const char* end_of_array(std::size_t rows) {
    return rows == 0 ? "]" : "\n  ]";
}

void append_array(std::string& json, const Table& table) {
    json += '[';
    append_rows(json, table, 0);
    json += end_of_array(table.rows.size());
}

std::string with_tables(const Json& document, std::span<const Table> tables) {
    std::string text = open_ended(document);
    for (const Table& table : tables) {
        text += ",\n  " + dumped(table.name) + ": ";
        append_array(text, table);
    }
    text += "\n}\n";
    return text;
}

} // namespace

std::string rows_json(const Table& table) {
    std::string json;
    append_array(json, table);
    return json;
}

std::string table_json(const Table& table, const Provenance& provenance) {
    return table_json_begin(table, provenance) + table_json_rows(table, 0) +
           table_json_end(table.rows.size());
}

std::string table_json_begin(const Table& table, const Provenance& provenance) {
    Json document = head("lull-table", provenance);
    document["table"] = table.name;
    return open_ended(document) + ",\n  \"rows\": [";
}

std::string table_json_rows(const Table& table, std::size_t before) {
    std::string text;
    append_rows(text, table, before);
    return text;
}

std::string table_json_end(std::size_t rows) {
    return std::string(end_of_array(rows)) + "\n}\n";
}

std::string lines_begin(const std::string& tool) {
    const Json about = {{"table", "about"}, {"format", "lull-lines"},
                        {"version", 1},     {"lull", LULL_VERSION},
                        {"tool", tool},     {"caution", caution_text}};
    return dumped(about) + "\n";
}

std::string lines_rows(const Table& table) {
    const std::vector<std::string> keys = keys_of(table);
    const std::string begin = "{\"table\": " + dumped(table.name) + ", ";
    std::string lines;
    for (const std::vector<Cell>& row : table.rows) {
        lines += begin;
        append_members(lines, table, keys, row);
        lines += "}\n";
    }
    return lines;
}

std::string lines_end(std::size_t rows, const Provenance& provenance) {
    Json end = {{"table", "end"}, {"rows", rows}};
    end.update(head("lull-lines", provenance));
    return dumped(end) + "\n";
}

ReportJson::ReportJson(std::string path, const Provenance& provenance, const FindCounts& counts,
                       const std::optional<HailChance>& chance)
    : file_(std::move(path)) {
    Json document = head_and_counts("lull-report", provenance, counts);
    document["hail_chance"] = chance ? json_of(*chance) : Json(nullptr);
    put(open_ended(document));
}

void ReportJson::put(std::string_view text) {
    digest_.add(text);
    file_.write(text);
}

void ReportJson::end_table() {
    if (!name_.empty()) put(end_of_array(rows_));
    name_.clear();
    rows_ = 0;
}

void ReportJson::add(const Table& table) {
    std::string text;
    if (table.name != name_) {
        end_table();
        name_ = table.name;
        text = ",\n  " + dumped(name_) + ": [";
    }
    append_rows(text, table, rows_);
    rows_ += table.rows.size();
    put(text);
}

std::string ReportJson::close() {
    end_table();
    put("\n}\n");
    file_.commit();
    return digest_.hex();
}

std::string summary_json(const char* format, const Provenance& provenance, const FindCounts& counts,
                         std::span<const SettingShown> said, std::span<const Table> tables) {
    Json document = head_and_counts(format, provenance, counts);
    for (const SettingShown& one : said)
        document[one.name] = json_of(one);
    return with_tables(document, tables);
}

} // namespace lull
