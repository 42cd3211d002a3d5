// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/file_recording.hpp"
#include "recording/helpers.hpp"
#include "recording/start_time.hpp"
#include "recording/writer.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace lull::test {
namespace {

using Json = nlohmann::json;
constexpr int rate_hz = 8000;

struct Sequence : ::testing::Test {
    Folder folder;
    Json recordings = Json::array();

    /// A file of one track whose samples all have the same value.
    void add(const std::string& name, double seconds, float value, const std::string& start = "") {
        ASSERT_TRUE(
            write_audio(folder / name, wav_float, 1, rate_hz,
                        std::vector<float>(static_cast<std::size_t>(seconds * rate_hz), value)));
        recordings.push_back({{"file", name}});
        if (!start.empty()) recordings.back()["start"] = start;
    }
    std::shared_ptr<Recording> open(const Json& channels, const std::string& start = "") {
        Json json = {{"format", "lull-session"},
                     {"version", 1},
                     {"recordings", recordings},
                     {"channels", channels}};
        if (!start.empty()) json["start"] = start;
        write_bytes(folder / "s.json", json.dump());
        return open_recording(folder / "s.json", {});
    }
    std::shared_ptr<Recording> open_sequence(const std::string& start = "") {
        return open({{{"name", "one"}, {"kind", "seismic"}, {"track", 1}}}, start);
    }
};

float value_at(const Block& block, int channel, double time_s) {
    return block.channel(channel)[static_cast<std::size_t>(time_s * rate_hz)];
}

TEST_F(Sequence, EndToEndWithoutStarts) {
    add("a.wav", 2, 0.1F);
    add("b.wav", 3, 0.2F);
    add("c.wav", 1, 0.3F);
    const auto recording = open_sequence();
    EXPECT_EQ(recording->frames, 6 * rate_hz);
    EXPECT_TRUE(recording->notices.empty());
    const Block block = read_all(*recording);
    EXPECT_EQ(value_at(block, 0, 1.9999), 0.1F);
    EXPECT_EQ(value_at(block, 0, 2.0), 0.2F);
    EXPECT_EQ(value_at(block, 0, 5.0), 0.3F);
    EXPECT_TRUE(block.missing.empty());
    EXPECT_EQ(clock_text(recording->start, 0.0), "");
}

TEST_F(Sequence, GapsAndOverlapsAreReportedWithTheirTimes) {
    add("a.wav", 2, 0.1F, "2026-03-14T23:59:58");
    add("c.wav", 2, 0.3F, "2026-03-15T00:00:03"); // listed out of order: the starts place the files
    add("b.wav", 2, 0.2F, "2026-03-15T00:00:02");
    const auto recording = open_sequence();
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T23:59:58.000");
    EXPECT_EQ(recording->frames, 7 * rate_hz);
    EXPECT_TRUE(told(*recording, "b.wav: nothing was recorded between a.wav and this file: a gap "
                                 "of 2.000000 s, 2.000000 s to 4.000000 s"));
    EXPECT_TRUE(
        told(*recording, "c.wav: overlaps b.wav from 5.000000 s to 6.000000 s (1.000000 s)"));
    const Block block = read_all(*recording);
    ASSERT_EQ(block.missing.size(), 1U);
    EXPECT_EQ(block.missing[0].first, 2 * rate_hz);
    EXPECT_EQ(block.missing[0].count, 2 * rate_hz);
    EXPECT_EQ(value_at(block, 0, 3.0), 0.0F);
    EXPECT_EQ(value_at(block, 0, 5.5), 0.2F) << "the earlier file counts";
    EXPECT_EQ(value_at(block, 0, 6.0), 0.3F);
}

TEST_F(Sequence, EarliestStartIsFrameZero) {
    add("a.wav", 2, 0.1F, "2026-03-14T12:00:10");
    const auto recording = open_sequence("2026-03-14T12:00:00");
    EXPECT_EQ(recording->frames, 2 * rate_hz);
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T12:00:10.000");
}

TEST_F(Sequence, TimesInNamesShowGapsOfMoreThanTheirRounding) {
    add("2026-03-14_12-00-00.wav", 2, 0.1F);
    add("2026-03-14_12-00-03.wav", 2, 0.2F); // one second late: rounding
    add("2026-03-14_12-01-00.wav", 2, 0.3F); // a real gap
    const auto recording = open_sequence();
    EXPECT_EQ(recording->start.source, "file name");
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T12:00:00.000");
    const Block block = read_all(*recording);
    EXPECT_EQ(value_at(block, 0, 2.0), 0.2F);
    ASSERT_EQ(block.missing.size(), 1U);
    EXPECT_EQ(block.missing[0].first, 4 * rate_hz);
    EXPECT_EQ(block.missing[0].count, 56 * rate_hz); // a minute after the first file's start
}

TEST_F(Sequence, SideBySide) {
    add("a.wav", 2, 0.1F);
    add("b.wav", 3, 0.2F);
    const Json channels = {
        {{"name", "one"}, {"kind", "seismic"}, {"track", 1}, {"recording", 1}},
        {{"name", "two"}, {"kind", "air"}, {"track", 1}, {"recording", 2}, {"polarity", -1}}};
    const auto recording = open(channels);
    EXPECT_EQ(recording->frames, 3 * rate_hz);
    const Block block = read_all(*recording);
    EXPECT_EQ(value_at(block, 0, 1.0), 0.1F);
    EXPECT_EQ(value_at(block, 1, 2.9), -0.2F);
    ASSERT_EQ(block.missing.size(), 1U);
    EXPECT_EQ(block.missing[0].channel, 0);
    EXPECT_TRUE(told(*recording, "a.wav: holds 0.000000 s to 2.000000 s of 3.000000 s"));
}

TEST_F(Sequence, ExerciseIsNotMixedWithOtherRecordings) {
    add("a.wav", 1, 0.1F);
    AudioFormat format;
    format.rate_hz = rate_hz;
    format.expected_frames = rate_hz;
    format.description = "EXERCISE: for this test";
    AudioWriter writer(folder / "b.wav", format);
    writer.write(std::vector<float>(rate_hz, 0.2F));
    writer.close();
    EXPECT_TRUE(open_recording(folder / "b.wav", {})->exercise);
    recordings.push_back({{"file", "b.wav"}});
    expect_error([&] { open_sequence(); }, ErrorKind::input, {"mixes an exercise", "b.wav"});
}

TEST_F(Sequence, ManyFilesReadInAnyOrder) {
    const unsigned seed = 8;
    std::mt19937 random(seed);
    std::vector<float> expected;
    for (int i = 0; i < 90; ++i) { // more than are kept open
        const auto frames = 50 + random() % 200;
        const float value = static_cast<float>(i + 1) / 128.0F;
        add(fmt::format("{:03}.wav", i), static_cast<double>(frames) / rate_hz, value);
        expected.insert(expected.end(),
                        static_cast<std::size_t>(static_cast<double>(frames) / rate_hz * rate_hz),
                        value);
    }
    const auto recording = open_sequence();
    ASSERT_EQ(recording->frames, std::ssize(expected));
    const auto stream = recording->open();
    Block block;
    for (int i = 0; i < 300; ++i) {
        const auto first = static_cast<Frame>(random() % expected.size());
        stream->read(first, static_cast<Frame>(random() % 2000), block);
        EXPECT_TRUE(
            std::equal(block.samples.begin(), block.samples.end(), expected.begin() + first))
            << "seed " << seed;
    }
    stream->read(-100, 150, block);
    EXPECT_EQ(block.first, 0);
    EXPECT_EQ(block.frames, 50);
    stream->read(recording->frames, 10, block);
    EXPECT_EQ(block.frames, 0);
}

TEST(Timeline, SegmentsCoverTheUnionAndNeverOverlap) {
    const unsigned seed = 77;
    std::mt19937 random(seed);
    for (int round = 0; round < 200; ++round) {
        std::vector<FileSpan> spans;
        std::vector<int> files;
        std::vector<bool> covered(600, false);
        for (int i = 0; i < 6; ++i) {
            spans.push_back(
                {"f", static_cast<Frame>(random() % 400), static_cast<Frame>(1 + random() % 150)});
            files.push_back(i);
            for (Frame n = spans.back().first; n < spans.back().end(); ++n)
                covered[static_cast<std::size_t>(n)] = true;
        }
        std::vector<bool> read(600, false);
        Frame before = 0;
        for (const Segment& segment : join_in_sequence(spans, files)) {
            EXPECT_GE(segment.begin, before) << "seed " << seed;
            EXPECT_LT(segment.begin, segment.end);
            EXPECT_GE(segment.begin, spans[static_cast<std::size_t>(segment.file)].first);
            EXPECT_LE(segment.end, spans[static_cast<std::size_t>(segment.file)].end());
            before = segment.end;
            for (Frame n = segment.begin; n < segment.end; ++n)
                read[static_cast<std::size_t>(n)] = true;
        }
        EXPECT_EQ(read, covered) << "seed " << seed;
    }
}

} // namespace
} // namespace lull::test
