// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_data.hpp"

#include "picture/png.hpp"
#include "picture/text.hpp"
#include "recording/strict_json.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/markup.hpp"
#include "report/page.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

using nlohmann::ordered_json;

/// Of all courses together: six channels of a night in steps of a second, in 0.7 MB.
constexpr std::size_t most_steps = 500000;
constexpr double steps_a_db = 4.0, lowest_db = -20.0;

/// Levels as bytes: 1 is -20 dB, each step a quarter of a decibel; 0 where there is none.
char level_byte(float over_floor_db) {
    if (!std::isfinite(over_floor_db)) return 0;
    const double step = (static_cast<double>(over_floor_db) - lowest_db) * steps_a_db;
    return static_cast<char>(1 + std::lround(std::clamp(step, 0.0, 254.0)));
}

ordered_json course_of(const LevelCourse& course, std::size_t channels) {
    const std::size_t join = (course.over_floor_db.size() * channels + most_steps - 1) / most_steps;
    std::string levels;
    for (std::size_t i = 0; i < course.over_floor_db.size(); i += join) {
        char loudest = 0;
        for (std::size_t k = i; k < std::min(i + join, course.over_floor_db.size()); ++k)
            loudest = static_cast<char>(
                std::max(static_cast<unsigned char>(loudest),
                         static_cast<unsigned char>(level_byte(course.over_floor_db[k]))));
        levels += loudest;
    }
    return {{"first", course.first_s},
            {"step", course.step_s * static_cast<double>(join)},
            {"db", to_base64(levels)}};
}

ordered_json event_of(const Event& event) {
    ordered_json arrivals = ordered_json::array();
    for (const Arrival& arrival : event.arrivals)
        arrivals.push_back({arrival.channel, std::round(arrival.onset_s * 1e6) / 1e6});
    return {{"n", event.number},  {"kind", name_of(event.kind)}, {"onset", event.onset_s},
            {"end", event.end_s}, {"channel", event.strongest},  {"arrivals", arrivals}};
}

/// JSON in which no tag can end and no comment begin.
std::string without_tags(const std::string& json) {
    std::string text;
    text.reserve(json.size());
    std::size_t copied = 0;
    for (std::size_t at = 0; (at = json.find('<', at)) != std::string::npos; copied = ++at)
        text.append(json, copied, at - copied).append("\\u003c");
    text.append(json, copied);
    return text;
}

/// Seconds of the day at the start of the time line; null where it is not known.
ordered_json clock_of(const StartTime& start) {
    if (!start.unix_s) return nullptr;
    const double local_s = *start.unix_s + start.utc_offset_s.value_or(0);
    return local_s - std::floor(local_s / 86400.0) * 86400.0;
}

} // namespace

std::string page_data(const ReportData& report, std::size_t parts) {
    const Recording& recording = *report.provenance.recording;
    const ExcerptRules rules;
    ordered_json page;
    page["digest"] = report.digest;
    page["from_s"] = report.from_s;
    page["to_s"] = report.to_s;
    page["clock_s"] = clock_of(recording.start);
    page["band"] = {report.band.low_hz, report.band.high_hz};
    page["rate_hz"] = recording.rate_hz;
    page["picture"] = {{"window_s", picture_window_s},
                       {"high_hz", std::min(picture_high_hz, recording.rate_hz / 2.0)},
                       {"range_db", picture_range_db},
                       {"columns", picture_columns},
                       {"rows", picture_rows}};
    page["excerpt"] = {{"peak_db", rules.peak_db}, {"largest_gain_db", rules.largest_gain_db}};
    page["channels"] = page["courses"] = page["quiet"] = page["events"] = ordered_json::array();
    for (int c = 0; c < static_cast<int>(recording.channels.size()); ++c)
        page["channels"].push_back(valid_utf8(cell_text(channel_cell(recording, c), 0)));
    for (const LevelCourse& course : report.courses)
        page["courses"].push_back(course_of(course, report.courses.size()));
    for (const QuietMark& quiet : report.quiet)
        page["quiet"].push_back({quiet.from_s, quiet.to_s});
    const std::vector<std::size_t> order = most_deserving_first(report.events);
    for (std::size_t k = 0; k < std::min(order.size(), most_events_marked); ++k)
        page["events"].push_back(event_of(report.events[order[k]]));
    page["parts"] = parts;
    page["kinds"] = {name_of(EventKind::tapping), name_of(EventKind::voice_like),
                     name_of(EventKind::horn), name_of(EventKind::other)};
    page["sounds"] = ordered_json::object();
    for (const SoundScript& sound : report.sounds)
        page["sounds"][std::to_string(sound.event)] = {{"file", sound.file},
                                                       {"channels", sound.channels},
                                                       {"part", {sound.from_s, sound.to_s}}};
    page["words"] = parse_ordered_json(report.language.script(), "words");
    return without_tags(page.dump());
}

std::string script_with_markup(const std::string& markup) {
    return "lullPart(" + without_tags(ordered_json(markup).dump()) + ");\n";
}

} // namespace lull
