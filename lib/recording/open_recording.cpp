// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/file_recording.hpp"
#include "recording/start_time.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

namespace lull {
namespace {

namespace fs = std::filesystem;

PlacedFile measured_file(const std::string& path, std::shared_ptr<FileHandle> spooled) {
    PlacedFile placed{path, std::move(spooled), {}, {}};
    AudioFile file(path, placed.spooled);
    file.measure();
    placed.info = file.info();
    placed.span.label = placed.spooled ? "standard input" : fs::path(path).filename().string();
    placed.span.frames = placed.info.frames;
    return placed;
}

std::optional<CivilTime> broadcast_time(const PlacedFile& file) {
    if (!file.info.broadcast) return std::nullopt;
    std::string date = file.info.broadcast->date, time = file.info.broadcast->time;
    std::ranges::replace(date, ':', '-'); // recorders write 2026:03:14 too
    std::ranges::replace(time, '-', ':');
    std::optional<CivilTime> found = parse_iso8601(date + "T" + time);
    if (!found || date == "0000-00-00") return std::nullopt;
    // The sample count since midnight is finer than the text; it counts where the two agree.
    const double reference_s = static_cast<double>(file.info.broadcast->samples_since_midnight) / file.info.rate_hz;
    const double day = found->seconds - static_cast<double>(static_cast<std::int64_t>(found->seconds) % 86400);
    if (reference_s > 0.0 && std::abs(day + reference_s - found->seconds) < 1.0) found->seconds = day + reference_s;
    return found;
}

/// Start of a file that no session tells the start of.
StartTime own_start(const PlacedFile& file, std::vector<Notice>& notices) {
    if (const auto time = broadcast_time(file)) return start_of(*time, "bext chunk");
    bool ambiguous = false;
    if (const auto time = time_in_name(file.span.label, ambiguous)) return start_of(*time, "file name");
    if (ambiguous)
        notices.push_back({file.span.label, "the date in its name does not tell day from month and is not used; "
                                            "give the start in a session file", false});
    StartTime unknown;
    unknown.source = "not known: times count from 0 s";
    return unknown;
}

void add_input(FileRecording& recording, const PlacedFile& file) {
    InputFile input;
    input.path = file.path;
    input.label = file.span.label;
    input.bytes = file.info.bytes;
    input.format = file.info.format;
    input.rate_hz = file.info.rate_hz;
    input.tracks = file.info.tracks;
    input.frames_promised = file.info.frames_promised;
    input.frames = file.info.frames;
    input.first = file.span.first;
    input.cut_short = file.info.cut_short;
    if (input.cut_short)
        recording.notices.push_back({input.label, fmt::format("is cut short: {} frames promised, {} frames read",
                                                              *input.frames_promised, input.frames), true});
    if (file.info.open_ended)
        recording.notices.push_back({input.label, fmt::format("its header does not say how long it is; {} frames were found",
                                                              input.frames), false});
    recording.inputs.push_back(std::move(input));
    if (file.info.broadcast && is_exercise_description(file.info.broadcast->description)) recording.exercise = true;
}

Session bare_session(int tracks) {
    Session session;
    session.recordings.resize(1);
    for (int track = 1; track <= tracks; ++track) {
        Channel channel;
        channel.name = fmt::format("ch{}", track);
        channel.track = track;
        session.channels.push_back(std::move(channel));
    }
    return session;
}

/// The part of a session that describes one file: the recording of that name, else its only one.
Session describe_bare(const OpenOptions& options, const PlacedFile& file) {
    Session session = load_session(options.session_file, true);
    int index = session.recordings.size() == 1 ? 1 : 0;
    for (std::size_t i = 0; i < session.recordings.size(); ++i)
        if (fs::path(session.recordings[i].file).filename() == file.span.label) index = static_cast<int>(i) + 1;
    if (index == 0)
        throw_input(options.session_file, "recordings", "none of them is " + file.span.label, "name the recording, or give the session alone");
    std::erase_if(session.channels, [index](const Channel& c) { return c.recording.value_or(index) != index; });
    for (Channel& channel : session.channels) channel.recording.reset();
    session.recordings = {session.recordings[static_cast<std::size_t>(index) - 1]};
    return session;
}

void check_tracks(const FileRecording& recording) {
    for (std::size_t c = 0; c < recording.session.channels.size(); ++c) {
        const Channel& channel = recording.session.channels[c];
        for (std::size_t f = 0; f < recording.files.size(); ++f) {
            if (channel.recording && *channel.recording != static_cast<int>(f) + 1) continue;
            const PlacedFile& file = recording.files[f];
            if (channel.track > file.info.tracks)
                throw_input(recording.session.path, fmt::format("channels[{}].track", c),
                            fmt::format("{} has no track {}", file.span.label, channel.track),
                            fmt::format("give 1 to {}", file.info.tracks));
        }
    }
}

void check_rates(const FileRecording& recording) {
    const double rate_hz = recording.files.front().info.rate_hz;
    std::string rates;
    bool differ = false;
    for (const PlacedFile& file : recording.files) {
        differ = differ || file.info.rate_hz != rate_hz;
        rates += fmt::format("{}{} {:g} Hz", rates.empty() ? "" : ", ", file.span.label, file.info.rate_hz);
    }
    if (differ)
        throw_input(recording.session.path.empty() ? recording.files.front().path : recording.session.path, "",
                    "its recordings have different rates (" + rates + ")", "bring them to one rate first");
}

void place_files(FileRecording& recording) {
    const Session& session = recording.session;
    recording.start = session_start(session);
    if (!recording.start.unix_s) {
        // The earliest start that a recording of the session states, else what the first file tells.
        for (const SessionRecording& one : session.recordings)
            if (one.start) {
                Session stated = session;
                stated.start = one.start;
                const StartTime start = session_start(stated);
                if (!recording.start.unix_s || *start.unix_s < *recording.start.unix_s) recording.start = start;
            }
        if (!recording.start.unix_s) recording.start = own_start(recording.files.front(), recording.notices);
    }
    std::vector<FileSpan> spans;
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        FileSpan span = recording.files[f].span;
        const auto& stated = session.recordings[f].start;
        if (stated) {
            Session one = session;
            one.start = stated;
            span.start_s = *session_start(one).unix_s - *recording.start.unix_s;
            if (*span.start_s < 0.0)
                throw_input(session.path, fmt::format("recordings[{}].start", f), "is before the session's start",
                            "give the session's start as the earliest");
        }
        spans.push_back(span);
    }
    const bool in_sequence = std::ranges::any_of(session.channels, [](const Channel& c) { return !c.recording; });
    if (in_sequence) {
        const std::vector<Notice> notices = place_in_sequence(spans, recording.rate_hz);
        recording.notices.insert(recording.notices.end(), notices.begin(), notices.end());
    } else {
        place_side_by_side(spans, recording.rate_hz);
    }
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        recording.files[f].span = spans[f];
        recording.frames = std::max(recording.frames, spans[f].first + spans[f].frames - spans[f].skip);
    }
}

std::vector<Channel> selected(const Session& session, const std::vector<std::string>& wanted) {
    if (wanted.empty()) return session.channels;
    std::vector<Channel> channels;
    for (const std::string& word : wanted) {
        auto found = std::ranges::find(session.channels, word, &Channel::name);
        if (found == session.channels.end() && word.find_first_not_of("0123456789") == std::string::npos && word.size() < 5) {
            const int number = std::stoi(word);
            if (number >= 1 && number <= static_cast<int>(session.channels.size())) found = session.channels.begin() + number - 1;
        }
        if (found == session.channels.end()) {
            std::string names;
            for (const Channel& channel : session.channels) names += (names.empty() ? "" : ", ") + channel.name;
            throw_usage("--channels: there is no channel '" + word + "'", "give some of " + names + ", or numbers from 1");
        }
        if (std::ranges::find(channels, found->name, &Channel::name) != channels.end())
            throw_usage("--channels: '" + word + "' is given twice", "name each channel once");
        channels.push_back(*found);
    }
    return channels;
}

void finish(FileRecording& recording, const OpenOptions& options) {
    recording.rate_hz = recording.files.front().info.rate_hz;
    check_rates(recording);
    check_tracks(recording);
    place_files(recording);
    for (const PlacedFile& file : recording.files) add_input(recording, file);
    recording.exercise = recording.exercise || recording.session.exercise;
    recording.channels = selected(recording.session, options.channels);
    for (const Channel& channel : recording.channels) {
        FileRecording::Source source;
        source.track = channel.track - 1;
        source.sign = static_cast<float>(channel.polarity);
        for (std::size_t f = 0; f < recording.files.size(); ++f)
            if (!channel.recording || *channel.recording == static_cast<int>(f) + 1) source.files.push_back(static_cast<int>(f));
        recording.sources.push_back(std::move(source));
    }
}

} // namespace

std::shared_ptr<Recording> open_recording(const std::string& input, const OpenOptions& options) {
    auto recording = std::make_shared<FileRecording>();
    if (input != "-" && fs::path(input).extension() == ".json") {
        if (!options.session_file.empty())
            throw_usage("--session with a session file as input", "give --session only with an audio file");
        recording->session = load_session(input, options.allow_outside);
        for (const SessionRecording& one : recording->session.recordings)
            recording->files.push_back(measured_file((fs::path(input).parent_path() / one.file).string(), nullptr));
    } else {
        recording->files.push_back(input == "-" ? measured_file("standard input", spool_standard_input())
                                                : measured_file(input, nullptr));
        const PlacedFile& file = recording->files.front();
        recording->session = options.session_file.empty() ? bare_session(file.info.tracks) : describe_bare(options, file);
    }
    finish(*recording, options);
    return recording;
}

} // namespace lull
