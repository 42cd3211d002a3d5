// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/opening.hpp"

#include "recording/examined_files.hpp"
#include "recording/exercise_mark.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

namespace lull {

void add_file(FileRecording& recording, const std::string& path, const std::string& shown,
              std::shared_ptr<FileHandle> spooled, ExaminedFiles* known) {
    AudioInfo info =
        known != nullptr && !spooled ? known->examine(path) : examine_audio(path, spooled);
    recording.spans.push_back({shown, 0, info.frames});
    recording.files.push_back({path, std::move(spooled), std::move(info)});
}

bool is_marked(const AudioInfo& info) {
    return is_exercise_description(info.broadcast ? info.broadcast->description : info.comment);
}

Session bare_session(const AudioInfo& info) {
    Session session;
    session.recordings.resize(1);
    for (int track = 1; track <= info.tracks; ++track) {
        Channel channel;
        channel.name = info.track_names.empty()
                           ? fmt::format("ch{}", track)
                           : info.track_names[static_cast<std::size_t>(track) - 1];
        channel.track = track;
        session.channels.push_back(std::move(channel));
    }
    return session;
}

int tracks_of(const Session& session) {
    int tracks = 1;
    for (const Channel& channel : session.channels)
        tracks = std::max(tracks, channel.track);
    return tracks;
}

void skip(FileRecording& recording, const std::string& label, const std::string& why) {
    recording.notices.push_back({label, "skipped: " + why, true});
}

void drop_where(FileRecording& recording, const WhyDropped& why) {
    std::vector<SessionRecording>& described = recording.session.recordings;
    const bool aligned = described.size() == recording.files.size();
    std::size_t kept = 0;
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        if (const std::optional<std::string> fault = why(f)) {
            skip(recording, recording.spans[f].label, *fault);
            continue;
        }
        if (kept != f) {
            recording.files[kept] = std::move(recording.files[f]);
            recording.spans[kept] = std::move(recording.spans[f]);
            if (aligned) described[kept] = std::move(described[f]);
        }
        ++kept;
    }
    recording.files.resize(kept);
    recording.spans.resize(kept);
    if (aligned) described.resize(kept);
}

void keep_what_fits(FileRecording& recording, std::optional<int> tracks_needed) {
    using Form = std::pair<double, int>; // rate, and number of tracks where no channel is described
    const auto form_of = [&](const AudioInfo& info) {
        return Form(info.rate_hz, tracks_needed ? 0 : info.tracks);
    };
    const auto is_short = [&](const AudioInfo& info) {
        return tracks_needed && info.tracks < *tracks_needed;
    };
    std::map<Form, double> lengths_s;
    for (const MeasuredFile& file : recording.files)
        if (!is_short(file.info))
            lengths_s[form_of(file.info)] +=
                static_cast<double>(file.info.frames) / file.info.rate_hz;
    if (lengths_s.empty()) return; // the check of the tracks has a better message
    const Form most = std::ranges::max_element(lengths_s, {}, [](const auto& entry) {
                          return entry.second;
                      })->first;
    drop_where(recording, [&](std::size_t f) -> std::optional<std::string> {
        const AudioInfo& info = recording.files[f].info;
        if (is_short(info))
            return fmt::format("has {} channels, and {} are described", info.tracks,
                               *tracks_needed);
        if (form_of(info) == most) return std::nullopt;
        const std::string other = tracks_needed
                                      ? fmt::format("{:g} Hz", most.first)
                                      : fmt::format("{} at {:g} Hz", most.second, most.first);
        return fmt::format("has {} channels at {:g} Hz, and most of what was recorded {}",
                           info.tracks, info.rate_hz, other);
    });
}

} // namespace lull
