// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/score_card.hpp"

#include "report/caution.hpp"

#include <fmt/format.h>

#include <cctype>
#include <cmath>

namespace lull {
namespace {

/// Margins fit both sizes: A4 is taller, Letter is wider; nothing relies on colour or background.
constexpr const char* style = R"(
@page { margin: 15mm }
body { font: 10.5pt/1.35 serif; color: #000; background: #fff; max-width: 180mm; margin: 0 auto }
h1 { font-size: 15pt; margin: 0 0 2mm } h2 { font-size: 11.5pt; margin: 5mm 0 1mm; break-after: avoid }
table { border-collapse: collapse; width: 100% } th, td { text-align: left; vertical-align: top;
 padding: .6mm 2mm .6mm 0; border-bottom: .2mm solid #000 } tr { break-inside: avoid }
 tr:first-child { break-after: avoid }
td.n, th.n { text-align: right; white-space: nowrap; padding-right: 4mm } a { color: #000 }
.caution { border: .5mm solid #000; padding: 2mm 3mm; break-inside: avoid }
)";

std::string escaped(const std::string& text) {
    std::string safe;
    for (const char c : text) {
        if (c == '&')
            safe += "&amp;";
        else if (c == '<')
            safe += "&lt;";
        else if (c == '>')
            safe += "&gt;";
        else if (c == '"')
            safe += "&quot;";
        else
            safe += c;
    }
    return safe;
}

std::string minutes(double time_s) {
    const auto tenths = static_cast<long long>(std::llround(time_s * 10.0));
    return fmt::format("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10);
}

std::string number(const std::optional<double>& value, int decimals) {
    return value ? fmt::format("{:.{}f}", *value, decimals) : "not known";
}

std::string with_interval(const Estimate& e, int decimals) {
    if (!e.value) return "not known";
    if (!e.low || !e.high) return number(e.value, decimals) + " (too few for an interval)";
    return fmt::format("{:.{}f} ({:.{}f} to {:.{}f})", *e.value, decimals, *e.low, decimals,
                       *e.high, decimals);
}

std::string row(const std::string& what, const std::string& value) {
    return fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td></tr>\n", what, escaped(value));
}

std::string scores(const ListenerGrade& g) {
    const SheetTally& t = g.tally;
    std::string html = "<h2>Scores</h2>\n<table>\n";
    html += row("Heard", fmt::format("{} of {}", t.counts.hits, t.counts.hits + t.counts.misses));
    html += row("False calls", std::to_string(t.counts.false_calls));
    html += row("Lines for what was written already", std::to_string(t.repeats));
    html += row("Recall: share of the events that was heard", with_interval(t.recall, 2));
    html += row("Precision: share of the lines that was right", with_interval(t.precision, 2));
    html += row("F: both in one", with_interval(t.f, 2));
    const auto stated = [](int count, const Estimate& e, int decimals) {
        return count == 0 ? "none stated" : with_interval(e, decimals);
    };
    html += row(fmt::format("Right kind, of {} stated", t.kind_stated),
                stated(t.kind_stated, t.kind, 2));
    html += row(fmt::format("Right channel, of {} stated", t.channel_stated),
                stated(t.channel_stated, t.channel, 2));
    html += row(fmt::format("Place: median error in metres, of {} stated", t.places),
                stated(t.places, t.place_error_m, 1));
    html += row(fmt::format("d&#8242;, over {} listening slots", t.slots_with + t.slots_without),
                with_interval(t.detection.d_prime, 2));
    html += row("Criterion c: positive, says yes seldom", with_interval(t.detection.criterion, 2));
    html += row("Half of the events are heard at an SNR of [dB]",
                g.curve.why_not.empty() ? with_interval(g.curve.threshold_db, 1)
                                        : "not known: " + g.curve.why_not);
    html += row("Points by the weights file",
                fmt::format("{:.1f} of {:.1f}", t.points, t.points_possible));
    return html +
           "</table>\n<p>In brackets: 95 % intervals. Where those of two people overlap, this "
           "exercise does not tell them apart.</p>\n";
}

std::string clock(const ListenerGrade& g) {
    std::string words = escaped(g.shift.words);
    if (!words.empty()) words[0] = static_cast<char>(std::toupper(words[0]));
    std::string html = fmt::format("<h2>Clock</h2>\n<p>{}.", words);
    if (g.shift.total_s != 0.0)
        html += fmt::format(" The scores are taken with {:.1f} s taken off every time.",
                            g.shift.total_s);
    if (g.shift_matters)
        html += fmt::format(" With the times as written: {} heard, {} false calls, F {}.",
                            g.as_written.counts.hits, g.as_written.counts.false_calls,
                            with_interval(g.as_written.f, 2));
    return html + "</p>\n";
}

std::string to_hear(const ExcerptReference& excerpt, const std::string& folder) {
    const std::string stretch = minutes(excerpt.from_s) + " to " + minutes(excerpt.to_s);
    if (folder.empty() || excerpt.name.empty()) return stretch;
    return fmt::format("<a href=\"{0}/{1}.flac\">{1}.flac</a>, {2}", escaped(folder),
                       escaped(excerpt.name), stretch);
}

std::string misses(const Grade& grade, const ListenerGrade& g, const std::string& folder) {
    if (g.misses.empty()) return "<h2>Not heard</h2>\n<p>None.</p>\n";
    std::string html = "<h2>Not heard</h2>\n<table>\n<tr><th>Time</th><th>Kind</th><th>Channel</th>"
                       "<th class=\"n\">SNR [dB]</th><th class=\"n\">Others who heard it</th>"
                       "<th>To hear again</th></tr>\n";
    for (const Miss& miss : g.misses)
        for (const EventGrade& e : grade.events)
            if (e.event.number == miss.event)
                html += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"n\">{}</td>"
                                    "<td class=\"n\">{} of {}</td><td>{}</td></tr>\n",
                                    minutes(e.event.time_s), name_of(e.event.kind),
                                    escaped(miss.excerpt.channel), number(e.event.snr_db, 1),
                                    e.heard, e.listeners - 1, to_hear(miss.excerpt, folder));
    return html + "</table>\n";
}

std::string false_calls(const ListenerGrade& g, const std::string& folder) {
    std::string rows;
    for (const GradedAnswer& a : g.answers)
        if (a.outcome == Outcome::false_call)
            rows +=
                fmt::format("<tr><td class=\"n\">{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n",
                            a.answer.line, minutes(a.time_s), escaped(a.really_there),
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
                            escaped(fault.what),
                            fault.line_lost ? "; the line is not graded" : "; the rest is graded");
    return html + "</table>\n";
}

} // namespace

std::string score_card(const Grade& grade, const ListenerGrade& listener, std::string_view marked,
                       const std::string& excerpts) {
    const std::string title = fmt::format("Score card {}", escaped(listener.name));
    std::string html = fmt::format("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta "
                                   "charset=\"utf-8\">\n<title>{}</title>\n<style>{}</style>\n"
                                   "</head>\n<body>\n<h1>{}</h1>\n",
                                   title, style, title);
    if (!grade.exercise.empty())
        html += fmt::format("<p>Exercise: {}</p>\n", escaped(grade.exercise));
    if (!marked.empty()) html += fmt::format("<p>{}</p>\n", marked);
    html += fmt::format("<p class=\"caution\"><strong>{}</strong></p>\n", caution_text);
    html += scores(listener) + clock(listener) + misses(grade, listener, excerpts) +
            false_calls(listener, excerpts) + faults(listener);
    html += "<p>Graded by lull " LULL_VERSION ".</p>\n";
    return html + "</body>\n</html>\n";
}

} // namespace lull
