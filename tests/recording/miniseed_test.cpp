// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/helpers.hpp"
#include "recording/miniseed_files.hpp"
#include "recording/sequence.hpp"
#include "recording/start_time.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace lull {
namespace {

using test::Folder;
using test::miniseed_records;
using test::MiniseedWriting;
using test::write_bytes;

constexpr double full_scale_24 = 8388608.0;
constexpr int rate_hz = 4000;
constexpr std::int64_t us_per_frame = 1000000 / rate_hz;

/// Noise of about 2^14 counts.
std::vector<std::int32_t> counts(int frames, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> value(0.0, 4000.0);
    std::vector<std::int32_t> samples(static_cast<std::size_t>(frames));
    for (std::int32_t& sample : samples)
        sample = static_cast<std::int32_t>(std::clamp(value(random), -32000.0, 32000.0));
    return samples;
}

Block whole(const Recording& recording) {
    Block block;
    recording.open()->read(0, recording.frames, block);
    return block;
}

std::shared_ptr<Recording> opened(const std::string& path) {
    return open_recording(path, {});
}

bool is_degraded(const Recording& recording) {
    return std::ranges::any_of(recording.notices, &Notice::degraded);
}

void expect_counts(std::span<const float> got, const std::vector<std::int32_t>& counts,
                   double full_scale) {
    ASSERT_EQ(got.size(), counts.size());
    for (std::size_t n = 0; n < counts.size(); ++n)
        ASSERT_EQ(got[n], static_cast<float>(counts[n] / full_scale)) << "sample " << n;
}

TEST(Miniseed, EveryIntegerEncodingOfLibmseedIsReadExactly) {
    const std::vector<std::int32_t> samples = counts(3 * rate_hz, 1);
    for (const int encoding : {DE_INT16, DE_INT32, DE_STEIM1, DE_STEIM2})
        for (const int record_bytes : {256, 512, 4096})
            for (const bool big_endian : {true, false}) {
                SCOPED_TRACE(testing::Message() << "encoding " << encoding << ", records of "
                                                << record_bytes << ", big-endian " << big_endian);
                const Folder folder;
                MiniseedWriting how;
                how.encoding = encoding;
                how.record_bytes = record_bytes;
                how.big_endian = big_endian;
                write_bytes(folder / "a.mseed", miniseed_records(how, samples));
                const auto recording = opened(folder / "a.mseed");
                EXPECT_EQ(recording->rate_hz, rate_hz);
                EXPECT_TRUE(recording->notices.empty());
                expect_counts(whole(*recording).channel(0), samples,
                              encoding == DE_INT16 ? 32768.0 : full_scale_24);
            }
}

TEST(Miniseed, FloatsAreUnchanged) {
    std::vector<float> floats(2 * rate_hz);
    for (std::size_t n = 0; n < floats.size(); ++n)
        floats[n] = 0.5F * std::sin(0.01F * static_cast<float>(n));
    const std::vector<double> doubles(floats.begin(), floats.end());
    for (const int encoding : {DE_FLOAT32, DE_FLOAT64}) {
        const Folder folder;
        MiniseedWriting how;
        how.encoding = encoding;
        write_bytes(folder / "a.mseed", encoding == DE_FLOAT32 ? miniseed_records(how, floats)
                                                               : miniseed_records(how, doubles));
        const auto recording = opened(folder / "a.mseed");
        const Block block = whole(*recording);
        ASSERT_EQ(block.frames, std::ssize(floats));
        for (std::size_t n = 0; n < floats.size(); ++n)
            ASSERT_EQ(block.channel(0)[n], floats[n]);
    }
}

TEST(Miniseed, ChannelNamesAndStartComeFromTheRecords) {
    const Folder folder;
    MiniseedWriting north, south;
    south.station = "SOUTH";
    south.location = "";
    // The channel "south" began 0.5 s later and is written first.
    south.start_us += 500000;
    write_bytes(folder / "a.mseed", miniseed_records(south, counts(2000, 2)) +
                                        miniseed_records(north, counts(8000, 3)));
    const auto recording = opened(folder / "a.mseed");
    ASSERT_EQ(recording->channels.size(), 2U);
    EXPECT_EQ(recording->channels[0].name, "XX.NORTH.00.HHZ");
    EXPECT_EQ(recording->channels[1].name, "XX.SOUTH..HHZ");
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T00:00:00.000Z");
    EXPECT_EQ(recording->start.source, "miniSEED records");
    EXPECT_EQ(recording->frames, 8000);
    const Block block = whole(*recording);
    expect_counts(block.channel(1).subspan(2000, 2000), counts(2000, 2), full_scale_24);
    ASSERT_EQ(block.missing.size(), 2U); // south before its start and after its end
    EXPECT_EQ(block.missing[0].channel, 1);
    EXPECT_EQ(block.missing[0].count, 2000);
    EXPECT_EQ(block.missing[1].first, 4000);
    EXPECT_EQ(block.missing[1].count, 4000);
    EXPECT_FALSE(is_degraded(*recording));
}

TEST(Miniseed, GapsKeepTheTimeLineAndOverlapsAreReadOnce) {
    const Folder folder;
    MiniseedWriting first, later, again;
    later.start_us += 6000 * us_per_frame; // 2000 frames of gap
    again.start_us += 9000 * us_per_frame; // 1000 frames twice
    const auto a = counts(4000, 4), b = counts(4000, 5), c = counts(4000, 6);
    write_bytes(folder / "a.mseed", miniseed_records(later, b) + miniseed_records(first, a) +
                                        miniseed_records(again, c));
    const auto recording = opened(folder / "a.mseed");
    EXPECT_EQ(recording->frames, 13000);
    const Block block = whole(*recording);
    expect_counts(block.channel(0).subspan(0, 4000), a, full_scale_24);
    expect_counts(block.channel(0).subspan(6000, 4000), b, full_scale_24);
    expect_counts(block.channel(0).subspan(10000, 3000), {c.begin() + 1000, c.end()},
                  full_scale_24);
    ASSERT_EQ(block.missing.size(), 1U);
    EXPECT_EQ(block.missing[0].first, 4000);
    EXPECT_EQ(block.missing[0].count, 2000);
    ASSERT_EQ(recording->notices.size(), 2U);
    EXPECT_EQ(recording->notices[0].text, "nothing was recorded on XX.NORTH.00.HHZ for 0.500000 s, "
                                          "in one gap between 1.000000 s and 1.500000 s");
    EXPECT_EQ(recording->notices[1].text, "its records overlap by 0.250000 s; the one that began "
                                          "earlier counts there");
    EXPECT_FALSE(is_degraded(*recording));
}

TEST(Miniseed, DamagedRecordIsLostAndNothingElseMoves) {
    const auto samples = counts(4 * rate_hz, 7);
    const std::string sound = miniseed_records(MiniseedWriting(), samples);
    const std::size_t record = 512 * (sound.size() / 1024);
    struct Case {
        const char* name;
        std::size_t from, bytes;
        char value;
    };
    for (const Case& damage :
         {Case{"header", record, 48, '\xff'}, Case{"header and samples", record, 512, '\0'},
          Case{"first sample", record + 68, 4, '\x11'},
          Case{"last sample", record + 72, 4, '\x11'}}) {
        SCOPED_TRACE(damage.name);
        const Folder folder;
        std::string damaged = sound;
        damaged.replace(damage.from, damage.bytes, damage.bytes, damage.value);
        write_bytes(folder / "a.mseed", damaged);
        const auto recording = opened(folder / "a.mseed");
        EXPECT_EQ(recording->frames, std::ssize(samples));
        EXPECT_TRUE(is_degraded(*recording));
        const Block block = whole(*recording);
        ASSERT_EQ(block.lost.size(), 1U);
        EXPECT_TRUE(block.missing.empty());
        EXPECT_GT(block.lost[0].count, 50);
        EXPECT_LT(block.lost[0].count, 512);
        ASSERT_EQ(recording->inputs[0].lost.size(), 1U);
        EXPECT_EQ(recording->inputs[0].lost[0].first, block.lost[0].first);
        for (Frame n = 0; n < block.frames; ++n) {
            const bool lost =
                n >= block.lost[0].first && n < block.lost[0].first + block.lost[0].count;
            const auto at = static_cast<std::size_t>(n);
            ASSERT_EQ(block.channel(0)[at],
                      lost ? 0.0F : static_cast<float>(samples[at] / full_scale_24));
        }
    }
}

TEST(Miniseed, CutOffFileIsReadToItsLastWholeRecord) {
    const Folder folder;
    const auto samples = counts(4 * rate_hz, 8);
    const std::string sound = miniseed_records(MiniseedWriting(), samples);
    write_bytes(folder / "a.mseed", sound.substr(0, sound.size() / 2 + 100));
    const auto recording = opened(folder / "a.mseed");
    EXPECT_TRUE(is_degraded(*recording));
    EXPECT_TRUE(recording->inputs[0].cut_short);
    EXPECT_GT(recording->frames, rate_hz);
    EXPECT_LT(recording->frames, 3 * rate_hz);
    const auto frames = static_cast<std::size_t>(recording->frames);
    expect_counts(whole(*recording).channel(0), {samples.begin(), samples.begin() + frames},
                  full_scale_24);
}

TEST(Miniseed, ReservedSpaceAfterTheLastRecordIsNoDamage) {
    const Folder folder;
    const auto samples = counts(rate_hz, 9);
    write_bytes(folder / "a.mseed",
                miniseed_records(MiniseedWriting(), samples) + std::string(4096, '\0'));
    const auto recording = opened(folder / "a.mseed");
    EXPECT_TRUE(recording->notices.empty());
    expect_counts(whole(*recording).channel(0), samples, full_scale_24);
}

TEST(Miniseed, BlocksEqualTheWholeFile) {
    const Folder folder;
    MiniseedWriting other;
    other.channel = "HHE";
    other.start_us += 250; // a frame later
    write_bytes(folder / "a.mseed", miniseed_records(MiniseedWriting(), counts(9000, 10)) +
                                        miniseed_records(other, counts(9000, 11)));
    const auto recording = opened(folder / "a.mseed");
    const Block all = whole(*recording);
    const auto stream = recording->open();
    std::mt19937 random(12);
    for (int i = 0; i < 50; ++i) {
        const Frame first = std::uniform_int_distribution<Frame>(0, 8999)(random);
        Block block;
        stream->read(first, 777, block);
        for (int c = 0; c < 2; ++c)
            for (Frame n = 0; n < block.frames; ++n)
                ASSERT_EQ(block.channel(c)[static_cast<std::size_t>(n)],
                          all.channel(c)[static_cast<std::size_t>(first + n)]);
    }
}

TEST(Miniseed, DataOnTheRecordersStateAreLeftOut) {
    const Folder folder;
    MiniseedWriting state;
    state.channel = "VM1";
    state.rate_hz = 1.0;
    write_bytes(folder / "a.mseed", miniseed_records(state, counts(30, 13)) +
                                        miniseed_records(MiniseedWriting(), counts(8000, 14)));
    const auto recording = opened(folder / "a.mseed");
    ASSERT_EQ(recording->channels.size(), 1U);
    EXPECT_EQ(recording->channels[0].name, "XX.NORTH.00.HHZ");
    ASSERT_EQ(recording->notices.size(), 1U);
    EXPECT_EQ(recording->notices[0].text, "channel XX.NORTH.00.VM1 is left out: it has 1 Hz, and "
                                          "most samples 4000 Hz");
    EXPECT_FALSE(is_degraded(*recording));
}

TEST(Miniseed, FilesOfAFolderAreJoinedByTheNamesOfTheirChannels) {
    const Folder folder;
    MiniseedWriting north, south;
    south.station = "SOUTH";
    const auto n1 = counts(8000, 15), n2 = counts(8000, 16), s1 = counts(8000, 17);
    write_bytes(folder / "north-1.mseed", miniseed_records(north, n1));
    north.start_us += 8000 * us_per_frame;
    write_bytes(folder / "north-2.mseed", miniseed_records(north, n2));
    south.start_us += 4000 * us_per_frame;
    write_bytes(folder / "south.mseed", miniseed_records(south, s1));
    const std::vector<std::string> inputs{(folder / ".")};
    const auto recording = open_inputs(inputs, {}, {}, nullptr);
    ASSERT_EQ(recording->channels.size(), 2U);
    EXPECT_EQ(recording->channels[1].name, "XX.SOUTH.00.HHZ");
    EXPECT_EQ(recording->frames, 16000);
    EXPECT_TRUE(recording->notices.empty()) << recording->notices[0].text;
    const Block block = whole(*recording);
    expect_counts(block.channel(0).subspan(0, 8000), n1, full_scale_24);
    expect_counts(block.channel(0).subspan(8000, 8000), n2, full_scale_24);
    expect_counts(block.channel(1).subspan(4000, 8000), s1, full_scale_24);
    ASSERT_EQ(block.missing.size(), 2U);
    EXPECT_EQ(block.missing[0].channel, 1);
}

TEST(Miniseed, RateOutsideTheRangeIsRefused) {
    const Folder folder;
    MiniseedWriting slow;
    slow.rate_hz = 100.0;
    write_bytes(folder / "a.mseed", miniseed_records(slow, counts(1000, 18)));
    try {
        static_cast<void>(opened(folder / "a.mseed"));
        FAIL() << "it was read";
    } catch (const Error& fault) {
        EXPECT_EQ(fault.kind, ErrorKind::input);
        EXPECT_EQ(fault.fault, "has a rate of 100 Hz");
    }
}

} // namespace
} // namespace lull
