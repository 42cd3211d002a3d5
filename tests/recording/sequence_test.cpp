// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/sequence.hpp"

#include "recording/audio_file.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/helpers.hpp"
#include "recording/start_time.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace lull::test {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
constexpr int rate_hz = 8000;

struct Night : ::testing::Test {
    Folder folder;

    Night() { fs::create_directory(folder / "night"); }
    [[nodiscard]] std::string at(const std::string& name) const { return folder / "night/" + name; }
    /// A file whose samples all have the same value.
    void add(const std::string& name, double seconds, float value, int tracks = 1,
             int rate = rate_hz) {
        ASSERT_TRUE(write_audio(at(name), wav_float, tracks, rate,
                                std::vector<float>(static_cast<std::size_t>(seconds * rate) *
                                                       static_cast<std::size_t>(tracks),
                                                   value)));
    }
    void add_with_chunk(const std::string& name, float value, const std::string& description,
                        const std::string& date, const std::string& time) const {
        BroadcastChunk chunk;
        chunk.description = description;
        chunk.date = date;
        chunk.time = time;
        write_with_chunk(at(name), value, chunk);
    }
    static void write_with_chunk(const std::string& path, float value,
                                 const BroadcastChunk& chunk) {
        SF_INFO info{};
        info.format = wav_float;
        info.channels = 1;
        info.samplerate = rate_hz;
        SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
        SF_BROADCAST_INFO bext{};
        chunk.description.copy(bext.description, sizeof bext.description - 1);
        chunk.date.copy(bext.origination_date, sizeof bext.origination_date);
        chunk.time.copy(bext.origination_time, sizeof bext.origination_time);
        bext.version = 1;
        sf_command(file, SFC_SET_BROADCAST_INFO, &bext, sizeof bext);
        const std::vector<float> samples(2 * rate_hz, value);
        sf_writef_float(file, samples.data(), 2 * rate_hz);
        ASSERT_EQ(sf_close(file), 0);
    }
    [[nodiscard]] std::shared_ptr<Recording> open(const OpenOptions& options = {},
                                                  std::vector<std::string> not_inputs = {}) const {
        const std::vector<std::string> inputs{folder / "night"};
        return open_inputs(inputs, options, not_inputs, {});
    }
    static std::vector<std::string> labels(const Recording& recording) {
        std::vector<std::string> all;
        for (const InputFile& input : recording.inputs)
            all.push_back(input.label);
        return all;
    }
    static float value_at(const Recording& recording, double time_s) {
        Block block;
        recording.open()->read(static_cast<Frame>(time_s * rate_hz), 1, block);
        return block.frames == 1 ? block.samples[0] : -1.0F;
    }
    static int degraded(const Recording& recording) {
        return static_cast<int>(std::ranges::count(recording.notices, true, &Notice::degraded));
    }
};

using Names = std::vector<std::string>;

TEST_F(Night, FilesWithoutTimesFollowInOrderOfTheirNames) {
    add("take-10.wav", 1, 0.3F);
    add("take-9.wav", 2, 0.2F);
    add("take-1.wav", 3, 0.1F);
    const auto recording = open();
    EXPECT_EQ(labels(*recording), (Names{"take-1.wav", "take-9.wav", "take-10.wav"}));
    EXPECT_EQ(recording->frames, 6 * rate_hz);
    EXPECT_EQ(value_at(*recording, 2.99), 0.1F);
    EXPECT_EQ(value_at(*recording, 3.0), 0.2F);
    EXPECT_EQ(value_at(*recording, 5.0), 0.3F);
    EXPECT_TRUE(recording->notices.empty());
    EXPECT_EQ(clock_text(recording->start, 0.0), "");
    const Names reversed{at("take-9.wav"), at("take-10.wav"), at("take-1.wav"), at("take-9.wav")};
    EXPECT_EQ(labels(*open_inputs(reversed, {}, {}, {})), labels(*recording))
        << "the same files, however they are named";
}

TEST_F(Night, FilesArePlacedByTheirOwnTimes) {
    add("b_2026-03-14_23-59-50.wav", 10, 0.1F);
    add("a_2026-03-15_00-00-30.wav", 5, 0.3F); // half a minute is missing before it
    add("c_2026-03-15_00-00-00.wav", 1, 0.2F);
    const auto recording = open();
    EXPECT_EQ(value_at(*recording, 0.0), 0.1F);
    EXPECT_EQ(value_at(*recording, 10.0), 0.2F);
    EXPECT_EQ(value_at(*recording, 40.0), 0.3F);
    EXPECT_EQ(recording->frames, 45 * rate_hz);
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T23:59:50.000");
    EXPECT_TRUE(told(*recording, "a gap of 29.000000 s, 11.000000 s to 40.000000 s"));
    EXPECT_EQ(degraded(*recording), 0) << "a gap is reported, not an error";
}

TEST_F(Night, BroadcastChunkOverridesTheName) {
    add_with_chunk("2026-03-14_10-00-00.wav", 0.2F, "", "2026-03-14", "04:00:02");
    add_with_chunk("2026-03-14_11-00-00.wav", 0.1F, "", "2026-03-14", "04:00:00");
    const auto recording = open();
    EXPECT_EQ(labels(*recording), (Names{"2026-03-14_11-00-00.wav", "2026-03-14_10-00-00.wav"}));
    EXPECT_EQ(recording->start.source, "bext chunk");
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T04:00:00.000");
}

TEST_F(Night, SmallDifferencesDoNotAddUpUnnoticed) {
    // Ten files of 10 s, each 1.5 s late: within the rounding of one file, not of ten.
    for (int i = 0; i < 10; ++i)
        add(fmt::format("2026-03-14_00-{:02}-{:02}.wav", i * 23 / 120, i * 23 / 2 % 60), 10, 0.1F);
    const auto recording = open();
    for (std::size_t i = 0; i < 10; ++i)
        EXPECT_NEAR(recording->seconds(recording->inputs[i].first), static_cast<double>(i * 23 / 2),
                    2.0)
            << i;
}

TEST_F(Night, FilesThatDoNotFitAreNamedAndSkipped) {
    add("1.wav", 2, 0.1F, 2);
    add("2.wav", 1, 0.9F, 3);
    add("3.wav", 1, 0.9F, 2, 16000);
    add("4.wav", 2, 0.2F, 2);
    write_bytes(at("5.wav"), "this is a letter, not a sound");
    write_bytes(at("6.wav"), wav_header(2, rate_hz, 16, 40).substr(0, 20));
    fs::create_symlink(folder / "gone.wav", at("7.wav"));
    fs::create_directory(at("deeper"));
    write_bytes(at(".hidden"), "x");
    fs::create_directory(at("out"));
    write_bytes(at("out/run.log"), "Folder written by lull-review\n");
    const auto recording = open();
    EXPECT_EQ(labels(*recording), (Names{"1.wav", "4.wav"}));
    EXPECT_EQ(value_at(*recording, 2.0), 0.2F);
    EXPECT_TRUE(told(*recording, "2.wav: skipped: has 3 channels at 8000 Hz"));
    EXPECT_TRUE(told(*recording, "3.wav: skipped: has 2 channels at 16000 Hz"));
    EXPECT_TRUE(told(*recording, "5.wav: skipped: "));
    EXPECT_TRUE(told(*recording, "6.wav: skipped: "));
    EXPECT_TRUE(told(*recording, "7.wav: skipped: No such file"));
    EXPECT_TRUE(told(*recording, "deeper/: skipped: "));
    EXPECT_EQ(degraded(*recording), 6) << "each once, and nothing else";
}

TEST_F(Night, ExerciseAmongRealRecordingsIsSkipped) {
    add("a.wav", 1, 0.1F);
    add_with_chunk("b.wav", 0.2F, std::string(exercise_mark), "", "");
    const auto recording = open();
    EXPECT_EQ(labels(*recording), (Names{"a.wav"}));
    EXPECT_FALSE(recording->exercise);
    EXPECT_TRUE(told(*recording, "b.wav: skipped: is an exercise"));
    fs::remove(at("a.wav"));
    EXPECT_TRUE(open()->exercise) << "exercises alone are analysed as what they are";
}

TEST_F(Night, ClockThatLostTheDateDoesNotMakeATimeLineOfYears) {
    add("2026-03-14_01-00-00.wav", 3, 0.1F);
    add("2026-03-14_01-10-00.wav", 3, 0.1F);
    add("2000-01-01_00-00-00.wav", 2, 0.2F);
    const auto recording = open();
    EXPECT_EQ(recording->frames, 603 * rate_hz);
    EXPECT_TRUE(told(*recording, "2000-01-01_00-00-00.wav: skipped: the time that it carries"));
}

TEST_F(Night, FileCoveredByOthersIsReportedAsNotAnalysed) {
    add("2026-03-14_01-00-00.wav", 30, 0.1F);
    add("other_2026-03-14_01-00-10.wav", 5, 0.2F);
    const auto recording = open();
    EXPECT_EQ(value_at(*recording, 12.0), 0.1F);
    EXPECT_TRUE(told(*recording, "other_2026-03-14_01-00-10.wav: skipped: lies wholly within"));
}

TEST_F(Night, SessionDescribesTheChannelsAndIsNoInput) {
    add("1.wav", 2, 0.1F, 2);
    add("2.wav", 2, 0.2F, 3);
    add("3.wav", 2, 0.3F, 1);
    const Json session = {
        {"format", "lull-session"},
        {"version", 1},
        {"start", "2026-03-14T22:00:00"},
        {"recordings", {{{"file", "1.wav"}}}},
        {"channels",
         {{{"name", "stairwell"}, {"kind", "seismic"}, {"track", 1}},
          {{"name", "void-mic"}, {"kind", "air"}, {"track", 2}, {"polarity", -1}}}}};
    write_bytes(at("site.json"), session.dump());
    write_bytes(at("log.csv"), "time,action\n");
    OpenOptions options;
    options.session_file = at("site.json");
    const auto recording = open(options, {at("log.csv")});
    EXPECT_EQ(labels(*recording), (Names{"1.wav", "2.wav"}));
    ASSERT_EQ(recording->channels.size(), 2U);
    EXPECT_EQ(recording->channels[1].name, "void-mic");
    EXPECT_EQ(clock_text(recording->start, 2.0), "2026-03-14T22:00:02.000");
    Block block;
    recording->open()->read(3 * rate_hz, 1, block);
    EXPECT_EQ(block.samples, (std::vector<float>{0.2F, -0.2F}));
    EXPECT_EQ(degraded(*recording), 1);
    EXPECT_TRUE(told(*recording, "3.wav: skipped: has 1 channels, and 2 are described"));
}

TEST_F(Night, SessionOfAFileSequenceSkipsUnreadableFiles) {
    add("1.wav", 2, 0.1F);
    write_bytes(at("2.wav"), "no sound");
    add("3.wav", 2, 0.3F);
    Json session = {{"format", "lull-session"},
                    {"version", 1},
                    {"recordings",
                     {{{"file", "1.wav"}, {"start", "2026-03-14T22:00:00"}},
                      {{"file", "2.wav"}},
                      {{"file", "3.wav"}, {"start", "2026-03-14T22:00:08"}}}},
                    {"channels", {{{"name", "one"}, {"kind", "air"}, {"track", 1}}}}};
    write_bytes(at("s.json"), session.dump());
    const Names inputs{at("s.json")};
    const auto recording = open_inputs(inputs, {}, {}, {});
    EXPECT_EQ(labels(*recording), (Names{"1.wav", "3.wav"}));
    EXPECT_EQ(value_at(*recording, 8.5), 0.3F);
    EXPECT_EQ(degraded(*recording), 1);
    session["channels"][0]["recording"] = 1; // side by side a missing one leaves a channel empty
    write_bytes(at("s.json"), session.dump());
    expect_bad_input(at("s.json"), {"recordings[1].file", "2.wav"});
}

TEST_F(Night, UnusableInputsAreRefused) {
    expect_error([&] { (void)open(); }, ErrorKind::input, {"holds no file"});
    write_bytes(at("a.wav"), "a letter");
    write_bytes(at("b.wav"), "a letter");
    expect_error([&] { (void)open(); }, ErrorKind::input, {"none of 2 files"});
    const Names with_session{at("a.wav"), at("s.json")}, with_input{at("a.wav"), "-"};
    expect_error([&] { (void)open_inputs(with_session, {}, {}, {}); }, ErrorKind::usage,
                 {"session file among several"});
    expect_error([&] { (void)open_inputs(with_input, {}, {}, {}); }, ErrorKind::usage,
                 {"standard input among"});
}

TEST_F(Night, FilesOfOneNameAreLabelledWithTheirFolder) {
    for (const char* day : {"night/monday", "night/tuesday"}) {
        fs::create_directory(folder / day);
        ASSERT_TRUE(write_audio(folder / day + std::string("/1.wav"), wav16, 1, rate_hz,
                                std::vector<float>(800, 0.5F)));
    }
    const Names inputs{at("monday"), at("tuesday")};
    std::size_t told_s = 0;
    const auto recording = open_inputs(inputs, {}, {}, [&](std::size_t done, std::size_t total) {
        EXPECT_EQ(total, 2U);
        told_s += done;
    });
    EXPECT_EQ(told_s, 3U);
    EXPECT_EQ(labels(*recording), (Names{"monday/1.wav", "tuesday/1.wav"}));
}

} // namespace
} // namespace lull::test
