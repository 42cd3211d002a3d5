// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/apply_clocks.hpp"
#include "locate/advice.hpp"
#include "locate/audibility.hpp"
#include "locate/gather.hpp"
#include "locate/place.hpp"
#include "locate/untied.hpp"

#include "error.hpp"
#include "locate/layouts.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

class Made : public Recording {
  public:
    Made() {
        rate_hz = 8000.0;
        frames = 800000;
        add("a", ChannelKind::seismic, {0.0, 0.0, 0.0});
        add("b", ChannelKind::seismic, {10.0, 0.0, 0.0});
        add("c", ChannelKind::seismic, {5.0, 9.0, 0.0});
        add("mic", ChannelKind::air, {5.0, 3.0, -1.0});
    }
    void add(const char* name, ChannelKind kind, const Position& at) {
        Channel channel;
        channel.name = name;
        channel.kind = kind;
        channel.position_m = at;
        channel.axis = "vertical";
        channels.push_back(channel);
        session.channels = channels;
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

DelayEstimate delay(int event, int a, int b, double delay_s) {
    DelayEstimate one;
    one.event = event, one.channel_a = a, one.channel_b = b;
    one.delay_s = delay_s, one.sigma_s = 2e-5, one.usable = true;
    return one;
}

TEST(Gather, SeismicAndAirAreNeverOneWave) {
    const Made made;
    std::vector<Notice> notices;
    const auto found =
        gather_listenings({"1", {{1, 5.0}}}, made,
                          std::vector{delay(1, 0, 1, 0.002), delay(1, 0, 3, 0.004)}, {}, notices);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].delays.size(), 1U);
}

TEST(Gather, ImpossibleDelayIsLeftOutWithANotice) {
    const Made made;
    std::vector<Notice> notices;
    const auto found =
        gather_listenings({"1", {{1, 5.0}}}, made,
                          std::vector{delay(1, 0, 1, 0.2), delay(1, 0, 2, 0.004)}, {}, notices);
    ASSERT_EQ(notices.size(), 1U);
    EXPECT_NE(notices[0].text.find("a to b"), std::string::npos);
    EXPECT_TRUE(notices[0].degraded);
    EXPECT_EQ(found[0].delays.size(), 1U);
}

/// a and b in recording 1, c in recording 2, with untied clocks.
TEST(Gather, OnlyLevelsAreUsedOfChannelsWithUntiedClocks) {
    Made made;
    made.channels[0].recording = made.channels[1].recording = 1;
    made.channels[2].recording = 2;
    made.session.channels = made.channels;
    made.session.recordings.resize(2);
    std::vector<DelayEstimate> delays{delay(1, 0, 1, 0.002), delay(1, 0, 2, 0.004),
                                      delay(1, 1, 2, 0.003)};
    const std::vector<EventSpan> events{{1, 5.0, 5.1, {0, 1, 2}}};
    apply_clocks(delays, events, made, clocks_of(made.session));
    std::vector<Notice> notices = untied_clocks(made, delays);
    ASSERT_EQ(notices.size(), 1U);
    EXPECT_EQ(notices[0].text, "the clocks of recordings 1 and 2 are not tied: no delay between "
                               "them is used; of c only levels are used");
    EXPECT_FALSE(notices[0].degraded);
    const auto found = gather_listenings({"1", {{1, 5.0}}}, made, delays, {}, notices);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].delays.size(), 1U);
    ASSERT_EQ(found[0].untied.size(), 1U);
    EXPECT_EQ(found[0].sensors[static_cast<std::size_t>(found[0].untied[0])].channel, 2);
    const std::vector<std::string> names{"a", "b", "c", "mic"};
    const Place place = locate(found, search_space(found, {}), Medium{}, names);
    EXPECT_NE(place.evidence.find("clocks not tied, so only levels of c"), std::string::npos)
        << place.evidence;
    // Without any delay between them, the session alone does not tie them.
    notices = untied_clocks(made, std::span(delays).first(1));
    ASSERT_EQ(notices.size(), 1U);
    EXPECT_NE(notices[0].text.find("no delay joins recordings"), std::string::npos);
    EXPECT_TRUE(untied_clocks(Made(), std::vector{delay(1, 0, 1, 0.002)}).empty());
}

TEST(Gather, MovedSensorIsOneForEachPlace) {
    Made made;
    Change change;
    change.from_s = 50.0;
    change.channel = "b";
    change.position_m = Position{2.0, 8.0, 0.0};
    made.session.changes.push_back(change);
    std::vector<Notice> notices;
    const std::vector<DelayEstimate> delays{delay(1, 0, 1, 0.002), delay(2, 0, 1, -0.001),
                                            delay(1, 0, 2, 0.001), delay(2, 0, 2, 0.00102)};
    const auto found =
        gather_listenings({"series 1", {{1, 10.0}, {2, 60.0}}}, made, delays, {}, notices);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].sensors.size(), 4U);
    ASSERT_EQ(found[0].delays.size(), 3U); // a-b at both of its places, a-c of both knocks combined
    for (const HeardDelay& one : found[0].delays)
        if (one.b == 2) {
            EXPECT_NEAR(one.delay_s, 0.00101, 1e-6);
        }
}

void expect_refused(const Recording& recording, const std::string& words) {
    try {
        (void)check_positions(recording);
        FAIL() << "not refused: " << words;
    } catch (const Error& fault) {
        EXPECT_EQ(fault.kind, ErrorKind::input);
        EXPECT_NE(fault.fault.find(words), std::string::npos) << fault.fault;
    }
}

TEST(Gather, PositionsThatCannotBeUsed) {
    Made made;
    EXPECT_TRUE(check_positions(made).empty());
    made.channels[1].position_m = made.channels[0].position_m;
    expect_refused(made, "a and b stand at the same place");
    for (Channel& channel : made.channels)
        channel.position_m.reset();
    expect_refused(made, "no channel has a position");
    made.channels[0].position_m = Position{};
    expect_refused(made, "only one channel");
    Made wide;
    wide.channels[1].position_m = Position{12000.0, 0.0, 0.0};
    ASSERT_EQ(check_positions(wide).size(), 1U);
    EXPECT_NE(check_positions(wide)[0].text.find("millimetres"), std::string::npos);
}

TEST(Advice, AvoidsForbiddenAreasAndExpectsLess) {
    LayoutMaker maker(8);
    const std::vector<std::string> names{"a", "b", "c", "d", "e", "f"};
    const Ring ring{{8.0, -50.0}, {90.0, -50.0}, {90.0, 90.0}, {8.0, 90.0}};
    int advised = 0;
    for (int n = 0; n < 40; ++n) {
        const Layout layout = maker.draw(false);
        if (layout.listening.levels.size() < 3) continue;
        const std::vector<Listening> listenings{layout.listening};
        const Place place = locate(listenings, layout.space, layout.medium, names);
        for (const Move& move :
             advise(place, listenings, layout.space, layout.medium, {5.0, {ring}})) {
            ++advised;
            EXPECT_FALSE(is_inside(ring, move.x_m, move.y_m));
            EXPECT_LT(move.expected_area90_m2, move.area90_m2);
        }
    }
    EXPECT_GT(advised, 10);
}

TEST(Audibility, FallsWithDistanceAndFloorAndRisesWithRepeats) {
    const Made made;
    const auto at = [&](double floor_db, int times) {
        std::vector<ChannelFloor> floors;
        for (int c = 0; c < 3; ++c)
            floors.push_back({c, 0.0, 100.0, floor_db, "dB re full scale"});
        return audibility(made, floors, {SourceKind::knock, -20.0, 5.0, times})[0];
    };
    const auto mean = [](const AudibleStretch& stretch) {
        double sum = 0.0;
        for (const AudiblePoint& point : stretch.points)
            sum += *point.probability / static_cast<double>(stretch.points.size());
        return sum;
    };
    const AudibleStretch quiet = at(-60.0, 1);
    EXPECT_GT(mean(quiet), mean(at(-50.0, 1)));
    EXPECT_GT(mean(at(-50.0, 5)), mean(at(-50.0, 1)));
    const AudiblePoint &corner = quiet.points.front(),
                       &middle = quiet.points[quiet.points.size() / 2 +
                                              static_cast<std::size_t>(quiet.columns) / 2];
    EXPECT_GT(*middle.probability, *corner.probability);
    EXPECT_LE(mean(at(-200.0, 100)), 1.0 + 1e-9); // a sum of rounded shares
}

TEST(Audibility, PlacesNotAssessedAreBlank) {
    const Made made;
    const std::vector<ChannelFloor> floors{{0, 0.0, 50.0, -60.0, "dB re full scale"},
                                           {1, 0.0, 50.0, -60.0, "dB re full scale"},
                                           {2, 50.0, 100.0, -60.0, "dB re 1 nm/s"}};
    const auto found = audibility(made, floors, {SourceKind::knock, -20.0, 5.0, 1});
    ASSERT_EQ(found.size(), 2U);
    EXPECT_TRUE(found[0].points[0].probability);
    EXPECT_FALSE(found[1].points[0].probability);
    EXPECT_THROW((void)audibility(made, floors, {SourceKind::voice, -20.0, 5.0, 1}), Error);
}

} // namespace
} // namespace lull
