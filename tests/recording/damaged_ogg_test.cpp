// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/damaged.hpp"

namespace lull::test {
namespace {

/// Starts of the pages in a file, and the end.
std::vector<std::size_t> pages_of(const std::string& bytes) {
    std::vector<std::size_t> starts{0};
    while (starts.back() < bytes.size()) {
        const std::size_t at = starts.back(), lacing = static_cast<unsigned char>(bytes[at + 26]);
        std::size_t size = 27 + lacing;
        for (std::size_t i = 0; i < lacing; ++i)
            size += static_cast<unsigned char>(bytes[at + 27 + i]);
        starts.push_back(at + size);
    }
    return starts;
}

class DamagedOgg : public Damaged, public testing::WithParamInterface<int> {
  protected:
    std::vector<std::size_t> pages;
    float tolerance = GetParam() == opus ? opus_tolerance : 0.0F;
    /// Longest loss: the longest page, what its neighbours lose, and the time in which Opus finds
    /// its state again.
    Frame most_lost = static_cast<Frame>((GetParam() == opus ? 1.5 : 1.2) * rate_hz);

    void make_ogg() {
        make(GetParam());
        pages = pages_of(bytes);
        ASSERT_GT(pages.size(), 10U);
    }
    [[nodiscard]] std::string page(std::size_t i) const {
        return bytes.substr(pages[i], pages[i + 1] - pages[i]);
    }
    void expect_one_loss(const std::string& damaged) const {
        const auto recording = open(damaged);
        EXPECT_EQ(recording->frames, whole.frames);
        EXPECT_EQ(recording->inputs[0].lost.size(), 1U);
        EXPECT_GT(lost_frames(*recording), 0);
        EXPECT_LT(lost_frames(*recording), most_lost);
        EXPECT_TRUE(is_degraded(*recording));
        EXPECT_TRUE(told(*recording, "a.bin: is damaged: "));
        EXPECT_FALSE(recording->inputs[0].cut_short);
        expect_right(*recording, tolerance);
    }
};

TEST_P(DamagedOgg, DroppedPage) {
    make_ogg();
    for (const std::size_t i : {std::size_t{2}, pages.size() / 2, pages.size() - 4}) {
        SCOPED_TRACE(i);
        expect_one_loss(without(pages[i], pages[i + 1] - pages[i]));
    }
}

TEST_P(DamagedOgg, LastPageAfterALossGivesTheEndButNotItsBegin) {
    make_ogg();
    const std::size_t i = pages.size() - 3;
    const auto recording = open(without(pages[i], pages[i + 1] - pages[i]));
    EXPECT_TRUE(recording->inputs[0].cut_short);
    EXPECT_EQ(recording->inputs[0].frames_promised, whole.frames);
    EXPECT_GT(recording->frames, whole.frames - 2 * most_lost);
    EXPECT_TRUE(told(*recording, "is cut short: 192000 frames promised"));
    expect_right(*recording);
}

TEST_P(DamagedOgg, BadWord) {
    make_ogg();
    const std::size_t i = pages.size() / 2;
    for (const std::size_t at :
         {pages[i], pages[i] + 7, pages[i] + 20, (pages[i] + pages[i + 1]) / 2})
        expect_one_loss(overwritten(at, 4));
}

TEST_P(DamagedOgg, HoleWithinPages) {
    make_ogg();
    const std::size_t i = pages.size() / 2;
    expect_one_loss(without((pages[i] + pages[i + 1]) / 2, 512));
    most_lost *= 2;
    expect_one_loss(without(pages[i] + 100, pages[i + 1] - pages[i]));
}

TEST_P(DamagedOgg, SeveralPlaces) {
    make_ogg();
    std::string damaged = overwritten(pages[4] + 300, 4);
    damaged.erase(pages[8] + 90, 700);
    const auto recording = open(damaged);
    EXPECT_EQ(recording->frames, whole.frames);
    EXPECT_EQ(recording->inputs[0].lost.size(), 2U);
    EXPECT_TRUE(told(*recording, "in 2 places"));
    expect_right(*recording, tolerance);
}

TEST_P(DamagedOgg, PagesInTheWrongOrderAreSorted) {
    make_ogg();
    const std::size_t i = pages.size() / 2;
    std::string damaged = bytes.substr(0, pages[i]) + page(i + 1) + page(i);
    damaged += bytes.substr(pages[i + 2]);
    const auto recording = open(damaged);
    EXPECT_EQ(recording->frames, whole.frames);
    EXPECT_TRUE(recording->inputs[0].lost.empty());
    EXPECT_TRUE(is_degraded(*recording));
    EXPECT_TRUE(told(*recording, "wrong order"));
    expect_right(*recording);
    const auto doubled = open(bytes.substr(0, pages[i + 1]) + bytes.substr(pages[i]));
    EXPECT_TRUE(is_degraded(*doubled));
    expect_right(*doubled);
}

TEST_P(DamagedOgg, CutEnd) {
    make_ogg();
    for (const std::size_t size :
         {pages[pages.size() - 4], pages[pages.size() - 4] + 99, pages[3]}) {
        const auto recording = open(bytes.substr(0, size));
        EXPECT_TRUE(recording->inputs[0].cut_short);
        EXPECT_TRUE(is_degraded(*recording));
        EXPECT_TRUE(told(*recording, "is cut off before its end"));
        EXPECT_LT(recording->frames, whole.frames);
        EXPECT_TRUE(recording->inputs[0].lost.empty());
        expect_right(*recording, tolerance);
    }
}

TEST_P(DamagedOgg, FilesWithUnknownTimesAreRefused) {
    make_ogg();
    expect_refused(bytes + bytes, {"several Ogg streams one after another"});
    std::string other = bytes;
    ASSERT_TRUE(write_audio(folder / "other.ogg", vorbis, 1, 8000, noise(16000, 1, 5)));
    expect_refused(bytes_of(folder / "other.ogg").substr(0, 58) + bytes, {"side by side"});
    expect_refused(overwritten(pages[1] + 50, 2), {"head of Ogg pages is damaged"});
    expect_refused(bytes.substr(0, pages[2]), {"no whole page of sound"});
}

INSTANTIATE_TEST_SUITE_P(Codecs, DamagedOgg, testing::Values(vorbis, opus), [](const auto& tested) {
    return tested.param == opus ? "Opus" : "Vorbis";
});

} // namespace
} // namespace lull::test
