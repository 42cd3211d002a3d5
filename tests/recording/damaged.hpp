// SPDX-License-Identifier: GPL-3.0-or-later
//
// Compressed files with damage: what is not reported as lost must equal, frame by frame, the
// undamaged file at that time.
#pragma once

#include "recording/helpers.hpp"

#include <cmath>
#include <numbers>

namespace lull::test {

constexpr int vorbis = SF_FORMAT_OGG | SF_FORMAT_VORBIS, opus = SF_FORMAT_OGG | SF_FORMAT_OPUS,
              flac = SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
              mp3 = SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III;
/// Opus continues from a state that it finds again, not from the one it had.
constexpr float opus_tolerance = 1e-3F;
/// The order of sums in the decoder depends on how many frames it was given before.
constexpr float mpeg_tolerance = 1e-6F;

/// A sweeping tone with weak noise.
inline std::vector<float> sound(Frame frames, int tracks) {
    std::vector<float> samples = noise(frames, tracks, 3);
    for (std::size_t i = 0; i < samples.size(); ++i) {
        const double t = static_cast<double>(i) / tracks / 16000.0;
        samples[i] =
            0.03F * samples[i] +
            static_cast<float>(0.3 * std::sin(2.0 * std::numbers::pi * (300.0 + 40.0 * t) * t));
    }
    return samples;
}

class Damaged : public testing::Test {
  protected:
    Folder folder;
    std::string path = folder / "a.bin", bytes;
    Block whole;
    double rate_hz = 16000.0;

    void make(int format, double seconds = 12.0, int tracks = 2) {
        ASSERT_TRUE(write_audio(path, format, tracks, static_cast<int>(rate_hz),
                                sound(static_cast<Frame>(seconds * rate_hz), tracks)));
        bytes = bytes_of(path);
        const auto recording = open_recording(path, {});
        ASSERT_TRUE(recording->notices.empty()) << recording->notices.front().text;
        ASSERT_FALSE(recording->inputs[0].cut_short);
        whole = read_all(*recording);
    }
    [[nodiscard]] std::shared_ptr<Recording> open(const std::string& damaged) const {
        write_bytes(path, damaged);
        return open_recording(path, {});
    }
    static Frame lost_frames(const Recording& recording) {
        Frame frames = 0;
        for (const FrameRange& lost : recording.inputs[0].lost)
            frames += lost.frames;
        return frames;
    }
    static bool is_degraded(const Recording& recording) {
        return std::ranges::any_of(recording.notices, &Notice::degraded);
    }
    /// Reads in one go and in parts. Everything is the undamaged sound, or reported as lost and 0.
    void expect_right(const Recording& recording, float tolerance = 0.0F) const {
        ASSERT_LE(recording.frames, whole.frames);
        const Block block = read_all(recording);
        std::vector<char> lost(static_cast<std::size_t>(block.frames * block.channels), 0);
        for (const lull::Run& run : block.lost)
            std::fill_n(lost.begin() + run.channel * block.frames + run.first, run.count, 1);
        EXPECT_EQ(std::ranges::count(lost, 1), lost_frames(recording) * block.channels);
        for (int c = 0; c < block.channels; ++c)
            for (Frame n = 0; n < block.frames; ++n) {
                const auto i = static_cast<std::size_t>(c * block.frames + n);
                const float right =
                    lost[i] != 0 ? 0.0F : whole.channel(c)[static_cast<std::size_t>(n)];
                ASSERT_NEAR(block.samples[i], right, tolerance)
                    << "channel " << c << " frame " << n;
            }
        expect_same_in_pieces(recording, block);
    }
    static void expect_same_in_pieces(const Recording& recording, const Block& all) {
        std::mt19937 random(17);
        const auto stream = recording.open();
        Block block;
        for (int i = 0; i < 30; ++i) {
            const Frame first = static_cast<Frame>(random()) % recording.frames;
            stream->read(first, static_cast<Frame>(random() % 9000), block);
            for (int c = 0; c < block.channels; ++c)
                ASSERT_TRUE(std::equal(block.channel(c).begin(), block.channel(c).end(),
                                       all.channel(c).begin() + first))
                    << first;
        }
    }
    void expect_refused(const std::string& damaged, const std::vector<std::string>& words) const {
        write_bytes(path, damaged);
        expect_bad_input(path, words);
    }
    [[nodiscard]] std::string without(std::size_t at, std::size_t count) const {
        return std::string(bytes).erase(at, count);
    }
    [[nodiscard]] std::string flipped(std::size_t byte, int bit) const {
        std::string damaged = bytes;
        damaged[byte] = static_cast<char>(damaged[byte] ^ 1 << bit);
        return damaged;
    }
    [[nodiscard]] std::string overwritten(std::size_t at, std::size_t count) const {
        return std::string(bytes).replace(at, count, count, '\x5A');
    }
};

} // namespace lull::test
