// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/score_card.hpp"

#include "report/caution.hpp"
#include "report/internal/grade_words.hpp"
#include "report/internal/markup.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

/// Margins fit both sizes: A4 is taller, Letter is wider; nothing relies on colour or background.
constexpr const char* style = R"(
@page { margin: 12mm 15mm }
body { font: 10pt/1.3 serif; color: #000; background: #fff; max-width: 180mm; margin: 0 auto }
h1 { font-size: 15pt; margin: 0 0 1mm } h2 { font-size: 11pt; margin: 3.5mm 0 1mm; break-after: avoid }
p { margin: 1mm 0 } th[scope=row] { font-weight: normal; width: 82mm }
table { border-collapse: collapse; width: 100% } th, td { text-align: left; vertical-align: top;
 padding: .6mm 2mm .6mm 0; border-bottom: .2mm solid #000 } tr { break-inside: avoid }
 tr:first-child { break-after: avoid }
td.n, th.n { text-align: right; white-space: nowrap; padding-right: 4mm } a { color: #000 }
article + article { break-before: page } @media screen { article + article { margin-top: 20mm } }
.caution { border: .5mm solid #000; padding: 2mm 3mm; break-inside: avoid }
)";

std::string row(const std::string& what, const std::string& value) {
    return fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td></tr>\n", what,
                       escape_markup(value));
}

std::string scores(const ListenerGrade& g) {
    const SheetTally& t = g.tally;
    std::string html = "<h2>Scores</h2>\n<table>\n";
    html += row("Lines for what was written already", std::to_string(t.repeats));
    html += row("Recall: share of the events that was heard", estimate_text(t.recall, 2));
    html += row("Precision: share of the lines that was right", estimate_text(t.precision, 2));
    html += row("F: both in one", estimate_text(t.f, 2));
    const auto stated = [](int count, const Estimate& e, int decimals) {
        return count == 0 ? "none stated" : estimate_text(e, decimals);
    };
    html += row(fmt::format("Right kind, of {} stated", t.kind_stated),
                stated(t.kind_stated, t.kind, 2));
    html += row(fmt::format("Right channel, of {} stated", t.channel_stated),
                stated(t.channel_stated, t.channel, 2));
    html += row(fmt::format("Place: median error in metres, of {} stated", t.places),
                stated(t.places, t.place_error_m, 1));
    html += row(fmt::format("d&#8242;, over {} listening slots", t.slots_with + t.slots_without),
                estimate_text(t.detection.d_prime, 2));
    html += row("Criterion c: positive, says yes seldom", estimate_text(t.detection.criterion, 2));
    html += row("Half of the events are heard at an SNR of [dB]", threshold_text(g.curve));
    html += row("Points by the weights file",
                fmt::format("{:.1f} of {:.1f}", t.points, t.points_possible));
    return html +
           "</table>\n<p>In brackets: 95 % intervals. Where those of two people overlap, this "
           "exercise does not tell them apart.</p>\n";
}

std::string to_hear(const ExcerptReference& excerpt, const std::string& folder) {
    const std::string stretch = minutes_text(excerpt.from_s) + " to " + minutes_text(excerpt.to_s);
    if (folder.empty() || excerpt.name.empty()) return stretch;
    return fmt::format("<a href=\"{0}/{1}.flac\">{1}.flac</a>, {2}", escape_markup(folder),
                       escape_markup(excerpt.name), stretch);
}

std::string misses(const Grade& grade, const ListenerGrade& g, const std::string& folder) {
    if (g.misses.empty()) return "<h2>Not heard</h2>\n<p>None.</p>\n";
    std::string html = "<h2>Not heard</h2>\n<table>\n<tr><th>Time</th><th>Kind</th><th>Channel</th>"
                       "<th class=\"n\">SNR [dB]</th><th class=\"n\">Others who heard it</th>"
                       "<th>To hear again</th></tr>\n";
    for (const Miss& miss : g.misses)
        for (const EventGrade& e : grade.events)
            if (e.event.number == miss.event)
                html +=
                    fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"n\">{}</td>"
                                "<td class=\"n\">{} of {}</td><td>{}</td></tr>\n",
                                minutes_text(e.event.time_s), name_of(e.event.kind),
                                escape_markup(miss.excerpt.channel), known_text(e.event.snr_db, 1),
                                e.heard, e.listeners - 1, to_hear(miss.excerpt, folder));
    return html + "</table>\n";
}

std::string false_calls(const ListenerGrade& g, const std::string& folder) {
    std::string rows;
    for (const GradedAnswer& a : g.answers)
        if (a.outcome == Outcome::false_call)
            rows +=
                fmt::format("<tr><td class=\"n\">{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n",
                            a.answer.line, minutes_text(a.time_s), escape_markup(a.really_there),
                            a.excerpt ? to_hear(*a.excerpt, folder) : "");
    if (rows.empty()) return "<h2>False calls</h2>\n<p>None.</p>\n";
    return "<h2>False calls</h2>\n<table>\n<tr><th class=\"n\">Line</th><th>Moment</th><th>What "
           "was "
           "really there</th><th>To hear again</th></tr>\n" +
           rows + "</table>\n";
}

std::string faults(const ListenerGrade& g) {
    if (g.faults.empty()) return "";
    std::string html =
        "<h2>Not read</h2>\n<table>\n<tr><th class=\"n\">Line</th><th>What</th></tr>\n";
    for (const SheetFault& fault : g.faults)
        html += fmt::format("<tr><td class=\"n\">{}</td><td>{}{}</td></tr>\n", fault.line,
                            escape_markup(fault.what),
                            fault.line_lost ? "; the line is not graded" : "; the rest is graded");
    return html + "</table>\n";
}

/// One trainee's card: all that is between the page's frame.
std::string card(const Grade& grade, const ListenerGrade& listener, std::string_view marked,
                 const std::string& excerpts) {
    std::string html = "<article>\n<h1>Score card " + escape_markup(listener.name) + "</h1>\n";
    if (!grade.exercise.empty()) html += element("p", "Exercise: " + grade.exercise);
    if (!marked.empty()) html += element("p", marked);
    html += fmt::format("<p class=\"caution\"><strong>{}</strong></p>\n", caution_text);
    html += element("p", listener.name + " " + listener_sentences(listener));
    html += scores(listener) + "<h2>Clock</h2>\n" + element("p", clock_sentence(listener)) +
            misses(grade, listener, excerpts) + false_calls(listener, excerpts) + faults(listener);
    return html + "<p>Graded by lull " LULL_VERSION ".</p>\n</article>\n";
}

std::string page_of(std::string_view title, const std::string& cards) {
    return fmt::format("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                       "<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n<main>\n{}</main>\n"
                       "</body>\n</html>\n",
                       escape_markup(title), style, cards);
}

} // namespace

std::string score_card(const Grade& grade, const ListenerGrade& listener, std::string_view marked,
                       const std::string& excerpts) {
    return page_of("Score card " + listener.name, card(grade, listener, marked, excerpts));
}

std::string all_score_cards(const Grade& grade, std::string_view marked,
                            const std::string& excerpts) {
    std::string cards;
    for (const ListenerGrade& listener : grade.listeners)
        cards += card(grade, listener, marked, excerpts);
    return page_of("Score cards", cards.empty() ? element("h1", "No sheet was graded") : cards);
}

} // namespace lull
