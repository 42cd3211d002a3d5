// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_finds.hpp"

#include "recording/start_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/evidence_words.hpp"
#include "report/internal/markup.hpp"
#include "report/page.hpp"
#include "report/pictures/axis.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/text.hpp"
#include "report/tables_finds.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

/// One row of what was heard; its number leads to the find's own block, where there is one.
std::string find_row_markup(const ReportData& report, const Find& find, bool has_block) {
    const Language& say = report.language;
    std::string row = "<tr><th scope=\"row\">";
    row += has_block ? fmt::format("<a href=\"#find-{0}\">{0}</a>", find.number)
                     : fmt::format("{}", find.number);
    row += "</th>";
    for (const std::string& cell :
         {form_words(find, say), moment_text(report, find.from_s), number_text(find.from_s, 2),
          name_in(report, find.channel), fmt::format("{}", find.channels.size()),
          cell_text(snr_cell(find.snr_db), 1), number_text(find.confidence, 2),
          evidence_sentence(find, *report.account, say), judged_text(*report.account, find, say)})
        row += "<td>" + escape_markup(cell) + "</td>";
    return row + "</tr>\n";
}

} // namespace

std::string name_in(const ReportData& report, int channel) {
    return cell_text(channel_cell(report.account->recording(), channel), 0);
}

std::string moment_text(const ReportData& report, double time_s) {
    const std::string clock = clock_text(report.account->recording().start, time_s);
    const std::size_t time = clock.find('T');
    return time == std::string::npos ? time_label(time_s, 1) : clock.substr(time + 1, 8);
}

std::string finds_table_markup(const ReportData& report, std::size_t most) {
    const Language& say = report.language;
    std::vector<std::string> heads;
    for (const char* name : {"find", "kind", "clock", "onset_s", "channel", "channels", "snr_db",
                             "confidence", "evidence", "judged"})
        heads.push_back(say.column(name));
    const std::vector<Find>& finds = report.account->finds;
    const std::size_t blocks = finds_shown(finds);
    std::string rows;
    for (std::size_t k = 0; k < std::min(finds.size(), most); ++k)
        rows += find_row_markup(report, finds[k], k < blocks);
    std::string body = html_table(heads, rows, say["heard"]);
    if (finds.size() > most)
        body +=
            element("p", say.filled("more_rows", {{"count", std::to_string(finds.size() - most)},
                                                  {"file", "finds.csv"}}));
    return body;
}

std::string finds_section(const ReportData& report) {
    const Language& say = report.language;
    const std::string counts =
        say.filled("find_counts", {{"headline", std::to_string(report.account->counts.headline)},
                                   {"lower", std::to_string(report.account->counts.lower)},
                                   {"events", std::to_string(report.account->counts.events)}});
    if (report.account->finds.empty())
        return section("finds", say["heard"], element("p", say["none_heard"]));
    return section("finds", say["heard"],
                   element("p", counts) + "<div class=\"static\">" + element("p", say["order"]) +
                       finds_table_markup(report, most_rows_shown) + "</div>\n");
}

std::size_t channel_to_show(const ReportData& report) {
    const std::vector<Find>& finds = report.account->finds;
    return finds.empty() ? 0 : static_cast<std::size_t>(finds.front().channel);
}

std::string whole_section(const ReportData& report) {
    const Language& say = report.language;
    const std::size_t channel = channel_to_show(report);
    std::string figure;
    if (channel < report.overview.size() && !report.overview[channel].png.empty())
        figure = fmt::format(
            "<figure class=\"static\"><img class=\"overview\" alt=\"{}\" "
            "src=\"data:image/png;base64,{}\"></figure>\n",
            escape_markup(say.filled("overview_of",
                                     {{"channel", name_in(report, static_cast<int>(channel))}})),
            to_base64(report.overview[channel].png));
    return section("whole", say["whole"], figure);
}

std::vector<PageFile> page_pictures(const ReportData& report) {
    std::vector<PageFile> files;
    for (std::size_t c = 0; c < report.overview.size(); ++c)
        files.emplace_back(fmt::format("overview-{:02}.png", c + 1), report.overview[c].png);
    for (const FindPicture& picture : report.pictures) {
        const Find& find = report.account->finds[static_cast<std::size_t>(picture.find) - 1];
        files.emplace_back(fmt::format("find-{:03}-spectrogram.png", find.number), picture.png);
        files.emplace_back(fmt::format("find-{:03}.svg", find.number), find_figure(report, find));
        int number = 0;
        for (const RankFigure& plot : rank_figures(report, report.account->event(find.best)))
            files.emplace_back(fmt::format("find-{:03}-ranks-{}.svg", find.number, ++number),
                               plot.svg);
    }
    return files;
}

} // namespace lull
