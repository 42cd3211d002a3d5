// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page.hpp"

#include "picture/text.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_events.hpp"
#include "report/internal/page_frame.hpp"
#include "report/language_en.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

namespace say = language;

const Table* table_named(const ReportData& report, std::string_view name) {
    for (const Table& table : report.tables)
        if (table.name == name) return &table;
    return nullptr;
}

std::string table_section(const ReportData& report, const char* name, const char* heading) {
    const Table* table = table_named(report, name);
    return table ? section(name, heading, html_table(*table, most_rows_shown)) : std::string();
}

std::string counts_section(const EventCounts& counts) {
    const std::string not_listed =
        counts.not_listed ? fmt::format("{}", *counts.not_listed) : std::string(say::not_counted);
    return section("counts", say::counts,
                   html_table({say::headline, say::lower, say::not_listed},
                              {{fmt::format("{}", counts.headline), fmt::format("{}", counts.lower),
                                not_listed}}));
}

std::string places_section(const ReportData& report) {
    std::string figures;
    for (const PlacePicture& place : report.places)
        figures += "<figure>" + place.svg + "<figcaption>" +
                   escape_markup(fmt::format("{} {}: {}", say::event, place.name, place.evidence)) +
                   "</figcaption></figure>\n";
    return figures.empty()
               ? figures
               : section("places", say::places, element("p", say::places_about) + figures);
}

std::string log_section(const ReportData& report) {
    std::vector<std::vector<std::string>> rows;
    for (const LogRow& row : report.log)
        rows.push_back({number_text(row.time_s, 1), row.person, row.action, row.text});
    return rows.empty()
               ? std::string()
               : section("log", say::log, html_table({"time_s", "person", "action", "text"}, rows));
}

std::string judgements_section(const ReportData& report) {
    std::vector<std::vector<std::string>> rows;
    for (const JudgementRow& row : report.judgements)
        rows.push_back({row.when, row.reviewer, number_text(row.onset_s, 3), row.channel,
                        row.old_kind, row.judgement, row.new_kind, row.reason});
    return rows.empty() ? std::string()
                        : section("judgements", say::judgements,
                                  html_table({"when", "reviewer", "onset_s", "channel", "old kind",
                                              "judgement", "new kind", "reason"},
                                             rows));
}

std::string notices_section(const Recording& recording) {
    std::string items;
    for (const Notice& notice : recording.notices)
        items +=
            element("li", notice.file.empty() ? notice.text : notice.file + ": " + notice.text);
    return items.empty() ? std::string()
                         : section("notices", say::notices, "<ul>" + items + "</ul>\n");
}

std::string made_section(const ReportData& report) {
    std::vector<std::vector<std::string>> inputs, settings;
    for (const InputFile& input : report.provenance.recording->inputs)
        inputs.push_back({input.label, fmt::format("{}", input.bytes), input.sha256, input.format,
                          input.frames_promised ? fmt::format("{}", *input.frames_promised) : "",
                          fmt::format("{}", input.frames)});
    for (const SettingShown& setting : report.provenance.settings)
        settings.push_back({setting.name, cell_text(setting.value, setting.decimals)});
    return section(
        "made", say::made,
        element("p", fmt::format("{} {}", report.provenance.tool, LULL_VERSION)) +
            element("h3", say::inputs) +
            html_table({"file", "bytes", "sha256", "format", "frames_promised", "frames"}, inputs) +
            element("h3", say::settings) + html_table({"setting", "value"}, settings));
}

} // namespace

std::string page_html(const ReportData& report) {
    std::string html = session_heading(report);
    html += counts_section(report.counts) + heard_section(report) + time_line_section(report);
    html += places_section(report) + details_section(report) +
            table_section(report, "channels", say::fitness) +
            table_section(report, "findings", say::findings);
    html += log_section(report) + judgements_section(report) +
            notices_section(*report.provenance.recording) + made_section(report);
    return framed_page(report, html);
}

} // namespace lull
