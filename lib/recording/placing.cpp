// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "recording/file_recording.hpp"
#include "recording/internal/own_time.hpp"
#include "recording/start_time.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace lull {
namespace {

/// Names and most bext chunks count whole seconds, and recorders round them differently. (The times
/// of miniSEED are exact to one frame.)
constexpr double own_time_slack_s = 2.0;

StartTime located(const Session& session, const std::string& place, const CivilTime& time,
                  const std::string& source) {
    try {
        return start_of(time, session.time_zone, source);
    } catch (const Error& fault) {
        throw_input(session.path, fault.place == "start" ? place : fault.place, fault.fault,
                    fault.mend);
    }
}

CivilTime stated_time(const Session& session, std::size_t recording) {
    const std::string& text = *session.recordings[recording].start;
    const std::optional<CivilTime> time = parse_iso8601(text);
    if (!time)
        throw_input(session.path, fmt::format("recordings[{}].start", recording),
                    "\"" + text + "\" is not a time", "give ISO 8601 as 2026-03-14T02:10:00");
    return *time;
}

double stated_start_s(const Session& session, std::size_t recording, const StartTime& reference) {
    try {
        return seconds_after(reference, stated_time(session, recording));
    } catch (const Error& fault) {
        if (fault.kind == ErrorKind::input) throw;
        throw_input(session.path, fmt::format("recordings[{}].start", recording), fault.fault,
                    fault.mend);
    }
}

/// The start to which all others are relative: the session's, else the first that a recording
/// states, else that of the first file.
StartTime reference_start(const Session& session, const OwnTime& first) {
    if (session.start) return session_start(session);
    for (std::size_t i = 0; i < session.recordings.size(); ++i)
        if (session.recordings[i].start) {
            StartTime start = located(session, fmt::format("recordings[{}].start", i),
                                      stated_time(session, i), "session");
            start.sigma_s = session.start_sigma_s;
            return start;
        }
    return first.time ? located(session, "time_zone", *first.time, first.source) : unknown_start();
}

/// Seconds from `earlier`'s own time to `later`'s, where they can be compared.
std::optional<double> own_difference(const OwnTime& earlier, const OwnTime& later) {
    if (!earlier.time || !later.time || earlier.source != later.source ||
        earlier.time->utc_offset_s.has_value() != later.time->utc_offset_s.has_value())
        return std::nullopt;
    return later.time->seconds - earlier.time->seconds;
}

/// The starts of recordings that the session does not place, one after another.
class Assumed {
  public:
    Assumed(const std::vector<FileSpan>& spans, const std::vector<OwnTime>& own, double rate_hz)
        : spans_(&spans), own_(&own), rate_hz_(rate_hz) {}

    /// \param starts_s  of all recordings before it
    double start_of_next(const std::vector<double>& starts_s) {
        const std::size_t i = starts_s.size();
        const double end_s =
            starts_s.back() + static_cast<double>((*spans_)[i - 1].frames) / rate_hz_;
        if (!(*own_)[i].time) return end_s;
        std::size_t from = anchor_;
        while (from + 1 < i && !own_difference((*own_)[from], (*own_)[i]))
            ++from;
        const std::optional<double> difference = own_difference((*own_)[from], (*own_)[i]);
        const double slack_s = (*own_)[i].exact ? 1.0 / rate_hz_ : own_time_slack_s;
        if (!difference || std::abs(starts_s[from] + *difference - end_s) <= slack_s) return end_s;
        const double start_s = starts_s[from] + *difference;
        anchor_ = i;
        return start_s;
    }

  private:
    const std::vector<FileSpan>* spans_;
    const std::vector<OwnTime>* own_;
    double rate_hz_;
    /// The recording to whose own time the next ones are relative. It stays, so that small
    /// differences between hundreds of files cannot add up unnoticed.
    std::size_t anchor_ = 0;
};

/// The start of a file side by side with others. They begin together, unless their own times are
/// exact.
/// \param starts_s  of all recordings before it
double start_beside_s(const std::vector<OwnTime>& own, const std::vector<double>& starts_s) {
    const OwnTime& later = own[starts_s.size()];
    for (std::size_t f = 0; f < starts_s.size(); ++f)
        if (const auto difference = own_difference(own[f], later); difference && later.exact)
            return starts_s[f] + *difference;
    return 0.0;
}

/// Shifts times of the session, which are relative to its start, to frame 0.
void move_session(Session& session, const StartTime& start, double by_s) {
    for (SessionRecording& recording : session.recordings)
        for (ClockCheck& check : recording.clock_checks)
            check.reference_s -= by_s;
    for (std::size_t i = 0; i < session.changes.size(); ++i) {
        Change& change = session.changes[i];
        if (change.from_clock.empty()) {
            change.from_s -= by_s;
            continue;
        }
        try {
            change.from_s = parse_time(change.from_clock, start);
        } catch (const Error& fault) {
            throw_input(session.path, fmt::format("changes (from \"{}\")", change.from_clock),
                        fault.fault, fault.mend);
        }
    }
    std::ranges::stable_sort(session.changes, {}, &Change::from_s);
}

/// Where files are matched by the names of their channels, the files of each channel follow one
/// another.
void tell_gaps_and_overlaps(FileRecording& recording) {
    std::vector<std::vector<int>> sequences;
    if (!recording.by_name) {
        sequences.emplace_back(recording.files.size());
        std::iota(sequences.front().begin(), sequences.front().end(), 0);
    } else {
        for (const Channel& channel : recording.session.channels)
            if (std::vector<int> files = files_of(recording, channel.name);
                std::ranges::find(sequences, files) == sequences.end())
                sequences.push_back(std::move(files));
    }
    for (const std::vector<int>& files : sequences)
        for (Notice& notice : gaps_and_overlaps(recording.spans, files, recording.rate_hz))
            recording.notices.push_back(std::move(notice));
}

/// Reports files side by side that do not fill the time line.
void tell_short_files(FileRecording& recording) {
    for (const FileSpan& span : recording.spans)
        if (span.first > 0 || span.end() < recording.frames)
            recording.notices.push_back(
                {span.label,
                 fmt::format("holds {:.6f} s to {:.6f} s of {:.6f} s; its channels have no "
                             "samples in the rest",
                             recording.seconds(span.first), recording.seconds(span.end()),
                             recording.duration_s()),
                 false});
}

} // namespace

void place_files(FileRecording& recording) {
    const Session& session = recording.session;
    const bool in_sequence =
        std::ranges::any_of(session.channels, [](const Channel& c) { return !c.recording; });
    std::vector<OwnTime> own;
    for (std::size_t f = 0; f < recording.files.size(); ++f)
        own.push_back(
            own_time(recording.files[f].info, recording.spans[f].label, recording.notices));
    const StartTime reference = reference_start(session, own.front());
    std::vector<double> starts_s;
    Assumed assumed(recording.spans, own, recording.rate_hz);
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        if (session.recordings[f].start)
            starts_s.push_back(stated_start_s(session, f, reference));
        else if (f == 0)
            starts_s.push_back(0.0);
        else if (!in_sequence)
            starts_s.push_back(start_beside_s(own, starts_s));
        else
            starts_s.push_back(assumed.start_of_next(starts_s));
    }
    const double earliest_s = *std::ranges::min_element(starts_s);
    recording.start = moved_start(reference, earliest_s);
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        FileSpan& span = recording.spans[f];
        span.first =
            static_cast<Frame>(std::llround((starts_s[f] - earliest_s) * recording.rate_hz));
        recording.frames = std::max(recording.frames, span.end());
    }
    if (in_sequence)
        tell_gaps_and_overlaps(recording);
    else
        tell_short_files(recording);
    move_session(recording.session, recording.start, earliest_s);
}

} // namespace lull
