// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/markup.hpp"
#include "report/internal/page_frame.hpp"
#include "report/page.hpp"

namespace lull {

std::string blind_page_html(const ReportData& report) {
    const Language& say = report.language;
    return page_begin(report) + "<div id=\"desk\" class=\"blind\">\n<div id=\"top\">" +
           session_heading(report) + "</div>\n" +
           section("finds", say["listen"], element("p", say["blind_about"])) +
           section("whole", say["whole"], "") + section("details", say["details"], "") +
           "</div>\n" + page_end(report);
}

} // namespace lull
