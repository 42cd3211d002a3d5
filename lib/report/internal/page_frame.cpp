// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_frame.hpp"

#include "recording/digest.hpp"
#include "recording/start_time.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_data.hpp"
#include "report/internal/page_script.hpp"
#include "report/pictures/axis.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

constexpr std::size_t short_digest = 12; ///< hexadecimal digits: enough to tell reports apart

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

/// The hash by which the page's policy allows its own script, and no other that is in it.
std::string script_hash() {
    const std::string hex = sha256_of_text(page_script());
    std::string bytes;
    for (std::size_t i = 0; i < hex.size(); i += 2)
        bytes += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
    return to_base64(bytes);
}

} // namespace

std::string sheet_style(const ReportData& report) {
    const Recording& recording = report.account->recording();
    const Language& say = report.language;
    const std::string label =
        valid_utf8(recording.session.label.empty() ? say["title"] : recording.session.label);
    return fmt::format("@page{{margin:24mm 15mm 18mm;@top-center{{content:{};font:bold 7.5pt "
                       "sans-serif}}@bottom-left{{content:{};font:8pt sans-serif}}"
                       "@bottom-right{{content:counter(page) \"/\" counter(pages);font:8pt "
                       "sans-serif}}}}",
                       style_string(say["caution_text"]),
                       style_string(label + ", " + report.digest.substr(0, short_digest)));
}

std::string session_heading(const ReportData& report) {
    const Language& say = report.language;
    const Recording& recording = report.account->recording();
    const std::string& label = recording.session.label;
    const std::string clock = clock_text(recording.start, 0.0);
    std::string html = element("h1", label.empty() ? say["title"] : label);
    if (recording.exercise)
        html += "<p><strong>" + escape_markup(say["exercise"]) + "</strong></p>\n";
    const std::string start =
        clock.empty() ? say["start_unknown"]
                      : say.filled("start_known", {{"clock", clock},
                                                   {"source", say.phrase(recording.start.source)}});
    html += element("p", fmt::format("{}: {}. {}: {}.", say["start"], start, say["length"],
                                     time_label(recording.duration_s())));
    if (!recording.session.exhibit.empty())
        html += element("p", fmt::format("{}: {}", say["exhibit"], recording.session.exhibit));
    return html + "<p class=\"digest\">" +
           escape_markup(fmt::format("{}: {}", say["digest"], report.digest)) + "</p>\n";
}

std::string page_begin(const ReportData& report) {
    const Language& say = report.language;
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data: "
        "blob:; "
        "media-src 'self' file:; script-src 'self' file: 'sha256-{}'; style-src 'unsafe-inline'; "
        "base-uri 'none'; form-action 'none'\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<title>{}</title><style>{}{}</style></head><body>\n<main>\n"
        "<p class=\"caution\" role=\"note\"><span>{}:</span> {}</p>\n",
        escape_markup(say.code()), script_hash(), escape_markup(say["title"]), page_style(),
        sheet_style(report), escape_markup(say["caution"]), escape_markup(say["caution_text"]));
}

std::string page_end(const ReportData& report, std::size_t parts) {
    return fmt::format("{}</main>\n<script type=\"application/json\" id=\"page-data\">{}</script>\n"
                       "<script>{}</script></body></html>\n",
                       element("p", report.language["privacy"]), page_data(report, parts),
                       page_script());
}

} // namespace lull
