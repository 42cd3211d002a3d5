// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/sequence.hpp"

#include "error.hpp"
#include "recording/internal/listing.hpp"
#include "recording/internal/opening.hpp"
#include "recording/internal/own_time.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <new>
#include <set>
#include <utility>

namespace lull {
namespace {

namespace fs = std::filesystem;

/// Recordings further apart belong to another occasion, or to a clock that had lost the date.
constexpr double one_night_s = 86400.0;

/// Examines each file and skips those that cannot be used. \throws the first fault when none is
/// left
void add_files(FileRecording& recording, const std::vector<ListedFile>& files, ExaminedFiles* known,
               const OpeningProgress& progress) {
    std::optional<Error> first_fault;
    for (std::size_t i = 0; i < files.size(); ++i) {
        try {
            add_file(recording, files[i].path, files[i].label, nullptr, known);
        } catch (const Error& fault) {
            skip(recording, files[i].label, fault.fault);
            if (!first_fault) first_fault = fault;
        } catch (const std::bad_alloc&) {
            skip(recording, files[i].label, "does not fit into memory");
        }
        if (progress) progress(i + 1, files.size());
    }
    if (!recording.files.empty()) return;
    if (files.size() == 1 && first_fault) throw *first_fault;
    throw_input(first_fault ? first_fault->file : "", "",
                fmt::format("{}, and none of {} files can be used",
                            first_fault ? first_fault->fault : "no memory", files.size()),
                "give audio files");
}

/// Drops exercises from a night of real recordings, which would otherwise be reported as an
/// exercise.
void drop_exercises(FileRecording& recording) {
    const auto is_exercise = [](const MeasuredFile& file) { return is_marked(file.info); };
    if (std::ranges::all_of(recording.files, is_exercise)) return;
    drop_where(recording, [&](std::size_t f) -> std::optional<std::string> {
        if (!is_exercise(recording.files[f])) return std::nullopt;
        return "is an exercise, and others are real recordings";
    });
}

struct Timed {
    std::size_t file = 0;
    std::optional<double> time_s;
};

std::vector<Timed> own_times(const FileRecording& recording) {
    std::vector<Notice> told_when_placed;
    std::vector<Timed> times;
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        const OwnTime own =
            own_time(recording.files[f].info, recording.spans[f].label, told_when_placed);
        times.push_back({f, std::nullopt});
        if (own.time) times.back().time_s = own.time->seconds - own.time->utc_offset_s.value_or(0);
    }
    return times;
}

/// Of the files with a time, keeps those of the period that holds most of the recorded time.
void drop_other_nights(FileRecording& recording) {
    std::vector<Timed> times = own_times(recording);
    std::erase_if(times, [](const Timed& one) { return !one.time_s; });
    std::ranges::stable_sort(times, {}, [](const Timed& one) { return *one.time_s; });
    std::vector<int> night(recording.files.size(), 0); // number of the period; 0: no time
    std::map<int, Frame> length;
    double end_s = 0.0;
    int number = 0;
    for (const Timed& one : times) {
        const Frame frames = recording.files[one.file].info.frames;
        if (number == 0 || *one.time_s > end_s + one_night_s) ++number;
        const double length_s =
            static_cast<double>(frames) / recording.files[one.file].info.rate_hz;
        end_s = number == 1 && length.empty() ? *one.time_s + length_s
                                              : std::max(end_s, *one.time_s + length_s);
        night[one.file] = number;
        length[number] += frames;
    }
    if (number < 2) return;
    const int longest =
        std::ranges::max_element(length, {}, [](const auto& entry) { return entry.second; })->first;
    drop_where(recording, [&](std::size_t f) -> std::optional<std::string> {
        if (night[f] == 0 || night[f] == longest) return std::nullopt;
        return "the time that it carries is more than a day from the others'; give it alone";
    });
}

/// Sorts by time. Files without a time keep their order and come last.
void put_in_time_order(FileRecording& recording) {
    std::vector<Timed> times = own_times(recording);
    std::ranges::stable_sort(
        times, {}, [](const Timed& one) { return std::pair(!one.time_s, one.time_s.value_or(0)); });
    const bool some_timed = times.front().time_s.has_value();
    std::vector<MeasuredFile> files;
    std::vector<FileSpan> spans;
    for (const Timed& one : times) {
        files.push_back(std::move(recording.files[one.file]));
        spans.push_back(std::move(recording.spans[one.file]));
        if (some_timed && !one.time_s)
            recording.notices.push_back({spans.back().label,
                                         "has no time of its own and is placed after the files "
                                         "that have one: its times are a guess",
                                         false});
    }
    recording.files = std::move(files);
    recording.spans = std::move(spans);
}

/// A session's channels, described for files that follow one another.
Session described(Session session, const FileRecording& recording) {
    const std::string& path = session.path;
    for (const Channel& channel : session.channels)
        if (channel.recording != session.channels.front().recording)
            throw_input(path, "channels",
                        "they lie on recordings side by side, and the files given follow each "
                        "other",
                        "give the session alone");
    for (Channel& channel : session.channels)
        channel.recording.reset();
    std::vector<SessionRecording> recordings;
    const fs::path folder = fs::path(path).parent_path();
    for (std::size_t f = 0; f < recording.files.size(); ++f) {
        SessionRecording one;
        for (const SessionRecording& listed : session.recordings) {
            std::error_code ignored;
            if (fs::equivalent(folder / listed.file, recording.files[f].path, ignored))
                one = listed;
        }
        one.file = recording.spans[f].label;
        recordings.push_back(std::move(one));
    }
    session.recordings = std::move(recordings);
    return session;
}

/// Whether every file names its channels.
bool all_name_their_tracks(const FileRecording& recording) {
    return std::ranges::none_of(
        recording.files, [](const MeasuredFile& file) { return file.info.track_names.empty(); });
}

/// The channels of all files, each once, in order of their names.
AudioInfo named_tracks(const FileRecording& recording) {
    std::set<std::string> names;
    for (const MeasuredFile& file : recording.files)
        names.insert(file.info.track_names.begin(), file.info.track_names.end());
    if (static_cast<int>(names.size()) > most_tracks)
        throw_input(recording.files.front().path, "",
                    fmt::format("and the other files have {} channels together", names.size()),
                    fmt::format("give files with at most {}", most_tracks));
    AudioInfo all;
    all.tracks = static_cast<int>(names.size());
    all.track_names.assign(names.begin(), names.end());
    return all;
}

Session undescribed(const FileRecording& recording) {
    Session session =
        bare_session(recording.by_name ? named_tracks(recording) : recording.files.front().info);
    session.recordings.resize(recording.files.size());
    for (std::size_t f = 0; f < recording.files.size(); ++f)
        session.recordings[f].file = recording.spans[f].label;
    return session;
}

void refuse_among_several(const std::string& input) {
    if (input == "-") throw_usage("standard input among several inputs", "give it alone");
    if (fs::path(input).extension() == ".json")
        throw_usage(input + ": a session file among several inputs",
                    "give it alone, or with --session to describe the files' channels");
}

} // namespace

std::shared_ptr<Recording> open_inputs(std::span<const std::string> inputs,
                                       const OpenOptions& options,
                                       std::span<const std::string> not_inputs,
                                       const OpeningProgress& progress,
                                       const std::vector<std::string>* only) {
    std::error_code ignored;
    if (inputs.size() == 1 && !fs::is_directory(inputs.front(), ignored))
        return open_recording(inputs.front(), options);
    for (const std::string& input : inputs)
        refuse_among_several(input);
    auto recording = std::make_shared<FileRecording>();
    std::vector<std::string> others(not_inputs.begin(), not_inputs.end());
    others.push_back(options.session_file);
    std::vector<ListedFile> files = list_files(inputs, others, recording->notices);
    if (only != nullptr)
        std::erase_if(files, [only](const ListedFile& file) {
            return std::ranges::find(*only, file.path) == only->end();
        });
    if (files.empty())
        throw_input(inputs.empty() ? "" : inputs.front(), "", "holds no file",
                    "give a folder with audio files");
    add_files(*recording, files, options.examined.get(), progress);
    drop_exercises(*recording);
    std::optional<Session> session;
    if (!options.session_file.empty()) session = load_session(options.session_file, true);
    recording->by_name = !session && all_name_their_tracks(*recording);
    keep_what_fits(*recording, session              ? std::optional(tracks_of(*session))
                               : recording->by_name ? std::optional(1)
                                                    : std::nullopt);
    drop_other_nights(*recording);
    put_in_time_order(*recording);
    recording->session =
        session ? described(std::move(*session), *recording) : undescribed(*recording);
    finish_opening(*recording, options);
    return recording;
}

} // namespace lull
