// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/damaged.hpp"

namespace lull::test {
namespace {

using DamagedFlac = Damaged;
constexpr Frame flac_block = 4096; ///< of libsndfile's encoder

TEST_F(DamagedFlac, OneFlippedBitCostsOneFrame) {
    make(flac);
    const std::size_t sound_at = bytes.size() / 50;
    for (int i = 0; i < 60; ++i) {
        const std::size_t at =
            sound_at + static_cast<std::size_t>(i) * (bytes.size() - sound_at) / 60;
        SCOPED_TRACE(at);
        const auto recording = open(flipped(at, i % 8));
        EXPECT_TRUE(is_degraded(*recording));
        if (recording->inputs[0].cut_short) { // the last frame
            EXPECT_EQ(recording->frames, (whole.frames - 1) / flac_block * flac_block);
        } else {
            EXPECT_EQ(recording->frames, whole.frames);
            EXPECT_EQ(recording->inputs[0].lost.size(), 1U);
            EXPECT_EQ(lost_frames(*recording), flac_block);
            EXPECT_TRUE(told(*recording, "a.bin: is damaged: "));
        }
        expect_right(*recording);
    }
}

TEST_F(DamagedFlac, FlippedBitInAHeaderCostsAtMostTheFrameBeforeIt) {
    make(flac);
    const std::string sync{'\xFF', '\xF8'};
    std::size_t at = bytes.find(sync, bytes.size() / 2);
    while (static_cast<unsigned char>(bytes[at + 2]) >> 4 != 12) // a block of 4096
        at = bytes.find(sync, at + 1);
    for (std::size_t bit = 0; bit < 48; ++bit) {
        SCOPED_TRACE(bit);
        const auto recording = open(flipped(at + bit / 8, static_cast<int>(bit % 8)));
        EXPECT_EQ(recording->frames, whole.frames);
        EXPECT_EQ(recording->inputs[0].lost.size(), 1U);
        EXPECT_LE(lost_frames(*recording), bit < 16 ? 2 * flac_block : flac_block);
        expect_right(*recording);
    }
}

TEST_F(DamagedFlac, HolesAndWordsAndBothTogether) {
    make(flac);
    const std::size_t middle = bytes.size() / 2, frame = bytes.size() / 45;
    std::string both = overwritten(bytes.size() / 4, 40);
    both.erase(middle, 3 * frame);
    for (const std::string& damaged :
         {without(middle, 100), without(middle, 5 * frame), overwritten(middle, 2 * frame), both}) {
        const auto recording = open(damaged);
        EXPECT_EQ(recording->frames, whole.frames);
        EXPECT_FALSE(recording->inputs[0].lost.empty());
        EXPECT_LE(lost_frames(*recording), 8 * flac_block);
        EXPECT_TRUE(is_degraded(*recording));
        EXPECT_FALSE(recording->inputs[0].cut_short);
        expect_right(*recording);
    }
}

TEST_F(DamagedFlac, DamagedHeaderAndCutEnd) {
    make(flac);
    const auto cut = open(bytes.substr(0, bytes.size() * 2 / 3));
    EXPECT_TRUE(cut->inputs[0].cut_short);
    EXPECT_EQ(cut->inputs[0].frames_promised, whole.frames);
    EXPECT_EQ(cut->frames % flac_block, 0);
    EXPECT_GT(cut->frames, whole.frames * 2 / 3 - 2 * flac_block);
    expect_right(*cut);
    std::string longer = bytes;
    longer[25] = static_cast<char>(longer[25] + 1); // the number of frames
    expect_right(*open(longer));
    std::string fewer = bytes;
    fewer[24] = 0;
    const auto mended = open(fewer);
    EXPECT_EQ(mended->frames, whole.frames);
    expect_right(*mended);
    expect_refused(flipped(8 + 12, 4), {"no whole frame of FLAC that fits its header"}); // 1 track
}

} // namespace
} // namespace lull::test
