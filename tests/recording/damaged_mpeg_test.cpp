// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/damaged.hpp"

namespace lull::test {
namespace {

using DamagedMpeg = Damaged;

/// Starts of the layer III frames in a file that begins with one, and the end.
std::vector<std::size_t> mpeg_frames_of(const std::string& bytes, int rate_hz) {
    constexpr int lower[] = {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160};
    constexpr int upper[] = {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320};
    std::vector<std::size_t> starts{0};
    while (starts.back() < bytes.size()) {
        const auto code = static_cast<unsigned char>(bytes[starts.back() + 2]);
        const int kilobits = (rate_hz < 32000 ? lower : upper)[code >> 4];
        starts.push_back(starts.back() + static_cast<std::size_t>((rate_hz < 32000 ? 72 : 144) *
                                                                      1000 * kilobits / rate_hz +
                                                                  (code >> 1 & 1)));
    }
    return starts;
}

class DamagedMpegFrames : public Damaged, public testing::WithParamInterface<int> {
  protected:
    std::vector<std::size_t> frames;
    Frame frame_length = GetParam() < 32000 ? 576 : 1152;

    void make_mpeg() {
        rate_hz = GetParam();
        make(mp3);
        frames = mpeg_frames_of(bytes, GetParam());
        ASSERT_EQ(frames.back(), bytes.size());
        ASSERT_GT(frames.size(), 100U);
        testing::internal::CaptureStderr();
    }
    void TearDown() override {
        EXPECT_EQ(testing::internal::GetCapturedStderr(), "") << "the decoder's own lines";
    }
    void expect_one_loss(const std::string& damaged, Frame most_frames) const {
        const auto recording = open(damaged);
        EXPECT_EQ(recording->frames, whole.frames);
        EXPECT_EQ(recording->inputs[0].lost.size(), 1U);
        EXPECT_GT(lost_frames(*recording), 0);
        EXPECT_LE(lost_frames(*recording), most_frames * frame_length);
        EXPECT_TRUE(is_degraded(*recording));
        EXPECT_TRUE(told(*recording, "a.bin: is damaged: "));
        EXPECT_FALSE(recording->inputs[0].cut_short);
        expect_right(*recording, mpeg_tolerance);
    }
    void expect_first_part(const std::string& damaged) const {
        const auto recording = open(damaged);
        EXPECT_TRUE(told(*recording, "is damaged in several places"));
        EXPECT_TRUE(recording->inputs[0].cut_short);
        EXPECT_LE(recording->frames, 80 * frame_length);
        EXPECT_GT(recording->frames, 75 * frame_length);
        expect_right(*recording, mpeg_tolerance);
    }
};

/// Frames that are lost besides damaged ones: the one before a missing header, and later ones that
/// depend on lost data or overlap it.
constexpr Frame beside = 9;

TEST_P(DamagedMpegFrames, IntactFileEqualsTheOutputOfLibsndfile) {
    make_mpeg();
    SF_INFO info{};
    SNDFILE* file = sf_open(path.c_str(), SFM_READ, &info);
    std::vector<float> all(static_cast<std::size_t>(whole.frames * 2 + 2));
    EXPECT_EQ(sf_readf_float(file, all.data(), whole.frames + 1), whole.frames);
    sf_close(file);
    for (Frame n = 0; n < whole.frames; ++n)
        ASSERT_EQ(whole.channel(1)[static_cast<std::size_t>(n)],
                  all[static_cast<std::size_t>(2 * n + 1)])
            << n;
}

TEST_P(DamagedMpegFrames, BadWordInAHeader) {
    make_mpeg();
    for (const std::size_t i : {std::size_t{1}, frames.size() / 2, frames.size() - 20})
        expect_one_loss(overwritten(frames[i], 4), 1 + beside);
}

TEST_P(DamagedMpegFrames, Hole) {
    make_mpeg();
    const std::size_t i = frames.size() / 2;
    expect_one_loss(without(frames[i] + 40, 10), 1 + beside);
    expect_one_loss(without(frames[i] + 20, frames[i + 12] - frames[i] + 33), 14 + beside);
}

TEST_P(DamagedMpegFrames, BadWordInTheDataIsReportedWithoutItsPlace) {
    make_mpeg();
    const std::size_t i = frames.size() / 2;
    for (const std::size_t at :
         {std::size_t{60}, frames.back() - 30, frames[i] + 6, frames[i] + 60}) {
        SCOPED_TRACE(at);
        const auto recording = open(overwritten(at, 2));
        EXPECT_EQ(recording->frames, whole.frames);
        EXPECT_TRUE(is_degraded(*recording));
        EXPECT_TRUE(told(*recording, "its checksum is wrong, and nothing tells where"));
    }
    const Block block = read_all(*open(overwritten(frames[i] + 60, 2)));
    for (Frame n = (static_cast<Frame>(i) + beside) * frame_length; n < whole.frames; ++n)
        ASSERT_NEAR(block.samples[static_cast<std::size_t>(n)],
                    whole.samples[static_cast<std::size_t>(n)], mpeg_tolerance)
            << n;
}

TEST_P(DamagedMpegFrames, CutEnd) {
    make_mpeg();
    const std::size_t i = frames.size() / 2;
    const auto recording = open(bytes.substr(0, frames[i] + 50));
    EXPECT_TRUE(recording->inputs[0].cut_short);
    EXPECT_EQ(recording->inputs[0].frames_promised, whole.frames);
    EXPECT_TRUE(told(*recording, "is cut short: "));
    EXPECT_GT(recording->frames, whole.frames / 2 - 3 * frame_length);
    EXPECT_TRUE(recording->inputs[0].lost.empty());
    expect_right(*recording, mpeg_tolerance);
}

TEST_P(DamagedMpegFrames, FramesWithUnknownPlaceAreLeftOut) {
    make_mpeg();
    std::string damaged = without(frames[200] + 40, 1000);
    damaged.erase(frames[80] + 40, 1000);
    std::string moved = without(frames[80] + 40, 4096);
    moved.insert(frames[200] + 99, bytes.substr(frames[80] + 40, 4096));
    for (const std::string& several : {damaged, moved})
        expect_first_part(several);
    expect_refused(without(frames[80], frames[83] - frames[80]),
                   {"lacks 3 of", "nothing tells where"});
    expect_refused(bytes.substr(0, frames[80]), {"lacks", "nothing tells where"});
    expect_refused(bytes.substr(frames[1]), {"without a count of its frames"});
    expect_refused(bytes + bytes.substr(frames[1]), {"more frames of MPEG audio than"});
}

TEST_P(DamagedMpegFrames, NameAloneDoesNotMakeAFileMpegAudio) {
    make_mpeg();
    path = folder / "a.MP3";
    expect_refused(bytes.substr(frames[1] / 2), {"a.MP3", "begin with a whole frame of MPEG"});
    expect_refused(std::string(2000, 'x'), {"a.MP3", "begin with a whole frame of MPEG"});
}

INSTANTIATE_TEST_SUITE_P(Rates, DamagedMpegFrames, testing::Values(16000, 44100));

TEST_F(DamagedMpeg, BadWordsOfFramesOfOneSizeAreAllPlaced) {
    rate_hz = 48000.0;
    SF_INFO info{};
    info.format = mp3;
    info.channels = 1;
    info.samplerate = 48000;
    SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
    int constant = SF_BITRATE_MODE_CONSTANT;
    sf_command(file, SFC_SET_BITRATE_MODE, &constant, sizeof constant);
    const std::vector<float> samples = sound(400000, 1);
    sf_writef_float(file, samples.data(), 400000);
    sf_close(file);
    bytes = bytes_of(path);
    whole = read_all(*open_recording(path, {}));
    const std::vector<std::size_t> frames = mpeg_frames_of(bytes, 48000);
    std::string damaged = bytes;
    for (const std::size_t i : {50, 120, 122, 200})
        damaged.replace(frames[i], 4, 4, '\x5A');
    const auto recording = open(damaged);
    EXPECT_EQ(recording->frames, whole.frames);
    EXPECT_EQ(recording->inputs[0].lost.size(), 3U);
    expect_right(*recording, mpeg_tolerance);
}

} // namespace
} // namespace lull::test
