// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_frame.hpp"

#include "picture/axis.hpp"
#include "picture/png.hpp"
#include "picture/text.hpp"
#include "recording/digest.hpp"
#include "recording/start_time.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_data.hpp"
#include "report/internal/page_script.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

constexpr std::size_t short_digest = 12; ///< hexadecimal digits: enough to tell reports apart

/// Black on white, shapes and hatching: nothing is told by colour alone, and nothing needs a wide
/// screen: what is wider scrolls in its own box.
constexpr std::string_view style = R"css(
body{font:16px/1.45 sans-serif;max-width:62rem;margin:1rem auto;padding:0 1rem;color:#111;background:#fff}
h1{font-size:1.5rem}h2{font-size:1.25rem;border-bottom:1px solid #111}a{color:#003a8c}
h1,h3,p,dd,li,figcaption{overflow-wrap:anywhere}
.caution{border:3px double #111;padding:.6rem 1rem;font-weight:bold}
.wide{overflow-x:auto;position:relative}.wide svg{min-width:34rem}
table{border-collapse:collapse;font-size:.85rem}
th,td{border:1px solid #767676;padding:.2rem .45rem;text-align:left;vertical-align:top}
ol a{display:inline-block;padding:.2rem 0}td{overflow-wrap:break-word}tbody th{font-weight:normal}
svg,img,audio{max-width:100%;height:auto}audio{height:2.5rem;vertical-align:middle}
figure{margin:.5rem 0}.ranks{max-width:26rem}article{border-top:1px solid #767676;margin-top:1rem;content-visibility:auto;
contain-intrinsic-size:auto 60rem}#places figure,#audible figure{content-visibility:auto;contain-intrinsic-size:auto 42rem}
.controls label,.listen label,.judge label{display:flex;gap:.4rem;
align-items:center;flex-wrap:wrap}
.controls,.listen,.judge{display:flex;flex-wrap:wrap;gap:.4rem .9rem;align-items:center;margin:.5rem 0}
button,select,input{font:inherit;min-height:2rem;max-width:100%;box-sizing:border-box}
input[type=radio],input[type=checkbox]{min-width:1.2rem}
fieldset{min-width:0}label{max-width:100%}input[size]{width:min(22rem,100%)}
dt{float:left;clear:left;width:2rem}dd{margin-left:2.5rem}
:focus-visible{outline:3px solid #111;outline-offset:2px}article:focus{outline:3px solid #111;outline-offset:4px}
.scripted .static{display:none}.pointing svg[data-from]{cursor:crosshair}
@media print{article,#places figure,#audible figure{content-visibility:visible}body{max-width:none;margin:0;font-size:9.5pt}
audio,.controls,.listen,.judge,#judge,#time-line-view,article p a[href^=excerpts],.lesser{display:none}
.scripted .static{display:block}.wide{overflow:visible}.wide svg{min-width:0}
table{font-size:7pt}#channels table,#findings table{font-size:6pt}#made td{overflow-wrap:anywhere}
figure,tr,svg,h2,h3,h4{break-inside:avoid}h1,h2,h3,h4{break-after:avoid}thead{display:table-header-group}
p{margin:.4em 0}article svg{max-height:75mm}article .ranks{display:inline-block;width:80mm}
#places figure{display:inline-block;width:88mm;vertical-align:top}#places svg{max-height:85mm}
a{color:#111;text-decoration:none}}
)css";

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
    const Language& say = report.language;
    const Recording& recording = *report.provenance.recording;
    const std::string& label = recording.session.label;
    const std::string clock = clock_text(recording.start, 0.0);
    std::string html = element("h1", label.empty() ? say["title"] : label);
    if (recording.exercise)
        html += "<p><strong>" + escape_markup(say["exercise"]) + "</strong></p>\n";
    const std::string start =
        clock.empty() ? say["start_unknown"]
                      : say.filled("start_known", {{"clock", clock},
                                                   {"source", say.phrase(recording.start.source)}});
    html += element("p", fmt::format("{}: {}", say["start"], start));
    html += element("p", fmt::format("{}: {}", say["length"], time_label(recording.duration_s())));
    if (!recording.session.exhibit.empty())
        html += element("p", fmt::format("{}: {}", say["exhibit"], recording.session.exhibit));
    return html + element("p", fmt::format("{}: {}", say["digest"], report.digest));
}

std::string page_begin(const ReportData& report) {
    const Language& say = report.language;
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
        "media-src 'self' file:; script-src 'self' file: 'sha256-{}'; style-src 'unsafe-inline'; "
        "base-uri 'none'; form-action 'none'\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<title>{}</title><style>{}{}</style></head><body>\n<main>\n"
        "<p class=\"caution\" role=\"note\"><span>{}:</span> {}</p>\n",
        escape_markup(say.code()), script_hash(), escape_markup(say["title"]), style,
        sheet_style(report), escape_markup(say["caution"]), escape_markup(say["caution_text"]));
}

std::string page_end(const ReportData& report, std::size_t parts) {
    return fmt::format("{}</main>\n<script type=\"application/json\" id=\"page-data\">{}</script>\n"
                       "<script>{}</script></body></html>\n",
                       element("p", report.language["privacy"]), page_data(report, parts),
                       page_script());
}

} // namespace lull
