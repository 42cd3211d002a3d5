// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_frame.hpp"

#include "picture/axis.hpp"
#include "picture/png.hpp"
#include "picture/text.hpp"
#include "recording/digest.hpp"
#include "recording/start_time.hpp"
#include "report/caution.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_data.hpp"
#include "report/internal/page_script.hpp"
#include "report/language_en.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

namespace say = language;

constexpr std::size_t short_digest = 12; ///< hexadecimal digits: enough to tell reports apart

constexpr std::string_view style =
    "dt{float:left;clear:left;width:2rem}dd{margin-left:2.5rem}.controls,.listen,.judge{display:"
    "flex;flex-wrap:wrap;gap:.4rem .9rem;align-items:center;margin:.5rem 0}"
    "button,select,input{font:inherit;min-height:2rem;max-width:100%;box-sizing:border-box}"
    "fieldset{min-width:0}label{max-width:100%}input[size]{width:min(22rem,100%)}h3,p,dd{overflow-"
    "wrap:anywhere}canvas{width:100%;border:1px solid #888}"
    ".scripted .static{display:none}article:focus{outline:3px solid #111;outline-offset:4px}"
    "body{font:16px/1.45 sans-serif;max-width:62rem;margin:1rem auto;padding:0 1rem;color:#111;"
    "background:#fff}h1{font-size:1.5rem}h2{font-size:1.25rem;border-bottom:1px solid #111}"
    ".caution{border:3px double #111;padding:.6rem 1rem;font-weight:bold}"
    ".wide{overflow-x:auto}table{border-collapse:collapse;font-size:.85rem}"
    "th,td{border:1px solid #888;padding:.2rem .45rem;text-align:left;vertical-align:top}"
    "svg,img,audio{max-width:100%;height:auto}audio{height:2.5rem}figure{margin:.5rem 0}"
    "td{overflow-wrap:break-word}@media print{audio,.controls,.listen,.judge,#judge,"
    "#time-line-view{display:none}.scripted .static{display:block}.wide{overflow:visible}"
    "figure,tr{break-inside:avoid}thead{display:table-header-group}}";

/// A string of a style sheet.
std::string style_string(std::string_view text) {
    std::string quoted = "\"";
    for (const char character : text) {
        if (character == '"' || character == '\\' || character == '<' ||
            static_cast<unsigned char>(character) < ' ')
            quoted += fmt::format("\\{:x} ", static_cast<unsigned>(character));
        else
            quoted += character;
    }
    return quoted + "\"";
}

/// Every sheet that is printed says what it is part of, and the caution.
std::string sheet_style(const ReportData& report) {
    const Recording& recording = *report.provenance.recording;
    const std::string label = valid_utf8(
        recording.session.label.empty() ? std::string(say::page_title) : recording.session.label);
    return fmt::format("@page{{margin:24mm 15mm 18mm;@top-center{{content:{};font:bold 7.5pt "
                       "sans-serif}}@bottom-left{{content:{};font:8pt sans-serif}}"
                       "@bottom-right{{content:counter(page) \"/\" counter(pages);font:8pt "
                       "sans-serif}}}}",
                       style_string(caution_text),
                       style_string(label + ", " + report.digest.substr(0, short_digest)));
}

/// The hash by which the page's policy allows its own script, and no other that is in it.
std::string script_hash() {
    const std::string hex = sha256_of_text(page_script());
    std::string bytes;
    for (std::size_t i = 0; i < hex.size(); i += 2)
        bytes += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
    return to_base64(bytes);
}

} // namespace

std::string session_heading(const ReportData& report) {
    const Recording& recording = *report.provenance.recording;
    const std::string& label = recording.session.label;
    const std::string clock = clock_text(recording.start, 0.0);
    std::string html = recording.exercise ? element("h2", exercise_text) : std::string();
    html += element("h1", label.empty() ? say::page_title : label);
    html += element("p", clock.empty() ? fmt::format("{}: {}", say::start, say::start_unknown)
                                       : fmt::format("{}: {} ({} {})", say::start, clock,
                                                     say::known_from, recording.start.source));
    html += element("p", fmt::format("{}: {}", say::length, time_label(recording.duration_s())));
    if (!recording.session.exhibit.empty())
        html += element("p", fmt::format("{}: {}", say::exhibit, recording.session.exhibit));
    return html;
}

std::string framed_page(const ReportData& report, const std::string& sections) {
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
        "media-src 'self' file:; script-src 'self' file: 'sha256-{}'; style-src 'unsafe-inline'; "
        "base-uri 'none'; form-action 'none'\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<title>{}</title><style>{}{}</style></head><body>\n<main>\n"
        "<p class=\"caution\" role=\"note\"><span>{}:</span> {}</p>\n{}{}</main>\n"
        "<script type=\"application/json\" id=\"page-data\">{}</script>\n"
        "<script>{}</script></body></html>\n",
        say::code, script_hash(), escape_markup(say::page_title), style, sheet_style(report),
        escape_markup(say::caution), escape_markup(caution_text), sections,
        element("p", say::privacy), page_data(report), page_script());
}

} // namespace lull
