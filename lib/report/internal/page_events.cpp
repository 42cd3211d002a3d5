// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_events.hpp"

#include "detect/strength.hpp"
#include "picture/axis.hpp"
#include "picture/text.hpp"
#include "picture/time_line.hpp"
#include "recording/start_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/markup.hpp"
#include "report/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace lull {
namespace {

/// Rows of what was heard that stand in the page as it opens. The script adds the others, which
/// take longer to lay out than all else of an hour's page.
constexpr std::size_t rows_at_once = 60;

Sign sign_of(EventKind kind) {
    switch (kind) {
    case EventKind::tapping:
        return Sign::square;
    case EventKind::voice_like:
        return Sign::ring;
    case EventKind::horn:
        return Sign::flag;
    case EventKind::other:
        break;
    }
    return Sign::cross;
}

std::string snr_text(const Event& event) {
    return cell_text(snr_cell(snr_of(event)), 1);
}

/// One row of what was heard; its number leads to the event's own block, where there is one.
std::string heard_row(const ReportData& report, const Event& event, bool has_block) {
    const Language& say = report.language;
    std::string row = "<tr><th scope=\"row\">";
    row += has_block ? fmt::format("<a href=\"#event-{0}\">{0}</a>", event.number)
                     : fmt::format("{}", event.number);
    row += "</th>";
    for (const std::string& cell :
         {say.value(name_of(event.kind)), number_text(event.onset_s, 3),
          clock_text(report.provenance.recording->start, event.onset_s),
          name_in(report, event.strongest), fmt::format("{}", event.arrivals.size()),
          snr_text(event), number_text(event.confidence, 2), say.phrase(event.why)})
        row += "<td>" + escape_markup(cell) + "</td>";
    return row + "</tr>\n";
}

std::vector<std::string> heard_heads(const Language& say) {
    std::vector<std::string> heads;
    for (const char* name : {"event", "kind", "onset_s", "clock", "channel", "channels", "snr_db",
                             "confidence", "why"})
        heads.push_back(say.column(name));
    return heads;
}

/// The first few to listen to, a series as one and not all of one kind: what a reviewer with a
/// minute needs.
std::string first_few(const ReportData& report, const std::vector<std::size_t>& order) {
    constexpr std::size_t few = 6;
    constexpr int most_of_a_kind = 3;
    std::map<EventKind, int> of_kind;
    const Language& say = report.language;
    std::string items;
    std::vector<int> series;
    std::size_t count = 0;
    for (std::size_t k = 0; k < order.size() && count < few; ++k) {
        const Event& event = report.events[order[k]];
        if (event.hail || (event.confidence < headline_confidence && !is_strong_blow(event))) break;
        if (event.series && std::ranges::find(series, *event.series) != series.end()) continue;
        if (++of_kind[event.kind] > most_of_a_kind) continue;
        if (event.series) series.push_back(*event.series);
        ++count;
        const auto taps = std::ranges::count_if(report.events, [&](const Event& e) {
            return event.series && e.series == event.series && !e.hail;
        });
        items += fmt::format(
            "<li><a href=\"#event-{}\">{}</a></li>\n", event.number,
            escape_markup(say.filled(taps > 1 ? "first_series" : "first_event",
                                     {{"kind", say.value(name_of(event.kind))},
                                      {"count", std::to_string(taps)},
                                      {"onset", moment_text(report, event.onset_s)},
                                      {"channel", name_in(report, event.strongest)},
                                      {"confidence", number_text(event.confidence, 2)}})));
    }
    return items.empty() ? items : element("p", say["first_few"]) + "<ol>\n" + items + "</ol>\n";
}

} // namespace

std::string name_in(const ReportData& report, int channel) {
    return cell_text(channel_cell(*report.provenance.recording, channel), 0);
}

std::string moment_text(const ReportData& report, double time_s) {
    const std::string clock = clock_text(report.provenance.recording->start, time_s);
    const std::size_t time = clock.find('T');
    return time == std::string::npos ? time_label(time_s, 1) : clock.substr(time + 1, 8);
}

std::string heard_section(const ReportData& report) {
    const Language& say = report.language;
    const std::vector<std::size_t> order = most_deserving_first(report.events);
    const std::size_t blocks = events_shown(report.events);
    const auto finds = order.size() - static_cast<std::size_t>(report.counts.of_hails);
    if (finds == 0) return section("heard", say["heard"], element("p", say["none_heard"]));
    std::string rows, rest;
    std::size_t count = 0;
    for (std::size_t k = 0; k < order.size() && count < most_rows_shown; ++k) {
        const Event& event = report.events[order[k]];
        if (event.hail) continue;
        (count++ < rows_at_once ? rows : rest) += heard_row(report, event, k < blocks);
    }
    const std::vector<std::string> heads = heard_heads(say);
    std::string body = first_few(report, order) + element("p", say["order"]) +
                       html_table(heads, rows, say["heard"]);
    if (!rest.empty())
        body +=
            "<div class=\"rest\">" + for_later(html_table(heads, rest, say["heard"])) + "</div>\n";
    if (finds > count)
        body += element("p", say.filled("more_rows", {{"count", std::to_string(finds - count)},
                                                      {"file", "events.csv"}}));
    return section("heard", say["heard"], body);
}

std::string hail_events_table(const ReportData& report) {
    const std::vector<std::size_t> order = most_deserving_first(report.events);
    const std::size_t blocks = events_shown(report.events);
    std::string rows;
    std::size_t count = 0;
    for (std::size_t k = 0; k < order.size() && count < most_rows_shown; ++k) {
        const Event& event = report.events[order[k]];
        if (!event.hail) continue;
        rows += heard_row(report, event, k < blocks);
        ++count;
    }
    const std::string name = report.language["hail_events"];
    return rows.empty() ? rows
                        : element("p", name) + html_table(heard_heads(report.language), rows, name);
}

std::string time_line_picture(const ReportData& report) {
    const Language& say = report.language;
    TimeLine line{report.from_s, report.to_s, report.courses, {}, report.quiet};
    const std::vector<std::size_t> order = most_deserving_first(report.events);
    for (std::size_t k = 0; k < std::min(order.size(), most_events_marked); ++k) {
        const Event& event = report.events[order[k]];
        line.marks.push_back(
            {event.onset_s, event.end_s, sign_of(event.kind), event.strongest,
             say.filled("event_mark", {{"event", std::to_string(event.number)},
                                       {"kind", say.value(name_of(event.kind))},
                                       {"onset", number_text(event.onset_s, 2)}})});
    }
    return time_line_svg(line, {say["time_line"], say["time_axis"], say["level_axis"]});
}

std::string time_line_section(const ReportData& report) {
    const Language& say = report.language;
    const std::string not_marked =
        report.events.size() > most_events_marked
            ? element("p",
                      say.filled("not_marked", {{"count", std::to_string(most_events_marked)},
                                                {"all", std::to_string(report.events.size())}}))
            : std::string();
    return section(
        "time-line", say["time_line"],
        element("p", say["time_line_about"]) + not_marked +
            for_later("<div class=\"wide static\">" + time_line_picture(report) + "</div>\n"));
}

std::vector<PageFile> page_pictures(const ReportData& report) {
    std::vector<PageFile> files{{"time-line.svg", time_line_picture(report)}};
    for (const EventPicture& picture : report.pictures)
        files.emplace_back(fmt::format("event-{:03}-spectrogram.png", picture.event), picture.png);
    for (const Event& event : report.events) {
        const std::string figure = event_figure(report, event);
        if (!figure.empty())
            files.emplace_back(fmt::format("event-{:03}.svg", event.number), figure);
        int number = 0;
        for (const RankFigure& plot : rank_figures(report, event))
            files.emplace_back(fmt::format("event-{:03}-ranks-{}.svg", event.number, ++number),
                               plot.svg);
    }
    return files;
}

} // namespace lull
