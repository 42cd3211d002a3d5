// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/class_page.hpp"

#include "grading/class_figures.hpp"
#include "report/caution.hpp"
#include "report/internal/class_parts.hpp"
#include "report/internal/grade_words.hpp"
#include "report/internal/markup.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace lull {
namespace {

constexpr std::string_view class_style = R"css(
:root{color-scheme:light dark;--page:#fff;--text:#16191d;--muted:#5a626c;--line:#c3c9d1;--link:#0b4a9e;--missed:#fbe4d5;--wrong:#fff3c4;--warn:#8a1c00}
@media (prefers-color-scheme:dark){:root{--page:#14171b;--text:#e6e9ed;--muted:#a4adb8;--line:#3a424c;--link:#8dbcff;--missed:#4a2a16;--wrong:#403a12;--warn:#ffab91}}
*{box-sizing:border-box}body{font:15px/1.45 sans-serif;margin:0;color:var(--text);background:var(--page)}
main{max-width:80rem;margin:auto;padding:0 1rem 1rem}a{color:var(--link)}p,li,h1{overflow-wrap:anywhere}
h1{font-size:1.3rem;margin:.8rem 0 .2rem}h2{font-size:1.05rem;margin:1.4rem 0 .3rem}h3{font-size:1rem;margin:.8rem 0 .2rem}p{margin:.3rem 0}ul{margin:.3rem 0;padding-left:1.2rem}
.caution{margin:.8rem 0;padding:.4rem .8rem;border:2px solid var(--warn);font-weight:bold}
.wide{overflow-x:auto}table{border-collapse:collapse;font-size:.87rem}th,td{border:1px solid var(--line);padding:.2rem .45rem;text-align:left;vertical-align:middle}
tbody th{font-weight:normal}.missed{background:var(--missed)}.wrong-kind{background:var(--wrong)}
#events td,#events th{white-space:nowrap}audio{height:2rem;width:13rem;vertical-align:middle}summary{cursor:pointer;color:var(--link)}summary h2{display:inline-block}
:focus-visible{outline:3px solid var(--link);outline-offset:1px}.small{color:var(--muted);font-size:.87rem}
svg{display:block}.dots{stroke:currentColor;fill:currentColor}
@media print{@page{margin:14mm}:root{color-scheme:light;--page:#fff;--text:#000;--muted:#333;--line:#767676;--link:#000;--missed:#fff;--wrong:#fff;--warn:#000}
body{font-size:9.5pt}main{max-width:none;padding:0}audio,.heard-sound{display:none}.wide{overflow:visible}table{font-size:8pt}tr,li{break-inside:avoid}h2,h3{break-after:avoid}thead{display:table-header-group}a{text-decoration:none}}
)css";

std::string head(const ClassPage& page) {
    const Grade& grade = page.grade;
    std::string html =
        fmt::format("<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n"
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                    "media-src 'self' "
                    "file:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<title>Who heard what</title><style>{}</style></head><body>\n<main>\n"
                    "<p class=\"caution\" role=\"note\">{}</p>\n",
                    class_style, caution_text);
    html += element("h1", grade.exercise.empty() ? "Who heard what"
                                                 : "Who heard what: " + grade.exercise);
    if (!page.marked.empty()) html += element("p", page.marked);
    return html;
}

std::string class_sentences(const Grade& grade) {
    if (grade.listeners.empty()) return element("p", "No sheet was graded.");
    const Counts& counts = grade.group.counts;
    const std::string text =
        fmt::format("{} were graded against {}. Together they heard {} of {}, and wrote {}.",
                    counted(grade.group.listeners, "sheet"),
                    counted(static_cast<int>(grade.events.size()), "event"), counts.hits,
                    counts.hits + counts.misses, counted(counts.false_calls, "false call"));
    std::string html = element("p", text);
    std::vector<std::string> by_all, by_none;
    for (const EventGrade& e : grade.events) {
        const std::string name = fmt::format("event {} ({} at {})", e.event.number,
                                             name_of(e.event.kind), minutes_text(e.event.time_s));
        if (e.heard == e.listeners) by_all.push_back(name);
        if (e.heard == 0) by_none.push_back(name);
    }
    const auto listed_events = [](const std::vector<std::string>& names) {
        return names.empty() ? std::string("no event") : fmt::format("{}", fmt::join(names, ", "));
    };
    html += element("p", "Heard by everyone: " + listed_events(by_all) + ".");
    return html + element("p", "Heard by nobody: " + listed_events(by_none) + ".");
}

std::string order_sentence(const Grade& grade) {
    if (grade.listeners.size() < 2) return {};
    if (grade.apart.empty())
        return element("p", "This exercise does not tell the trainees apart: their differences may "
                            "be chance.");
    std::string text = "Told apart by this exercise:";
    for (const Apart& pair : grade.apart)
        text += fmt::format(" {} did better than {};", pair.higher, pair.lower);
    text.back() = '.';
    return element("p", text + " Other differences may be chance.");
}

std::string in_short(const ClassPage& page) {
    const Grade& grade = page.grade;
    std::string html = class_sentences(grade);
    if (!grade.listeners.empty()) html += "<ul>\n";
    for (std::size_t i = 0; i < grade.listeners.size(); ++i) {
        const ListenerGrade& g = grade.listeners[i];
        html += fmt::format("<li><strong>{}</strong> {} <a href=\"cards/{}\" "
                            "aria-label=\"Card of {}\">Card</a></li>\n",
                            escape_markup(g.name), escape_markup(listener_sentences(g)),
                            escape_markup(page.cards[i]), escape_markup(g.name));
    }
    if (!grade.listeners.empty()) html += "</ul>\n";
    html += order_sentence(grade);
    if (grade.program)
        html += element("p", "This program, graded alike by its finds, " +
                                 listener_sentences(*grade.program));
    html += "<p><a href=\"cards.html\">All cards, to print</a> · <a href=\"class.csv\">class.csv, "
            "for a spreadsheet</a></p>\n<details><summary>The statistics</summary>\n";
    return section("short", "In short", html + class_statistics(grade) + "</details>\n");
}

std::string further(const ClassPage& page) {
    std::string html;
    for (const Table& table : page.tables)
        html += fmt::format("<details><summary><h2>{}</h2></summary>\n",
                            table.name == "log" ? "The operators' log beside the events"
                                                : "Agreement of the reviewers") +
                html_table(table, table.rows.size(), Language::english(), table.name) +
                "</details>\n";
    return html;
}

} // namespace

std::string class_page(const ClassPage& page) {
    return head(page) + in_short(page) + class_events(page) + class_false_calls(page) +
           class_progress(page.learning) + class_not_read(page.grade) + further(page) +
           "<p class=\"small\">Graded by lull " LULL_VERSION
           ". The other tables (.csv) in this folder hold the same figures, scores.json all of "
           "them.</p>\n</main></body></html>\n";
}

} // namespace lull
