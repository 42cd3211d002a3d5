// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pieces.hpp"

#include "detect/arrivals.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr Frame hop = 128; // 8 ms

/// Loud throughout but for dips of 80 ms that begin at the given times [s].
ChannelTracks loud_with_dips(double first_s, double length_s, const std::vector<double>& dips) {
    ChannelTracks tracks;
    tracks.spectrum.first = static_cast<Frame>(first_s * rate_hz);
    tracks.spectrum.hop = hop;
    tracks.spectrum.edges_hz = {100, 200, 400};
    for (double t = first_s; t < first_s + length_s; t += static_cast<double>(hop) / rate_hz) {
        bool quiet = false;
        for (const double dip : dips)
            quiet = quiet || (t >= dip && t < dip + 0.08);
        tracks.spectrum.power.insert(tracks.spectrum.power.end(), 2, quiet ? 0.1F : 1.0F);
    }
    return tracks;
}

TEST(Pieces, ALongStretchIsCutWhereItIsQuietWhateverItBeganAt) {
    for (const double first_s : {0.0, 1.3}) { // as two units would see it
        const ChannelTracks tracks = loud_with_dips(first_s, 12.0, {2.9, 5.4, 8.1});
        const LastingStretch stretch{0, tracks.spectrum.frames(), 30.0F, false};
        const std::vector<LastingStretch> pieces = cut_at_lulls(tracks, stretch, rate_hz);
        std::vector<double> cuts_s;
        for (std::size_t i = 1; i < pieces.size(); ++i) {
            EXPECT_EQ(pieces[i].begin, pieces[i - 1].end);
            cuts_s.push_back(first_s + static_cast<double>(pieces[i].begin * hop) / rate_hz);
        }
        ASSERT_GE(cuts_s.size(), 3U);
        EXPECT_NEAR(cuts_s[0], 2.9, 0.05);
        EXPECT_NEAR(cuts_s[1], 5.4, 0.05);
        EXPECT_NEAR(cuts_s[2], 8.1, 0.05);
        EXPECT_EQ(pieces.front().begin, stretch.begin);
        EXPECT_EQ(pieces.back().end, stretch.end);
    }
}

TEST(Pieces, AShortStretchStaysWhole) {
    const ChannelTracks tracks = loud_with_dips(0.0, 3.0, {1.0});
    const LastingStretch stretch{0, tracks.spectrum.frames(), 30.0F, false};
    EXPECT_EQ(cut_at_lulls(tracks, stretch, rate_hz).size(), 1U);
}

Arrival piece(double onset_s, double end_s, EventKind kind, double confidence) {
    Arrival arrival;
    arrival.onset_s = onset_s;
    arrival.end_s = end_s;
    arrival.kind = kind;
    arrival.confidence = confidence;
    arrival.energy = 1.0;
    arrival.shape.fundamental_hz = 300.0;
    return arrival;
}

TEST(Pieces, JudgedAlikeTheyAreOneAgain) {
    using enum EventKind;
    std::vector<Arrival> all{piece(0, 2, other, 0.3), piece(2, 4, voice_like, 0.7),
                             piece(4, 6, voice_like, 0.9), piece(6, 8, other, 0.3),
                             piece(8.5, 9, other, 0.2)};
    join_pieces(all, {0, 1, 1, 1, 0});
    ASSERT_EQ(all.size(), 4U);
    EXPECT_EQ(all[1].kind, voice_like);
    EXPECT_DOUBLE_EQ(all[1].onset_s, 2.0);
    EXPECT_DOUBLE_EQ(all[1].end_s, 6.0);
    EXPECT_DOUBLE_EQ(all[1].confidence, 0.9);
    EXPECT_DOUBLE_EQ(all[1].energy, 2.0);
}

TEST(Pieces, AVoiceBeginsWithThePieceItIsHeardIn) {
    using enum EventKind;
    std::vector<Arrival> all{piece(0, 2, voice_like, 0.3), piece(2, 4, voice_like, 0.9)};
    join_pieces(all, {0, 1});
    ASSERT_EQ(all.size(), 2U);
    EXPECT_DOUBLE_EQ(all[1].onset_s, 2.0);
}

TEST(Pieces, WhatIsOfNoKindIsFollowedNoFurther) {
    std::vector<Arrival> all;
    std::vector<char> continues;
    for (int i = 0; i < 20; ++i) {
        all.push_back(piece(2.5 * i, 2.5 * (i + 1), EventKind::other, 0.3));
        continues.push_back(i > 0);
    }
    join_pieces(all, continues);
    ASSERT_EQ(all.size(), 1U);
    EXPECT_LE(all[0].end_s, longest_sound_s);
    EXPECT_TRUE(all[0].shape.cut);
}

} // namespace
} // namespace lull
