// SPDX-License-Identifier: GPL-3.0-or-later
#include "picture/axis.hpp"
#include "picture/text.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_frame.hpp"
#include "report/page.hpp"

#include <fmt/format.h>

namespace lull {

std::string blind_page_html(const ReportData& report) {
    const Language& say = report.language;
    std::string slices = element("p", say["blind_about"]);
    for (const SoundScript& sound : report.sounds)
        slices += fmt::format(
            "<article id=\"slice-{0}\" data-number=\"{0}\"><h3>{1}</h3></article>\n", sound.event,
            escape_markup(say.filled("slice", {{"number", std::to_string(sound.event)},
                                               {"from", time_label(sound.from_s)},
                                               {"to", time_label(sound.to_s)}})));
    return page_begin(report) + session_heading(report) +
           section("details", say["listen"], slices) + page_end(report);
}

} // namespace lull
