// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "recording/file_recording.hpp"
#include "recording/internal/file_notices.hpp"
#include "recording/internal/opening.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <numeric>

namespace lull {

namespace {

namespace fs = std::filesystem;

void add_input(FileRecording& recording, std::size_t f) {
    const AudioInfo& info = recording.files[f].info;
    InputFile input;
    input.path = recording.files[f].path;
    input.label = recording.spans[f].label;
    input.bytes = info.bytes;
    input.format = info.format;
    input.rate_hz = info.rate_hz;
    input.tracks = info.tracks;
    input.frames_promised = info.frames_promised;
    input.frames = info.frames;
    input.first = recording.spans[f].first;
    input.cut_short = info.cut_short;
    input.lost = info.lost;
    tell_of_file(info, input.label, recording.notices);
    recording.inputs.push_back(std::move(input));
}

/// Refuses a mix of exercise and real recordings in one session, in which each would pass as the
/// other.
void check_marks(FileRecording& recording) {
    const auto marked = std::ranges::count_if(
        recording.files, [](const MeasuredFile& file) { return is_marked(file.info); });
    recording.exercise = recording.session.exercise || marked > 0;
    if (marked == 0 || marked == std::ssize(recording.files)) return;
    std::string names;
    for (std::size_t f = 0; f < recording.files.size(); ++f)
        if (is_marked(recording.files[f].info))
            names += (names.empty() ? "" : ", ") + recording.spans[f].label;
    throw_input(recording.session.path, "recordings",
                "mixes an exercise (" + names + ") with other recordings", "keep exercises apart");
}

/// Which recording of a session a file is, from 1: that with the same file, else that with its
/// name, else the only one; 0 when none fits.
int recording_of(const Session& session, const std::string& session_file, const std::string& path) {
    std::error_code ignored;
    const fs::path folder = fs::path(session_file).parent_path();
    int by_name = session.recordings.size() == 1 ? 1 : 0;
    for (std::size_t i = 0; i < session.recordings.size(); ++i) {
        const fs::path listed = session.recordings[i].file;
        if (fs::equivalent(folder / listed, path, ignored)) return static_cast<int>(i) + 1;
        if (listed.filename() == fs::path(path).filename()) by_name = static_cast<int>(i) + 1;
    }
    return by_name;
}

/// The part of a session that describes one file.
Session describe_bare(const OpenOptions& options, const std::string& path) {
    Session session = load_session(options.session_file, true);
    const int index = recording_of(session, options.session_file, path);
    if (index == 0)
        throw_input(options.session_file, "recordings", "none of them is " + path,
                    "list the file there, or give the session alone");
    std::erase_if(session.channels,
                  [index](const Channel& c) { return c.recording.value_or(index) != index; });
    if (session.channels.empty())
        throw_input(options.session_file, "channels", "none of them belongs to " + path,
                    "describe its channels");
    for (Channel& channel : session.channels)
        channel.recording.reset();
    session.recordings = {session.recordings[static_cast<std::size_t>(index) - 1]};
    const std::vector<Channel>& channels = session.channels;
    std::erase_if(session.changes, [&channels](const Change& change) {
        return std::ranges::find(channels, change.channel, &Channel::name) == channels.end();
    });
    return session;
}

/// Whether a channel is (at least in part) in a file, counted from 0.
bool is_on(const Channel& channel, std::size_t file) {
    return !channel.recording || *channel.recording == static_cast<int>(file) + 1;
}

void check_tracks(const FileRecording& recording) {
    for (std::size_t c = 0; c < recording.session.channels.size(); ++c) {
        const Channel& channel = recording.session.channels[c];
        for (std::size_t f = 0; f < recording.files.size(); ++f)
            if (is_on(channel, f) && channel.track > recording.files[f].info.tracks)
                throw_input(
                    recording.session.path, fmt::format("channels[{}].track", c),
                    fmt::format("{} has no track {}", recording.spans[f].label, channel.track),
                    fmt::format("give 1 to {}", recording.files[f].info.tracks));
    }
}

void check_rates(const FileRecording& recording) {
    const double rate_hz = recording.files.front().info.rate_hz;
    if (std::ranges::all_of(recording.files,
                            [&](const MeasuredFile& f) { return f.info.rate_hz == rate_hz; }))
        return;
    std::vector<std::string> rates;
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        std::vector<std::string> names;
        for (const Channel& channel : recording.session.channels)
            if (is_on(channel, f)) names.push_back(channel.name);
        rates.push_back(fmt::format("{} ({}) {:g} Hz", fmt::join(names, ", "),
                                    recording.spans[f].label, recording.files[f].info.rate_hz));
    }
    throw_input(recording.session.path, "recordings",
                fmt::format("the channels have different rates: {}", fmt::join(rates, "; ")),
                "bring them to one rate first");
}

std::vector<Channel> selected(const Session& session, const std::vector<std::string>& wanted) {
    if (wanted.empty()) return session.channels;
    std::vector<Channel> channels;
    for (const std::string& word : wanted) {
        auto found = std::ranges::find(session.channels, word, &Channel::name);
        if (found == session.channels.end() && !word.empty() &&
            word.find_first_not_of("0123456789") == std::string::npos && word.size() < 5) {
            const int number = std::stoi(word);
            if (number >= 1 && number <= static_cast<int>(session.channels.size()))
                found = session.channels.begin() + number - 1;
        }
        if (found == session.channels.end()) {
            std::string names;
            for (const Channel& channel : session.channels)
                names += (names.empty() ? "" : ", ") + channel.name;
            throw_usage("--channels: there is no channel '" + word + "'",
                        "give some of " + names + ", or numbers from 1");
        }
        if (std::ranges::find(channels, found->name, &Channel::name) != channels.end())
            throw_usage("--channels: '" + word + "' is given twice", "name each channel once");
        channels.push_back(*found);
    }
    return channels;
}

/// Channels that share their files are read together.
std::vector<FileRecording::Group> grouped_by_name(const FileRecording& recording) {
    std::map<std::vector<int>, FileRecording::Group> groups;
    for (std::size_t c = 0; c < recording.channels.size(); ++c)
        groups[files_of(recording, recording.channels[c].name)].sources.push_back(
            {static_cast<int>(c), 0});
    std::vector<FileRecording::Group> result;
    for (auto& [files, group] : groups) {
        group.segments = join_in_sequence(recording.spans, files);
        result.push_back(std::move(group));
    }
    return result;
}

std::vector<FileRecording::Group> grouped(const FileRecording& recording) {
    if (recording.by_name) return grouped_by_name(recording);
    std::map<int, FileRecording::Group> groups; // by recording, 0 for channels of all recordings
    for (std::size_t c = 0; c < recording.channels.size(); ++c) {
        const Channel& channel = recording.channels[c];
        groups[channel.recording.value_or(0)].sources.push_back(
            {static_cast<int>(c), channel.track - 1});
    }
    std::vector<FileRecording::Group> result;
    for (auto& [number, group] : groups) {
        std::vector<int> files{number - 1};
        if (number == 0) {
            files.resize(recording.files.size());
            std::iota(files.begin(), files.end(), 0);
        }
        group.segments = join_in_sequence(recording.spans, files);
        result.push_back(std::move(group));
    }
    return result;
}

/// Reports files that other files cover completely, since they are not analysed.
void tell_covered_files(FileRecording& recording) {
    if (recording.by_name ? recording.channels.size() != recording.session.channels.size()
                          : recording.groups.size() != 1 || recording.channels.front().recording)
        return;
    std::vector<bool> counts(recording.files.size(), false);
    for (const FileRecording::Group& group : recording.groups)
        for (const Segment& segment : group.segments)
            counts[static_cast<std::size_t>(segment.file)] = true;
    for (std::size_t f = 0; f < counts.size(); ++f)
        if (!counts[f])
            skip(recording, recording.spans[f].label,
                 "lies wholly within the time of others; give files that were recorded side by "
                 "side as a session");
}

} // namespace

std::vector<int> files_of(const FileRecording& recording, const std::string& channel) {
    std::vector<int> files;
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        const std::vector<std::string>& names = recording.files[f].info.track_names;
        if (std::ranges::find(names, channel) != names.end()) files.push_back(static_cast<int>(f));
    }
    return files;
}

void finish_opening(FileRecording& recording, const OpenOptions& options) {
    recording.rate_hz = recording.files.front().info.rate_hz;
    if (!recording.by_name) check_tracks(recording);
    check_rates(recording);
    check_marks(recording);
    place_files(recording);
    for (std::size_t f = 0; f < recording.files.size(); ++f)
        add_input(recording, f);
    recording.channels = selected(recording.session, options.channels);
    recording.groups = grouped(recording);
    tell_covered_files(recording);
}

namespace {

std::string path_in_session(const Session& session, std::size_t index) {
    return (fs::path(session.path).parent_path() / session.recordings[index].file).string();
}

void open_session(FileRecording& recording, const std::string& path, const OpenOptions& options) {
    recording.session = load_session(path, options.allow_outside);
    Session& session = recording.session;
    const bool in_sequence =
        session.recordings.size() > 1 &&
        std::ranges::none_of(session.channels, [](const Channel& c) { return !!c.recording; });
    std::vector<SessionRecording> kept;
    std::optional<Error> first_fault;
    for (std::size_t i = 0; i < session.recordings.size(); ++i) {
        const std::string& file = session.recordings[i].file;
        const std::string label = fs::path(file).filename().string();
        try {
            add_file(recording, path_in_session(session, i), label, nullptr);
            kept.push_back(session.recordings[i]);
        } catch (const Error& fault) {
            const Error named(fault.kind, path, fmt::format("recordings[{}].file", i),
                              fault.file + ": " + fault.fault, fault.mend);
            if (!in_sequence) throw named;
            skip(recording, label, fault.fault);
            if (!first_fault) first_fault = named;
        }
    }
    if (recording.files.empty()) throw *first_fault;
    session.recordings = std::move(kept);
    if (in_sequence) keep_what_fits(recording, tracks_of(session));
}

} // namespace

std::shared_ptr<Recording> open_recording(const std::string& input, const OpenOptions& options) {
    auto recording = std::make_shared<FileRecording>();
    if (input != "-" && fs::path(input).extension() == ".json") {
        if (!options.session_file.empty())
            throw_usage("--session with a session file as input",
                        "give --session only with an audio file");
        open_session(*recording, input, options);
    } else {
        if (input == "-")
            add_file(*recording, "standard input", "standard input", spool_standard_input());
        else
            add_file(*recording, input, fs::path(input).filename().string(), nullptr);
        recording->session = options.session_file.empty()
                                 ? bare_session(recording->files.front().info)
                                 : describe_bare(options, recording->files.front().path);
    }
    finish_opening(*recording, options);
    return recording;
}

} // namespace lull
