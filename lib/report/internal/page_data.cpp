// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/page_data.hpp"

#include "recording/opus.hpp"
#include "recording/strict_json.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/evidence_words.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_finds.hpp"
#include "report/page.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/text.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

using nlohmann::ordered_json;

/// As it is looked at by a person, not measured.
double in_milliseconds(double time_s) {
    return std::round(time_s * 1e3) / 1e3;
}

/// An infinite SNR is null.
ordered_json snr_of_find(const Find& find) {
    return std::isfinite(find.snr_db) ? ordered_json(std::round(find.snr_db * 10.0) / 10.0)
                                      : ordered_json(nullptr);
}

/// Onset, end and channel of each event; of a find that is shown also its arrivals.
ordered_json events_of_find(const Account& account, const Find& find, bool shown) {
    ordered_json events = ordered_json::array();
    for (const int number : find.events) {
        const Event& event = account.event(number);
        ordered_json one = {in_milliseconds(event.onset_s), in_milliseconds(event.end_s),
                            event.strongest};
        if (shown)
            for (const Arrival& arrival : event.arrivals)
                one.push_back({arrival.channel, std::round(arrival.onset_s * 1e5) / 1e5});
        events.push_back(std::move(one));
    }
    return events;
}

ordered_json find_of(const ReportData& report, const Find& find, bool shown) {
    const auto picture = std::ranges::find(report.pictures, find.number, &FindPicture::find);
    ordered_json judgements = ordered_json::array();
    for (const std::size_t j : find.judgements) {
        const JudgementRow& row = report.account->judgements[j];
        judgements.push_back({row.reviewer, row.judgement, row.new_kind, row.reason, row.when});
    }
    return {{"n", find.number},
            {"kind", name_of(find.kind)},
            {"what", form_words(find, report.language)},
            {"from", std::round(find.from_s * 1e6) / 1e6},
            {"to", in_milliseconds(find.to_s)},
            {"channel", find.channel},
            {"channels", find.channels},
            {"snr", snr_of_find(find)},
            {"confidence", std::round(find.confidence * 100.0) / 100.0},
            {"quiet", find.in_quiet},
            {"shown", shown},
            {"best", in_milliseconds(report.account->event(find.best).onset_s)},
            {"events", events_of_find(*report.account, find, shown)},
            {"picture", picture == report.pictures.end() ? "" : to_base64(picture->small_png)},
            {"judged", judgements}};
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
    const Account& account = *report.account;
    const Recording& recording = account.recording();
    const ExcerptRules rules;
    ordered_json page;
    page["digest"] = report.digest;
    page["from_s"] = account.from_s;
    page["to_s"] = account.to_s;
    page["clock_s"] = clock_of(recording.start);
    page["band"] = {account.band.low_hz, account.band.high_hz};
    page["rate_hz"] = recording.rate_hz;
    page["packed_rate_hz"] = opus_rate_hz;
    page["excerpt"] = {{"peak_db", rules.peak_db}, {"largest_gain_db", rules.largest_gain_db}};
    page["channel"] = channel_to_show(report);
    for (const char* name : {"channels", "overview", "quiet", "hails", "finds", "sounds"})
        page[name] = ordered_json::array();
    for (int c = 0; c < static_cast<int>(recording.channels.size()); ++c)
        page["channels"].push_back(valid_utf8(cell_text(channel_cell(recording, c), 0)));
    for (const Overview& one : report.overview)
        page["overview"].push_back({{"from", one.from_s},
                                    {"to", one.to_s},
                                    {"high", one.high_hz},
                                    {"png", to_base64(one.png)}});
    for (const QuietPeriod& quiet : account.quiet)
        page["quiet"].push_back({quiet.from_s, quiet.to_s});
    for (const Hail& hail : account.hails)
        page["hails"].push_back({hail.number, hail.from_s, hail.to_s, hail.channel});
    const std::size_t shown = finds_shown(account.finds);
    for (std::size_t k = 0; k < std::min(account.finds.size(), most_finds_listed); ++k)
        page["finds"].push_back(find_of(report, account.finds[k], k < shown));
    page["parts"] = parts;
    page["kinds"] = {name_of(EventKind::tapping), name_of(EventKind::voice_like),
                     name_of(EventKind::horn), name_of(EventKind::other)};
    for (const SoundScript& sound : report.sounds)
        page["sounds"].push_back({{"from", sound.from_s},
                                  {"to", sound.to_s},
                                  {"channels", sound.channels},
                                  {"file", sound.file},
                                  {"whole", sound.as_heard}});
    page["words"] = parse_ordered_json(report.language.script(), "words");
    return without_tags(page.dump());
}

std::string script_with_markup(const std::string& markup) {
    return "lullPart(" + without_tags(ordered_json(markup).dump()) + ");\n";
}

} // namespace lull
