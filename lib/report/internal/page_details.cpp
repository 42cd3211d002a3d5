// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything about one find: sound, pictures, its events, ranks, delays, place, and the log of that
// time.
#include "report/csv.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/evidence_words.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_finds.hpp"
#include "report/pictures/rank_plot.hpp"
#include "report/pictures/text.hpp"
#include "report/tables_finds.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace lull {
namespace {

constexpr std::size_t most_delays = 45; ///< of an event, all pairs of ten channels
constexpr std::size_t most_events_told = 40;
constexpr double log_before_s = 5.0, log_after_s = 10.0;

std::string players(const ReportData& report, const Find& find) {
    const Language& say = report.language;
    std::string html;
    for (const Excerpt& excerpt : report.excerpts) {
        if (excerpt.number != find.number) continue;
        std::string what;
        for (const int channel : excerpt.channels)
            what += (what.empty() ? "" : ", ") + name_in(report, channel);
        if (excerpt.kind == ExcerptKind::mix) what = say.filled("mix", {{"channels", what}});
        if (excerpt.kind == ExcerptKind::pair) what = say.filled("pair", {{"channels", what}});
        const std::string words =
            say.filled("excerpt", {{"channels", what}, {"gain", number_text(excerpt.gain_db, 1)}});
        html += fmt::format("<p>{0}<br><audio controls preload=\"none\" aria-label=\"{0}\" "
                            "src=\"excerpts/{1}\"></audio> <a href=\"excerpts/{1}\">{1}</a></p>\n",
                            escape_markup(words), escape_markup(excerpt.file));
    }
    return html;
}

/// Delays round three channels add up to nothing when they are of one sound. The three are those
/// that are known best. \return a sentence; empty where there are no three
std::string closure(const ReportData& report, const std::vector<const DelayEstimate*>& delays) {
    std::map<std::pair<int, int>, const DelayEstimate*> of_pair;
    for (const DelayEstimate* delay : delays)
        if (delay->usable) of_pair[{delay->channel_a, delay->channel_b}] = delay;
    double best_s = INFINITY, sum_s = 0.0;
    std::string names;
    for (const auto& [ab, first] : of_pair)
        for (const auto& [bc, second] : of_pair) {
            const auto direct = of_pair.find({ab.first, bc.second});
            if (ab.second != bc.first || direct == of_pair.end()) continue;
            const double sigma_s =
                std::hypot(first->sigma_s, second->sigma_s, direct->second->sigma_s);
            if (!(sigma_s < best_s)) continue;
            best_s = sigma_s;
            sum_s = first->delay_s + second->delay_s - direct->second->delay_s;
            names = fmt::format("{}, {}, {}", name_in(report, ab.first), name_in(report, ab.second),
                                name_in(report, bc.second));
        }
    if (names.empty()) return {};
    return report.language.filled("closure", {{"channels", names},
                                              {"sum", number_text(sum_s * 1e3, 3)},
                                              {"sigma", number_text(best_s * 1e3, 3)}});
}

std::string delays(const ReportData& report, const Event& event) {
    const Language& say = report.language;
    std::vector<const DelayEstimate*> own;
    for (const DelayEstimate& delay : report.account->delays)
        if (delay.event == event.number) own.push_back(&delay);
    if (own.empty()) return {};
    std::vector<std::vector<std::string>> rows;
    for (const DelayEstimate* delay : own)
        if (rows.size() < most_delays)
            rows.push_back({name_in(report, delay->channel_a), name_in(report, delay->channel_b),
                            number_text(delay->delay_s, 6),
                            delay->usable ? number_text(delay->sigma_s, 6) : std::string(),
                            number_text(delay->correlation, 2),
                            delay->usable ? say["delay_usable"]
                                          : say.filled("delay_refused",
                                                       {{"reason", say.phrase(delay->reason)}})});
    std::vector<std::string> heads;
    for (const char* name :
         {"channel_a", "channel_b", "delay_s", "sigma_s", "correlation", "usable"})
        heads.push_back(say.column(name));
    std::string html = element("h4", say["delays"]) + html_table(heads, rows, say["delays"]);
    if (own.size() > rows.size())
        html += element(
            "p", say.filled("more_rows", {{"count", std::to_string(own.size() - rows.size())},
                                          {"file", "delays.csv"}}));
    const std::string closed = closure(report, own);
    return closed.empty() ? html : html + element("p", closed);
}

/// A link to the map, of the find's best event or of its series.
std::string place_link(const ReportData& report, const Find& find) {
    const std::string alone = std::to_string(find.best),
                      series = find.series ? fmt::format("series {}", *find.series) : alone;
    for (const PlacePicture& place : report.places)
        if (place.name == alone || place.name == series)
            return fmt::format("<p><a href=\"#{}\">{}</a>: {}</p>\n", place_anchor(place.name),
                               escape_markup(report.language["places"]),
                               escape_markup(report.language.phrase(place.evidence)));
    return {};
}

std::string log_then(const ReportData& report, const Find& find) {
    std::string entries;
    for (const LogRow& row : report.account->log)
        if (row.time_s >= find.from_s - log_before_s && row.time_s <= find.to_s + log_after_s)
            entries += fmt::format("{}{} s {}{}{}", entries.empty() ? "" : "; ",
                                   number_text(row.time_s, 1), report.language.value(row.action),
                                   row.text.empty() ? "" : ": ", row.text);
    return entries.empty()
               ? entries
               : element("p", report.language.filled("log_then", {{"entries", entries}}));
}

/// The events that the find is made of.
std::string events_of(const ReportData& report, const Find& find) {
    if (find.events.size() < 2) return {};
    const Language& say = report.language;
    std::vector<std::string> heads;
    for (const char* name : {"event", "onset_s", "channel", "snr_db", "confidence"})
        heads.push_back(say.column(name));
    std::vector<std::vector<std::string>> rows;
    for (const int number : find.events) {
        if (rows.size() == most_events_told) break;
        const Event& event = report.account->event(number);
        rows.push_back({fmt::format("{}", number), number_text(event.onset_s, 3),
                        name_in(report, event.strongest), cell_text(snr_cell(snr_of(event)), 1),
                        number_text(event.confidence, 2)});
    }
    std::string html = element("h4", say["events_of"]) + html_table(heads, rows, say["events_of"]);
    if (find.events.size() > rows.size())
        html +=
            element("p", say.filled("more_rows",
                                    {{"count", std::to_string(find.events.size() - rows.size())},
                                     {"file", "events.csv"}}));
    return html;
}

std::optional<double> onset_on(const Event& event, int channel) {
    const auto found = std::ranges::find(event.arrivals, channel, &Arrival::channel);
    return found == event.arrivals.end() ? std::nullopt : std::optional(found->onset_s);
}

} // namespace

std::string place_anchor(const std::string& name) {
    std::string anchor = "place-" + name;
    std::ranges::replace(anchor, ' ', '-');
    return anchor;
}

std::string find_figure(const ReportData& report, const Find& find) {
    const Language& say = report.language;
    const Event& event = report.account->event(find.best);
    const auto found = std::ranges::find(report.pictures, find.number, &FindPicture::find);
    if (found == report.pictures.end()) return {};
    EventPlot plot;
    plot.title = say.filled("find_picture", {{"find", std::to_string(find.number)},
                                             {"kind", say.value(name_of(find.kind))},
                                             {"channel", name_in(report, found->channel)},
                                             {"high", number_text(found->high_hz, 0)},
                                             {"range", number_text(found->range_db, 0)},
                                             {"from", number_text(found->from_s, 2)},
                                             {"to", number_text(found->to_s, 2)}});
    plot.from_s = found->from_s;
    plot.to_s = found->to_s;
    plot.high_hz = found->high_hz;
    plot.spectrogram = found->png;
    plot.spectrogram_from_s = found->png_from_s;
    plot.spectrogram_to_s = found->png_to_s;
    plot.spectrogram_name = name_in(report, found->channel);
    plot.onset_s = onset_on(event, found->channel);
    for (const auto& [channel, wave] : found->waves)
        plot.lanes.push_back({name_in(report, channel), wave, onset_on(event, channel)});
    plot.time_axis = say["seconds_axis"];
    plot.frequency_axis = say["frequency_axis"];
    return event_plot_svg(plot);
}

std::vector<RankFigure> rank_figures(const ReportData& report, const Event& event) {
    const Language& say = report.language;
    // Others cannot be set against each other.
    std::vector<std::pair<ChannelKind, std::string>> groups;
    for (const RankRow& row : report.account->ranking) {
        if (row.event != event.number) continue;
        const std::pair group(row.kind, row.level_unit);
        if (row.rank && row.peak_energy_db && std::ranges::find(groups, group) == groups.end())
            groups.push_back(group);
    }
    std::vector<RankFigure> plots;
    for (const auto& [kind, unit] : groups) {
        std::vector<RankDot> dots;
        for (const RankRow& row : report.account->ranking)
            if (row.event == event.number && row.kind == kind && row.level_unit == unit &&
                row.rank && row.peak_energy_db)
                dots.push_back({name_in(report, row.channel), *row.peak_energy_db,
                                row.sigma_db.value_or(0.0)});
        std::ranges::stable_sort(dots, std::greater(), &RankDot::level_db);
        const std::string title = say.filled("ranks", {{"kind", say.value(name_of(kind))}});
        plots.push_back(
            {title,
             rank_plot_svg(dots, title, say.filled("ranks_axis", {{"unit", say.phrase(unit)}}))});
    }
    return plots;
}

std::string find_block(const ReportData& report, const Find& find) {
    const Language& say = report.language;
    const Event& best = report.account->event(find.best);
    // On paper only what counts: the table lists all.
    std::string html = fmt::format("<article id=\"find-{0}\" data-number=\"{0}\"{1}>\n",
                                   find.number, is_foremost(find) ? "" : " class=\"lesser\"");
    html += element("h3", say.filled("find", {{"find", std::to_string(find.number)},
                                              {"what", form_words(find, say)},
                                              {"moment", moment_text(report, find.from_s)},
                                              {"onset", number_text(find.from_s, 3)},
                                              {"channel", name_in(report, find.channel)},
                                              {"confidence", number_text(find.confidence, 2)}}));
    html += element("p", evidence_sentence(find, *report.account, say));
    const std::string judged = judged_text(*report.account, find, say);
    if (!judged.empty()) html += element("p", say.filled("judged", {{"judgements", judged}}));
    std::string inner = players(report, find);
    if (std::ranges::find(report.excerpts, find.number, &Excerpt::number) == report.excerpts.end())
        inner += element(
            "p", say[report.account->disclosure.may_hear(find.from_s, find.to_s) ? "not_cut"
                                                                                 : "left_out"]);
    const std::string figure = find_figure(report, find);
    if (!figure.empty())
        inner +=
            "<figure>" +
            wide_box(figure, say.filled("find_mark", {{"find", std::to_string(find.number)},
                                                      {"kind", say.value(name_of(find.kind))},
                                                      {"onset", number_text(find.from_s, 2)}})) +
            "</figure>\n";
    for (const auto& [title, plot] : rank_figures(report, best))
        inner += "<figure class=\"ranks\"><figcaption>" + escape_markup(title) + "</figcaption>" +
                 plot + "</figure>\n";
    inner += events_of(report, find) + delays(report, best) + place_link(report, find) +
             log_then(report, find);
    return html + for_later(inner) + "</article>\n";
}

} // namespace lull
