// SPDX-License-Identifier: GPL-3.0-or-later
//
// The whole search, from samples to events and series.
#include "listening.hpp"
#include "sounds.hpp"

#include <gtest/gtest.h>
#include <limits>

namespace lull {
namespace {

using test::Listening;
using test::rate_hz;

std::size_t count(const std::vector<Event>& events, EventKind kind, double confidence) {
    return static_cast<std::size_t>(
        std::count_if(events.begin(), events.end(), [&](const Event& e) {
            return e.kind == kind && e.confidence >= confidence;
        }));
}

double gain_at(double snr_db) {
    return 0.01 * test::white_in_band() * db_to_amplitude(snr_db);
}

TEST(Search, SteadyNoiseInventsNothing) {
    for (const std::uint32_t seed : {71U, 72U}) {
        for (const bool is_brown : {false, true}) {
            const std::vector<float> x =
                is_brown ? test::brown(seed, 120.0, 0.01) : test::white(seed, 120.0, 0.01);
            const std::vector<Event> events = Listening({x}, rate_hz).events();
            EXPECT_EQ(count(events, EventKind::tapping, 0.5), 0U) << seed;
            EXPECT_EQ(count(events, EventKind::voice_like, 0.5), 0U) << seed;
            const auto listed = std::count_if(events.begin(), events.end(),
                                              [](const Event& e) { return e.confidence >= 0.1; });
            EXPECT_LE(listed, 1) << seed;
        }
    }
}

TEST(Search, SilenceAndZerosGiveNothing) {
    EXPECT_TRUE(Listening({std::vector<float>(32000, 0.0F)}, rate_hz).events().empty());
    EXPECT_TRUE(Listening({std::vector<float>(3, 0.0F)}, rate_hz).events().empty());
    // One silent channel does not disturb the other.
    std::vector<float> x = test::white(73, 30.0, 0.01);
    test::add(x, test::knock(), 10.0, gain_at(20.0));
    const std::vector<float> zero(x.size(), 0.0F);
    std::vector<Event> events = Listening({zero, x}, rate_hz).events();
    std::erase_if(events, [](const Event& e) { return e.confidence < 0.1; });
    ASSERT_EQ(events.size(), 1U);
    EXPECT_EQ(events[0].strongest, 1);
}

TEST(Search, AClearImpulseIsListedLow) {
    std::vector<float> x = test::white(74, 30.0, 0.01);
    test::add(x, test::knock(), 10.0, gain_at(20.0));
    std::vector<Event> events = Listening({x}, rate_hz).events();
    std::erase_if(events, [](const Event& e) { return e.confidence < 0.1; });
    ASSERT_EQ(events.size(), 1U) << "seed 74";
    EXPECT_EQ(events[0].kind, EventKind::tapping);
    EXPECT_GE(events[0].confidence, 0.1);
    EXPECT_LT(events[0].confidence, 0.5);
    EXPECT_NEAR(events[0].onset_s, 10.0, 0.002);
    // SNR by construction: a knock of 100 times the noise's power, and the noise itself under it.
    EXPECT_NEAR(events[0].arrivals[0].snr_db, 10.0 * std::log10(101.0), 0.8);
    EXPECT_NE(events[0].why.find("dB over the floor"), std::string::npos);
}

TEST(Search, ADigitallySilentBackgroundStillHasAnEvent) {
    std::vector<float> x(static_cast<std::size_t>(30.0 * rate_hz), 0.0F);
    test::add(x, test::knock(), 10.0, 0.01);
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    ASSERT_EQ(events.size(), 1U);
    EXPECT_EQ(events[0].arrivals[0].snr_db, std::numeric_limits<double>::infinity());
    EXPECT_NE(events[0].why.find("over a digitally silent floor in "), std::string::npos)
        << events[0].why;
}

TEST(Search, GroupsOfKnocksAreSure) {
    std::vector<float> x = test::white(75, 60.0, 0.01);
    for (const double from : {10.0, 25.0, 40.0})
        for (int i = 0; i < 3; ++i)
            test::add(x, test::knock(), from + 0.55 * i, gain_at(10.0));
    Listening listening({x}, rate_hz);
    const std::vector<Event> events = listening.events();
    EXPECT_EQ(count(events, EventKind::tapping, 0.5), 9U) << "seed 75";
    EXPECT_EQ(count(events, EventKind::voice_like, 0.5), 0U);
    ASSERT_FALSE(listening.series.empty());
    EXPECT_GT(listening.series[0].confidence, 0.5);
    EXPECT_NEAR(listening.series[0].interval_s, 0.55, 0.01);
}

TEST(Search, WhatIsStruckAndRingsIsNoVoice) {
    // A pipe: one mode that falls by 20 dB in a quarter of a second, at a pitch that voices have.
    std::vector<float> x = test::white(79, 60.0, 0.01);
    for (const double from : {10.0, 25.0, 40.0})
        for (int i = 0; i < 4; ++i)
            test::add(x, test::knock({167.0}, 0.11), from + 0.5 * i, gain_at(18.0));
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    EXPECT_EQ(count(events, EventKind::tapping, 0.5), 12U) << "seed 79";
    EXPECT_EQ(count(events, EventKind::voice_like, 0.5), 0U);
}

TEST(Search, KnocksAreHeardThroughTheirOwnRinging) {
    // Soft blows on what rings longer than they are apart: one tone at a held pitch, and not voice
    // nor horn, so the blows in it stay.
    std::vector<float> blow = test::knock({167.0}, 0.2);
    for (std::size_t i = 0; i < blow.size(); ++i)
        blow[i] *= 1.0F - std::exp(-static_cast<float>(i) / static_cast<float>(0.012 * rate_hz));
    std::vector<float> x = test::white(84, 60.0, 0.01);
    for (const double from : {10.0, 25.0, 40.0})
        for (int i = 0; i < 4; ++i)
            test::add(x, blow, from + 0.45 * i, gain_at(20.0));
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    for (const double from : {10.0, 25.0, 40.0})
        for (int i = 0; i < 4; ++i)
            EXPECT_EQ(std::ranges::count_if(events,
                                            [&](const Event& event) {
                                                return event.kind == EventKind::tapping &&
                                                       std::abs(event.onset_s - from - 0.45 * i) <
                                                           0.02;
                                            }),
                      1)
                << "seed 84, " << from + 0.45 * i << " s";
}

TEST(Search, AClockInNoiseStaysUnderAHalf) {
    std::vector<float> x = test::white(76, 90.0, 0.01);
    for (int i = 0; i < 85; ++i)
        test::add(x, test::knock({900.0, 1500.0}, 0.008), 2.0 + i, gain_at(15.0));
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    EXPECT_EQ(count(events, EventKind::tapping, 0.5), 0U) << "seed 76";
}

TEST(Search, AHornIsAHorn) {
    std::vector<float> x = test::white(77, 40.0, 0.01);
    test::add(x, test::sung(420.0, 3.0, 0.0, 0.0), 12.0, gain_at(15.0));
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    ASSERT_EQ(count(events, EventKind::horn, 0.5), 1U) << "seed 77";
    EXPECT_NEAR(events[0].onset_s, 12.0, 0.05);
    EXPECT_NEAR(events[0].end_s, 15.0, 0.1);
}

TEST(Search, ALongSoundIsEndedAndSaysSo) {
    std::vector<float> x = test::white(78, 60.0, 0.01);
    test::add(x, test::sung(300.0, 35.0, 0.0, 3.0), 10.0, gain_at(12.0));
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    const auto longest =
        std::max_element(events.begin(), events.end(), [](const Event& a, const Event& b) {
            return a.end_s - a.onset_s < b.end_s - b.onset_s;
        });
    ASSERT_NE(longest, events.end());
    EXPECT_LE(longest->end_s - longest->onset_s, longest_sound_s + 0.01);
    EXPECT_NE(longest->why.find("goes on"), std::string::npos) << longest->why;
}

TEST(Search, RealSpeechIsVoiceLike) {
    const std::string folder = "/usr/share/asterisk/sounds/en/";
    const std::vector<std::string> names{"activated",        "agent-newlocation", "conf-getpin",
                                         "demo-thanks",      "dir-nomatch",       "invalid",
                                         "please-try-again", "vm-goodbye"};
    std::vector<float> x = test::white(79, 6.0 * 8 + 20.0, 0.01);
    std::vector<double> starts;
    for (std::size_t i = 0; i < names.size(); ++i) {
        const auto words = test::speech(folder + names[i] + ".wav");
        if (!words) continue;
        const std::vector<float> some(
            words->begin(), words->begin() + std::min<std::ptrdiff_t>(64000, std::ssize(*words)));
        starts.push_back(10.0 + 6.0 * static_cast<double>(i));
        test::add(x, some, starts.back(), gain_at(10.0));
    }
    if (starts.size() < 4) GTEST_SKIP() << "asterisk-core-sounds-en-wav is not installed";
    const std::vector<Event> events = Listening({x}, rate_hz).events();
    std::size_t found = 0;
    for (const double start : starts) {
        found += std::any_of(events.begin(), events.end(),
                             [&](const Event& e) {
                                 return e.kind == EventKind::voice_like && e.confidence >= 0.5 &&
                                        std::abs(e.onset_s - start) <= 0.2;
                             })
                     ? 1
                     : 0;
    }
    EXPECT_GE(found + 1, starts.size()) << "of " << starts.size() << ", seed 79";
}

TEST(Search, CoresShareTheArrivalsWithoutLossOrRepeat) {
    std::vector<float> x = test::white(80, 40.0, 0.01);
    for (int i = 0; i < 12; ++i)
        test::add(x, test::knock(), 2.0 + 3.0 * i, gain_at(12.0));
    Listening listening({x}, rate_hz);
    const std::vector<Arrival> whole = listening.arrivals();
    std::vector<Arrival> parts;
    const auto end = static_cast<Frame>(x.size());
    for (Frame from = 0; from < end; from += end / 7) {
        const std::vector<Arrival> part = listening.arrivals(from, std::min(end, from + end / 7));
        parts.insert(parts.end(), part.begin(), part.end());
    }
    ASSERT_EQ(parts.size(), whole.size());
    for (std::size_t i = 0; i < whole.size(); ++i) {
        EXPECT_EQ(parts[i].onset_s, whole[i].onset_s);
        EXPECT_EQ(parts[i].peak_energy, whole[i].peak_energy);
        EXPECT_EQ(parts[i].why, whole[i].why);
    }
}

TEST(Search, DenseCandidatesAreBoundedAndSaySo) {
    std::vector<float> x = test::white(81, 60.0, 0.01);
    std::mt19937 generator(81);
    std::exponential_distribution<double> gap(4.0);
    for (double t = 1.0; t < 58.0; t += 0.15 + gap(generator))
        test::add(x, test::knock(), t, gain_at(14.0));
    Listening listening({x}, rate_hz);
    const std::vector<Arrival> arrivals = listening.arrivals();
    // The looks at impulses and at what lasts, and all of it once more for the voices.
    EXPECT_LT(static_cast<double>(listening.decoded), 2.4 * static_cast<double>(x.size()));
    const auto from_tracks = std::count_if(arrivals.begin(), arrivals.end(), [](const Arrival& a) {
        return a.shape.from_tracks && a.why.find("too dense") != std::string::npos;
    });
    EXPECT_GT(from_tracks, 0) << "seed 81";
}

/// Blows on something that rings at one pitch, up to 50 dB over the floor and down to it before the
/// next: each is one impulse, and together they are no lasting sound.
TEST(Search, LoudRingingKnocksStaySingle) {
    for (const double snr_db : {25.0, 37.0, 50.0}) {
        for (const double decay_s : {0.03, 0.06}) {
            for (const std::vector<double>& modes :
                 {std::vector<double>{350.0}, {310.0, 360.0, 800.0}}) {
                std::vector<float> x = test::white(83, 40.0, 0.001);
                for (int i = 0; i < 5; ++i)
                    test::add(x, test::knock(modes, decay_s), 15.0 + 0.5 * i,
                              0.1 * gain_at(snr_db));
                const std::vector<Event> events = Listening({x}, rate_hz).events();
                const auto listed = std::count_if(events.begin(), events.end(), [](const Event& e) {
                    return e.confidence >= 0.1;
                });
                const std::string where = std::to_string(snr_db) + " dB, decay " +
                                          std::to_string(decay_s) + " s, modes " +
                                          std::to_string(modes.size()) + ", seed 83";
                EXPECT_EQ(listed, 5) << where;
                ASSERT_EQ(count(events, EventKind::tapping, 0.5), 5U) << where;
                int i = 0;
                for (const Event& event : events) {
                    if (event.confidence < 0.1) continue;
                    EXPECT_NEAR(event.onset_s, 15.0 + 0.5 * i++, 0.002) << where;
                }
            }
        }
    }
}

TEST(Search, TwiceTheSame) {
    std::vector<float> x = test::white(82, 30.0, 0.01);
    test::add(x, test::sung(180.0, 2.0), 8.0, gain_at(8.0));
    test::add(x, test::knock(), 20.0, gain_at(10.0));
    const std::vector<Event> a = Listening({x}, rate_hz).events();
    const std::vector<Event> b = Listening({x}, rate_hz).events();
    ASSERT_EQ(a.size(), b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        EXPECT_EQ(a[i].onset_s, b[i].onset_s);
        EXPECT_EQ(a[i].confidence, b[i].confidence);
        EXPECT_EQ(a[i].why, b[i].why);
    }
}

} // namespace
} // namespace lull
