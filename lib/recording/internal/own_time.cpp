// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/own_time.hpp"

#include <cmath>

namespace lull {
namespace {

std::optional<CivilTime> broadcast_time(const AudioInfo& info) {
    if (!info.broadcast) return std::nullopt;
    std::string date = info.broadcast->date, time = info.broadcast->time;
    for (std::string* text : {&date, &time}) // recorders use various separators
        for (char& c : *text)
            if (c < '0' || c > '9') c = text == &date ? '-' : ':';
    std::optional<CivilTime> found = parse_iso8601(date + "T" + time);
    if (!found || date == "0000-00-00") return std::nullopt;
    // The sample count since midnight has a finer resolution than the text. It is used where the
    // two agree.
    const double of_day_s =
        static_cast<double>(info.broadcast->samples_since_midnight) / info.rate_hz;
    const double midnight_s = std::floor(found->seconds / 86400.0) * 86400.0;
    if (std::abs(midnight_s + of_day_s - found->seconds) < 1.0)
        found->seconds = midnight_s + of_day_s;
    return found;
}

} // namespace

OwnTime own_time(const AudioInfo& info, const std::string& label, std::vector<Notice>& notices) {
    if (info.start_utc_s) return {CivilTime{*info.start_utc_s, 0}, "miniSEED records", true};
    if (const auto time = broadcast_time(info)) return {time, "bext chunk"};
    bool ambiguous = false;
    const auto time = time_in_name(label, ambiguous);
    if (ambiguous)
        notices.push_back({label,
                           "the date in its name is ambiguous in day and month and is not used; "
                           "give the start in a session file",
                           false});
    return {time, "file name"};
}

} // namespace lull
