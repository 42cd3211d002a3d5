// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/class_parts.hpp"

#include "grading/class_figures.hpp"
#include "report/internal/grade_words.hpp"
#include "report/internal/markup.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace lull {
namespace {

constexpr const char* program_name = "this program";

/// Everyone who was graded, the program last.
template <typename Visit>
void each_listener(const Grade& grade, Visit visit) {
    for (const ListenerGrade& g : grade.listeners)
        visit(g, g.name);
    if (grade.program) visit(*grade.program, std::string(program_name));
}

/// A share as a dot with its interval, between 0 at the left and 1 at the right.
std::string share_dot(const Estimate& share) {
    if (!share.value) return {};
    constexpr double width = 120.0, inset = 6.0;
    const auto at = [&](double value) { return inset + value * (width - 2.0 * inset); };
    std::string svg =
        fmt::format("<svg class=\"dots\" width=\"{0}\" height=\"14\" viewBox=\"0 0 {0} "
                    "14\" aria-hidden=\"true\"><path opacity=\".35\" d=\"M{1},2v10"
                    "M{2},2v10\"/>",
                    width, at(0.0), at(1.0));
    if (share.low && share.high)
        svg += fmt::format("<path d=\"M{:.1f},7H{:.1f}\"/>", at(*share.low), at(*share.high));
    return svg + fmt::format("<circle cx=\"{:.1f}\" cy=\"7\" r=\"4\"/></svg>", at(*share.value));
}

std::string sound_cell(const ExcerptReference& excerpt, std::string_view what) {
    if (excerpt.name.empty()) return "withheld";
    return fmt::format("<audio controls preload=\"none\" src=\"excerpts/{}.flac\" "
                       "aria-label=\"{}\"></audio>",
                       escape_markup(excerpt.name), escape_markup(what));
}

std::string hearing_cell(const EventHearing& one) {
    const auto cell = [&](const char* look, std::string_view symbol, const std::string& words) {
        return fmt::format("<td class=\"{}\"><span aria-hidden=\"true\">{}</span>&nbsp;{}</td>",
                           look, symbol, escape_markup(words));
    };
    switch (one.hearing) {
    case Hearing::missed:
        return cell("missed", "○", "missed");
    case Hearing::wrong_kind:
        return cell("wrong-kind", "◐",
                    fmt::format("wrong kind: {}", name_of(*one.answer->answer.kind)));
    case Hearing::heard:
        break;
    }
    return cell("heard", "●", one.answer->answer.kind ? "heard" : "heard, kind not stated");
}

std::string event_row(const ClassPage& page, std::size_t event,
                      const std::vector<std::vector<EventHearing>>& hearings) {
    const EventGrade& e = page.grade.events[event];
    std::string html =
        fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td>",
                    e.event.number, minutes_text(e.event.time_s), name_of(e.event.kind),
                    escape_markup(fmt::format("{}", fmt::join(e.event.channels, ", "))),
                    e.event.snr_db ? known_text(e.event.snr_db, 1) : "");
    if (!page.sound.empty())
        html += fmt::format("<td class=\"heard-sound\">{}</td>",
                            sound_cell(e.excerpt, fmt::format("Event {}", e.event.number)));
    html += fmt::format("<td>{} of {}</td>", e.heard, e.listeners);
    for (const auto& of_listener : hearings)
        html += hearing_cell(of_listener[event]);
    return html + "</tr>\n";
}

std::string kinds_text(const PerKind<KindCount>& kinds) {
    std::string text;
    for (const EventKind kind :
         {EventKind::tapping, EventKind::voice_like, EventKind::horn, EventKind::other})
        if (const KindCount& count = of_kind(kinds, kind); count.asked > 0)
            text += fmt::format("{}{} {} of {}", text.empty() ? "" : ", ", name_of(kind),
                                count.heard, count.asked);
    return text;
}

std::string change_text(const LearningPoint& point) {
    if (!point.recall_change.low || !point.recall_change.high) return {};
    if (*point.recall_change.low > 0.0) return "more than at first";
    if (*point.recall_change.high < 0.0) return "less than at first";
    return "may be chance";
}

std::string head_cells(std::initializer_list<const char*> names) {
    std::string html;
    for (const char* name : names)
        html += fmt::format("<th scope=\"col\">{}</th>", name);
    return html;
}

} // namespace

std::string class_statistics(const Grade& grade) {
    std::vector<std::vector<std::string>> rows;
    each_listener(grade, [&](const ListenerGrade& g, const std::string& name) {
        const SheetTally& t = g.tally;
        rows.push_back(
            {name, estimate_text(t.recall, 2), estimate_text(t.precision, 2), estimate_text(t.f, 2),
             estimate_text(t.kind, 2), estimate_text(t.channel, 2),
             estimate_text(t.place_error_m, 1), estimate_text(t.detection.d_prime, 2),
             estimate_text(t.detection.criterion, 2), threshold_text(g.curve),
             fmt::format("{:.1f} of {:.1f}", t.points, t.points_possible), clock_sentence(g)});
    });
    if (grade.listeners.size() > 1) {
        const GroupGrade& all = grade.group;
        rows.push_back({"all trainees", estimate_text(all.recall, 2),
                        estimate_text(all.precision, 2), estimate_text(all.f, 2), "", "",
                        estimate_text(all.place_error_m, 1), "", "", threshold_text(all.curve), "",
                        ""});
    }
    return html_table({"Who", "Recall", "Precision", "F", "Right kind", "Right channel",
                       "Place error [m]", "d′", "Criterion c", "Threshold, SNR [dB]", "Points",
                       "Clock"},
                      rows, "Scores with intervals") +
           "<p class=\"small\">Recall: share of the events that was heard. Precision: share of the "
           "lines that was right. F: both in one. d′ and c: over listening slots; c above 0 says "
           "yes seldom. Threshold: the SNR at which half of the events are heard. In brackets: "
           "95 % intervals.</p>\n";
}

std::string class_events(const ClassPage& page) {
    const Grade& grade = page.grade;
    if (grade.events.empty()) return section("events", "Event by event", element("p", "No event."));
    std::vector<std::vector<EventHearing>> hearings;
    std::string heads = head_cells({"Event", "Time", "Kind", "Channel", "SNR [dB]"});
    if (!page.sound.empty()) heads += "<th scope=\"col\" class=\"heard-sound\">Sound</th>";
    heads += head_cells({"Heard by"});
    each_listener(grade, [&](const ListenerGrade& g, const std::string& name) {
        hearings.push_back(hearings_of(g, grade.events));
        heads += fmt::format("<th scope=\"col\">{}</th>", escape_markup(name));
    });
    std::string rows;
    for (std::size_t e = 0; e < grade.events.size(); ++e)
        rows += event_row(page, e, hearings);
    const std::string sound =
        page.sound.empty()
            ? "No sound: the recording does not lie beside the truth; name it with --recording."
            : "Sound is cut from " + page.sound + ".";
    return section("events", "Event by event",
                   element("p", sound) +
                       wide_box("<table><thead><tr>" + heads + "</tr></thead><tbody>\n" + rows +
                                    "</tbody></table>",
                                "Events by trainees"));
}

std::string class_false_calls(const ClassPage& page) {
    std::string rows;
    each_listener(page.grade, [&](const ListenerGrade& g, const std::string& name) {
        for (const GradedAnswer& a : g.answers) {
            if (a.outcome != Outcome::false_call) continue;
            rows += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td>",
                                escape_markup(name), a.answer.line, minutes_text(a.time_s),
                                a.answer.kind ? name_of(*a.answer.kind) : "",
                                escape_markup(a.really_there));
            if (!page.sound.empty())
                rows += fmt::format(
                    "<td class=\"heard-sound\">{}</td>",
                    sound_cell(a.excerpt.value_or(ExcerptReference{}),
                               fmt::format("False call of {}, line {}", name, a.answer.line)));
            rows += "</tr>\n";
        }
    });
    if (rows.empty()) return section("false-calls", "False calls", element("p", "None."));
    std::string heads =
        head_cells({"Who", "Line", "Time", "Kind written", "What was really there"});
    if (!page.sound.empty()) heads += "<th scope=\"col\" class=\"heard-sound\">Sound</th>";
    return section("false-calls", "False calls",
                   wide_box("<table><thead><tr>" + heads + "</tr></thead><tbody>\n" + rows +
                                "</tbody></table>",
                            "False calls"));
}

std::string class_progress(std::span<const LearningPoint> points) {
    if (points.empty()) return {};
    std::string rows;
    for (const LearningPoint& p : points) {
        const Counts& counts = p.counts;
        rows += fmt::format(
            "<tr><td>{}</td><td>{}</td><td>{}</td><td>{} of {}</td><td>{}</td><td>{}</td>"
            "<td>{}</td><td>{}</td></tr>\n",
            escape_markup(p.listener), p.turn, escape_markup(p.exercise), counts.hits,
            counts.hits + counts.misses, share_dot(p.recall), kinds_text(p.kinds),
            counts.false_calls, change_text(p));
    }
    return section(
        "progress", "Progress",
        element("p", "Share heard, from 0 to 1, with its 95 % interval. Exercises differ in "
                     "difficulty: compare shares between variants of one exercise only.") +
            wide_box("<table><thead><tr>" +
                         head_cells({"Who", "Turn", "Exercise", "Heard", "Share heard", "By kind",
                                     "False calls", "Change since the first"}) +
                         "</tr></thead><tbody>\n" + rows + "</tbody></table>",
                     "Progress over exercises"));
}

std::string class_not_read(const Grade& grade) {
    std::vector<std::vector<std::string>> rows;
    each_listener(grade, [&](const ListenerGrade& g, const std::string& name) {
        for (const SheetFault& fault : g.faults)
            rows.push_back({name, std::to_string(fault.line), fault.what,
                            fault.line_lost ? "not graded" : "graded without it"});
    });
    if (rows.empty()) return {};
    return section("not-read", "Not read",
                   html_table({"Who", "Line", "What", "The line is"}, rows, "Not read"));
}

} // namespace lull
