// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/exercise.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/writer.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace lull {

namespace {

constexpr double step_s = 4.0; ///< rendered and written at once

constexpr const char* sheet_header = "time,kind,channel,x_m,y_m,note\r\n";
constexpr const char* read_first =
    "EXERCISE. This recording was made by a program for training; nobody is in danger in it.\n"
    "The first and last second carry a tone pattern: set a comfortable level with it before you "
    "listen.\n"
    "Write down in sheet.csv what you hear: time (seconds, m:ss or a clock's), kind (tapping, "
    "voice-like, "
    "horn, other), channel.\n"
    // In every exercise: if it were only in those with cries, it would reveal them.
    "WARNING: exercises may contain cries or screams. You may stop at any time.\n";

AudioFormat format_of(const Plan& plan, Frame frames) {
    AudioFormat format;
    format.rate_hz = plan.rate_hz;
    format.tracks = static_cast<int>(plan.channels.size());
    const bool wide =
        plan.format == RecordingFormat::wav_24 || plan.format == RecordingFormat::flac_24;
    format.samples = wide ? SampleFormat::pcm_24 : SampleFormat::pcm_16;
    format.expected_frames = frames;
    format.description = std::string(exercise_mark);
    return format;
}

void make_folder(const std::string& path) {
    std::error_code fault;
    std::filesystem::create_directories(path, fault);
    if (fault) throw_output(path, fault.message(), "a folder that can be written");
}

std::string bytes_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream bytes;
    bytes << file.rdbuf();
    return bytes.str();
}

void write_recording(Scene& scene, const std::string& path,
                     const std::function<void(Frame, Frame)>& progress) {
    AudioWriter writer(path, format_of(scene.plan(), scene.frames()));
    const auto step = static_cast<Frame>(step_s * scene.plan().rate_hz);
    Block block;
    for (Frame first = 0; first < scene.frames(); first += step) {
        scene.render(first, step, block);
        writer.write(block);
        if (progress) progress(block.first + block.frames, scene.frames());
    }
    writer.close();
}

bool has_cries(const Plan& plan) {
    return std::any_of(plan.events.begin(), plan.events.end(), [](const PlanEvent& event) {
        return std::any_of(event.kinds.begin(), event.kinds.end(), [](Sound sound) {
            return sound == Sound::cry || sound == Sound::scream;
        });
    });
}

} // namespace

ExerciseSummary make_exercise(const Plan& plan, std::uint64_t seed, int variant,
                              const std::string& folder,
                              const std::function<void(Frame done, Frame all)>& progress) {
    Scene scene(plan, seed, variant);
    const std::string trainee = folder + "/trainee/", instructor = folder + "/instructor/";
    make_folder(trainee);
    make_folder(instructor);
    const bool flac =
        plan.format == RecordingFormat::flac_16 || plan.format == RecordingFormat::flac_24;
    const std::string recording = flac ? "recording.flac" : "recording.wav";
    write_recording(scene, trainee + recording, progress);
    write_file(trainee + "session.json", session_text(plan, seed, variant, recording));
    write_file(trainee + "sheet.csv", sheet_header);
    ExerciseSummary summary;
    summary.cries = has_cries(plan);
    write_file(trainee + "READ-FIRST.txt", read_first);
    write_file(instructor + "truth.csv", truth_text(scene));
    AtomicFile surroundings(instructor + "surroundings.csv");
    write_surroundings(scene, [&](std::string_view bytes) { surroundings.write(bytes); });
    surroundings.commit();
    write_file(instructor + "notes.txt", notes_text(scene, seed, variant));
    if (!plan.path.empty()) write_file(instructor + "plan.json", bytes_of(plan.path));
    summary.events = static_cast<int>(scene.events().size());
    for (const SceneEvent& event : scene.events())
        summary.not_reached += event.reached ? 0 : 1;
    return summary;
}

} // namespace lull
