// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/recording.hpp"
#include "synthesis/exercise.hpp"
#include "synthesis/scenes.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;

std::string bytes_of(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream bytes;
    bytes << file.rdbuf();
    return bytes.str();
}

class ExerciseFolder : public ::testing::Test {
  protected:
    void SetUp() override {
        folder = fs::temp_directory_path() / ("lull-exercise-test-" + std::to_string(::getpid()));
        fs::remove_all(folder);
        for (const char* name : {"a", "b", "c"})
            fs::create_directories(folder / name);
    }
    void TearDown() override { fs::remove_all(folder); }
    fs::path folder;
};

TEST_F(ExerciseFolder, SameSeedGivesTheSameBytesAndTheTraineeFolderRevealsNothing) {
    Plan plan = bare_plan(12.0);
    plan.events = {event_at(Sound::cry, 5.0, 15.0)};
    PlanFault fault;
    fault.kind = FaultKind::hum;
    fault.channel = "stairwell";
    plan.faults = {fault};
    const auto summary = make_exercise(plan, 4, 0, (folder / "a").string());
    EXPECT_EQ(summary.events, 1);
    EXPECT_TRUE(summary.cries);
    make_exercise(plan, 4, 0, (folder / "b").string());
    make_exercise(plan, 5, 0, (folder / "c").string());
    for (const char* name : {"trainee/recording.wav", "trainee/session.json", "trainee/sheet.csv",
                             "trainee/READ-FIRST.txt", "instructor/truth.csv",
                             "instructor/surroundings.csv", "instructor/notes.txt"}) {
        ASSERT_TRUE(fs::exists(folder / "a" / name)) << name;
        EXPECT_EQ(bytes_of(folder / "a" / name), bytes_of(folder / "b" / name)) << name;
    }
    EXPECT_NE(bytes_of(folder / "a/trainee/recording.wav"),
              bytes_of(folder / "c/trainee/recording.wav"));
    // What the trainee sees has the same length and text, whatever the events.
    for (const char* name :
         {"trainee/recording.wav", "trainee/session.json", "trainee/READ-FIRST.txt"}) {
        EXPECT_EQ(fs::file_size(folder / "a" / name), fs::file_size(folder / "c" / name)) << name;
    }
    const std::string session = bytes_of(folder / "a/trainee/session.json");
    for (const char* word : {"hum", "cry", "contact", "seed"})
        EXPECT_EQ(session.find(word), std::string::npos) << word;
    EXPECT_NE(bytes_of(folder / "a/instructor/notes.txt").find("WARNING: cries"),
              std::string::npos);
}

TEST_F(ExerciseFolder, IsRecognisedAsAnExercise) {
    make_exercise(bare_plan(8.0), 4, 0, (folder / "a").string());
    EXPECT_TRUE(open_recording((folder / "a/trainee/session.json").string(), {})->exercise);
    EXPECT_TRUE(open_recording((folder / "a/trainee/recording.wav").string(), {})
                    ->exercise); // from its bext chunk alone
}

TEST_F(ExerciseFolder, DemoEqualsTheExerciseOfItsPlan) {
    const std::string demo = std::string(LULL_DATA) + "/demo/";
    const Plan plan = load_plan(demo + "plan.json");
    make_exercise(plan, plan.seed, 0, (folder / "a").string());
    EXPECT_EQ(bytes_of(folder / "a/trainee/session.json"), bytes_of(demo + "session.json"));
    EXPECT_EQ(bytes_of(folder / "a/instructor/truth.csv"), bytes_of(demo + "truth.csv"));
    EXPECT_LT(fs::file_size(demo + "recording.flac"), 3'000'000u);
    const auto kept = open_recording(demo + "recording.flac", {}),
               made = open_recording((folder / "a/trainee/recording.flac").string(), {});
    ASSERT_EQ(kept->frames, made->frames);
    Block one, other;
    kept->open()->read(0, kept->frames, one);
    made->open()->read(0, made->frames, other);
    // Another compiler may round the last bit of a 16-bit sample differently.
    constexpr float tolerance = 2.0F / 32768.0F;
    float worst = 0.0F;
    for (std::size_t i = 0; i < one.samples.size(); ++i)
        worst = std::max(worst, std::abs(one.samples[i] - other.samples[i]));
    EXPECT_LE(worst, tolerance);
}

} // namespace
} // namespace lull
