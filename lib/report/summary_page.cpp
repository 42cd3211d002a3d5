// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/summary_page.hpp"

#include "recording/start_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/evidence_words.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_finds.hpp"
#include "report/internal/page_frame.hpp"
#include "report/pictures/axis.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/text.hpp"
#include "report/tables_finds.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

/// What two pages have room for.
constexpr std::size_t most_finds = 8, most_left_out = 6, most_channels = 16;

constexpr std::string_view summary_style = R"css(
body{font:10pt/1.35 sans-serif;max-width:180mm;margin:8mm auto;padding:0 4mm;color:#111;background:#fff}
h1{font-size:14pt;margin:2mm 0}h2{font-size:11pt;border-bottom:1px solid #111;margin:4mm 0 1mm}
p,ul{margin:1mm 0}li,td,h1{overflow-wrap:anywhere}.caution{border:3px double #111;padding:2mm 3mm;font-weight:bold}
table{border-collapse:collapse;width:100%;font-size:8pt}th,td{border:1px solid #767676;padding:.5mm 1mm;text-align:left;vertical-align:top}
tbody th{font-weight:normal}.overview{width:100%;height:22mm;image-rendering:auto;border:1px solid #767676}
figure{margin:1mm 0}.map svg{max-height:95mm;width:auto;max-width:100%}
@media (min-width:600px){.pair{display:flex;gap:6mm}.pair section{flex:1;min-width:0}.pair #places{flex:1.3}}.wide{overflow-x:auto}
.sign{display:flex;gap:8mm;margin-top:9mm}.sign span{flex:1;border-top:1px solid #111;padding-top:1mm;font-size:8pt}
.second{break-before:page}tr,figure,.sign{break-inside:avoid}
@media print{body{margin:0;max-width:none;padding:0}.wide{overflow:visible}}
)css";

std::string finds_part(const ReportData& report) {
    const Language& say = report.language;
    const FindCounts& counts = report.account->counts;
    std::string html =
        element("p", say.filled("find_counts", {{"headline", std::to_string(counts.headline)},
                                                {"lower", std::to_string(counts.lower)},
                                                {"events", std::to_string(counts.events)}}));
    std::vector<std::string> heads;
    for (const char* name :
         {"find", "kind", "clock", "channel", "snr_db", "confidence", "evidence", "judged"})
        heads.push_back(say.column(name));
    std::vector<std::vector<std::string>> rows;
    std::size_t foremost = 0;
    for (const Find& find : report.account->finds) {
        if (!is_foremost(find) || ++foremost > most_finds) continue;
        rows.push_back({fmt::format("{}", find.number), form_words(find, say),
                        moment_text(report, find.from_s), name_in(report, find.channel),
                        cell_text(snr_cell(find.snr_db), 1), number_text(find.confidence, 2),
                        evidence_sentence(find, *report.account, say),
                        judged_text(*report.account, find, say)});
    }
    html += rows.empty() ? element("p", say["none_heard"]) : html_table(heads, rows, say["heard"]);
    if (foremost > rows.size())
        html +=
            element("p", say.filled("more_rows", {{"count", std::to_string(foremost - rows.size())},
                                                  {"file", "finds.csv"}}));
    return section("finds", say["heard"], html);
}

std::string overview_part(const ReportData& report) {
    const Language& say = report.language;
    const std::size_t channel = channel_to_show(report);
    if (channel >= report.overview.size() || report.overview[channel].png.empty()) return {};
    const std::string what =
        say.filled("overview_of", {{"channel", name_in(report, static_cast<int>(channel))}});
    return section("whole", say["whole"],
                   fmt::format("<figure><img class=\"overview\" alt=\"{0}\" "
                               "src=\"data:image/png;base64,{1}\"><figcaption>{0}</figcaption>"
                               "</figure>\n",
                               escape_markup(what), to_base64(report.overview[channel].png)));
}

/// The map of the most deserving find that has one.
std::string map_part(const ReportData& report) {
    for (const Find& find : report.account->finds) {
        const NamedPlace* named = place_of(*report.account, find);
        if (named == nullptr) continue;
        const auto picture = std::ranges::find(report.places, named->name, &PlacePicture::name);
        if (picture == report.places.end()) continue;
        return section("places", report.language["places"],
                       "<figure class=\"map\">" + picture->svg + "<figcaption>" +
                           escape_markup(report.language.filled(
                               "find_mark", {{"find", std::to_string(find.number)},
                                             {"kind", form_words(find, report.language)},
                                             {"onset", number_text(find.from_s, 2)}})) +
                           ": " + escape_markup(report.language.phrase(picture->evidence)) +
                           "</figcaption></figure>\n");
    }
    return {};
}

std::string fitness_part(const ReportData& report) {
    const Language& say = report.language;
    std::vector<std::vector<std::string>> rows;
    const int channels = static_cast<int>(report.account->recording().channels.size());
    for (const Fitness wanted : {Fitness::unfit, Fitness::doubtful, Fitness::fit})
        for (int c = 0; c < channels; ++c) {
            const FitnessVerdict verdict = fitness_of(c, report.account->findings);
            if (verdict.fitness == wanted && rows.size() < most_channels)
                rows.push_back(
                    {name_in(report, c), say.value(name_of(wanted)), say.phrase(verdict.why)});
        }
    std::vector<std::string> heads;
    for (const char* name : {"channel", "fitness", "why"})
        heads.push_back(say.column(name));
    return section("fitness", say["fitness"], html_table(heads, rows, say["fitness"]));
}

std::string left_out_part(const ReportData& report) {
    const Language& say = report.language;
    std::string items;
    std::size_t count = 0;
    for (const NotAnalysed& one : report.account->night.not_analysed)
        if (++count <= most_left_out)
            items += element("li", (one.file.empty() ? say.phrase(one.what)
                                                     : one.file + ": " + say.phrase(one.what)) +
                                       (one.from_s ? ", " + number_text(*one.from_s, 1) : "") +
                                       (one.to_s ? "-" + number_text(*one.to_s, 1) + " s" : "") +
                                       ", " + say.phrase(one.why));
    if (items.empty())
        return section("left-out", say["not_analysed"], element("p", say["nothing_left_out"]));
    if (count > most_left_out)
        items +=
            element("li", say.filled("more_rows", {{"count", std::to_string(count - most_left_out)},
                                                   {"file", "report.json"}}));
    return section("left-out", say["not_analysed"], "<ul>" + items + "</ul>\n");
}

std::string limits_part(const ReportData& report) {
    const Language& say = report.language;
    return section("limits", say["limits"], element("p", say["limits_text"])) +
           section("signed", say["signed"],
                   "<div class=\"sign\"><span>" + escape_markup(say["sign_name"]) +
                       "</span><span>" + escape_markup(say["sign_date"]) + "</span><span>" +
                       escape_markup(say["sign_signature"]) + "</span></div>\n");
}

} // namespace

std::string summary_html(const ReportData& report) {
    const Language& say = report.language;
    return fmt::format(
               "<!DOCTYPE html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\">\n"
               "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
               "img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
               "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
               "<title>{}</title><style>{}{}</style></head><body>\n<main>\n"
               "<p class=\"caution\" role=\"note\"><span>{}:</span> {}</p>\n",
               escape_markup(say.code()), escape_markup(say["summary"]), summary_style,
               sheet_style(report), escape_markup(say["caution"]),
               escape_markup(say["caution_text"])) +
           session_heading(report) + finds_part(report) + overview_part(report) +
           "<div class=\"second\"><div class=\"pair\">" + map_part(report) + fitness_part(report) +
           "</div>" + left_out_part(report) + limits_part(report) +
           "</div>\n</main></body></html>\n";
}

} // namespace lull
