// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_events.hpp"

#include "picture/png.hpp"
#include "picture/rank_plot.hpp"
#include "picture/text.hpp"
#include "picture/time_line.hpp"
#include "recording/start_time.hpp"
#include "report/caution.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/markup.hpp"
#include "report/language_en.hpp"
#include "report/page.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

namespace say = language;

std::string name_in(const ReportData& report, int channel) {
    return cell_text(channel_cell(*report.provenance.recording, channel), 0);
}

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
    const auto found = std::ranges::find(event.arrivals, event.strongest, &Arrival::channel);
    if (found == event.arrivals.end() || !found->snr_db) return {};
    return number_text(*found->snr_db, 1);
}

std::string players(const ReportData& report, const Event& event) {
    std::string html;
    for (const Excerpt& excerpt : report.excerpts) {
        if (excerpt.event != event.number) continue;
        std::string what;
        for (const int channel : excerpt.channels)
            what += (what.empty() ? "" : ", ") + name_in(report, channel);
        if (excerpt.kind == ExcerptKind::mix) what = std::string(say::mix) + ": " + what;
        if (excerpt.kind == ExcerptKind::pair) what = std::string(say::pair) + ": " + what;
        const std::string words =
            fmt::format("{} ({} {} dB)", what, say::gain, number_text(excerpt.gain_db, 1));
        html += fmt::format("<p>{0}<br><audio controls preload=\"none\" aria-label=\"{0}\" "
                            "src=\"excerpts/{1}\"></audio> <a href=\"excerpts/{1}\">{1}</a></p>\n",
                            escape_markup(words), escape_markup(excerpt.file));
    }
    return html;
}

std::string pictures(const ReportData& report, const Event& event) {
    std::string html;
    for (const EventPicture& picture : report.pictures) {
        if (picture.event != event.number) continue;
        const std::string words = fmt::format(
            "{}, {}: {}-{} s, 0-{} Hz, {}", say::spectrogram, name_in(report, picture.channel),
            number_text(picture.from_s, 2), number_text(picture.to_s, 2),
            number_text(picture.high_hz, 0), say::dark_is_loud);
        html += fmt::format("<figure><img alt=\"{0}\" src=\"data:image/png;base64,{1}\">"
                            "<figcaption>{0}</figcaption></figure>\n",
                            escape_markup(words), to_base64(picture.png));
    }
    return html;
}

/// A picture for each kind and unit of channel: others cannot be set against each other.
std::vector<std::string> ranks(const ReportData& report, const Event& event) {
    std::vector<std::pair<ChannelKind, std::string>> groups;
    for (const RankRow& row : report.ranking) {
        const std::pair group(row.kind, row.level_unit);
        if (row.event == event.number && row.rank && row.peak_energy_db &&
            std::ranges::find(groups, group) == groups.end())
            groups.push_back(group);
    }
    std::vector<std::string> plots;
    for (const auto& [kind, unit] : groups) {
        std::vector<RankDot> dots;
        for (const RankRow& row : report.ranking)
            if (row.event == event.number && row.kind == kind && row.level_unit == unit &&
                row.rank && row.peak_energy_db)
                dots.push_back({name_in(report, row.channel), *row.peak_energy_db,
                                row.sigma_db.value_or(0.0)});
        std::ranges::stable_sort(dots, std::greater(), &RankDot::level_db);
        plots.push_back(rank_plot_svg(dots, fmt::format("{}: {}", say::ranks, name_of(kind)),
                                      fmt::format("{}, {}", say::ranks_axis, unit)));
    }
    return plots;
}

std::string delays(const ReportData& report, const Event& event) {
    std::vector<std::vector<std::string>> rows;
    for (const DelayEstimate& delay : report.delays) {
        if (delay.event != event.number) continue;
        rows.push_back({name_in(report, delay.channel_a), name_in(report, delay.channel_b),
                        number_text(delay.delay_s, 6),
                        delay.usable ? number_text(delay.sigma_s, 6) : std::string(),
                        number_text(delay.correlation, 2),
                        delay.usable ? say::delay_usable
                                     : fmt::format("{}: {}", say::delay_refused, delay.reason)});
    }
    if (rows.empty()) return {};
    return element("h4", say::delays) +
           html_table({"channel_a", "channel_b", "delay_s", "sigma_s", "correlation", "usable"},
                      rows);
}

/// Whether the event's sound is in the folder.
bool is_shown(const ReportData& report, const Event& event) {
    return std::ranges::find(report.sounds, event.number, &SoundScript::event) !=
           report.sounds.end();
}

std::string block(const ReportData& report, const Event& event) {
    std::string html =
        fmt::format("<article id=\"event-{0}\" data-number=\"{0}\"><h3>{1} {0}: {2}, {3} s, {4} "
                    "{5}</h3>\n",
                    event.number, say::event, name_of(event.kind), number_text(event.onset_s, 3),
                    say::confidence, number_text(event.confidence, 2));
    html += element("p", event.why);
    if (!is_shown(report, event)) html += element("p", say::left_out);
    html += players(report, event) + pictures(report, event);
    for (const std::string& plot : ranks(report, event))
        html += plot;
    html += delays(report, event);
    return html + "</article>\n";
}

} // namespace

std::string heard_section(const ReportData& report) {
    if (report.events.empty()) return section("heard", say::heard, element("p", no_event_text));
    std::vector<std::vector<std::string>> rows;
    for (const std::size_t i : most_deserving_first(report.events)) {
        if (rows.size() == most_rows_shown) break;
        const Event& event = report.events[i];
        rows.push_back({fmt::format("{}", event.number), name_of(event.kind),
                        number_text(event.onset_s, 3),
                        clock_text(report.provenance.recording->start, event.onset_s),
                        name_in(report, event.strongest), fmt::format("{}", event.arrivals.size()),
                        snr_text(event), number_text(event.confidence, 2), event.why});
    }
    std::string body =
        element("p", say::order) +
        html_table({say::event, say::kind, std::string(say::onset) + ", s", say::clock,
                    say::channel, say::channels, say::snr, say::confidence, say::why},
                   rows);
    if (report.events.size() > rows.size())
        body += element("p", fmt::format("{} {} events.csv", report.events.size() - rows.size(),
                                         say::more_rows));
    return section("heard", say::heard, body);
}

std::string time_line_picture(const ReportData& report) {
    TimeLine line{report.from_s, report.to_s, report.courses, {}, report.quiet};
    for (const Event& event : report.events)
        line.marks.push_back({event.onset_s, event.end_s, sign_of(event.kind), event.strongest,
                              fmt::format("{} {}: {}, {} s", say::event, event.number,
                                          name_of(event.kind), number_text(event.onset_s, 2))});
    return time_line_svg(line, {say::time_line, say::time_axis, say::level_axis});
}

std::string time_line_section(const ReportData& report) {
    return section("time-line", say::time_line,
                   element("p", say::time_line_about) + "<div class=\"wide static\">" +
                       time_line_picture(report) + "</div>\n");
}

std::vector<std::pair<std::string, std::string>> page_pictures(const ReportData& report) {
    std::vector<std::pair<std::string, std::string>> files{
        {"time-line.svg", time_line_picture(report)}};
    for (const EventPicture& picture : report.pictures)
        files.emplace_back(fmt::format("event-{:03}-spectrogram.png", picture.event), picture.png);
    for (const Event& event : report.events) {
        int number = 0;
        for (const std::string& plot : ranks(report, event))
            files.emplace_back(fmt::format("event-{:03}-ranks-{}.svg", event.number, ++number),
                               plot);
    }
    return files;
}

std::string details_section(const ReportData& report) {
    if (report.events.empty()) return {};
    std::string blocks;
    std::size_t shown = 0;
    for (const std::size_t i : most_deserving_first(report.events))
        if (shown++ < most_blocks_shown) blocks += block(report, report.events[i]);
    return section("details", say::details, blocks);
}

} // namespace lull
