// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hail_chance.hpp"

#include "conformance.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <random>

namespace lull {
namespace {

constexpr double exact = 1e-9; ///< the bisection ends at 2^-100 of its range
constexpr const char* script = "scripts/reference/hail_reference.py";

Event heard(double onset_s, std::optional<int> series = {}) {
    Event event;
    event.kind = EventKind::tapping;
    event.confidence = 0.8;
    event.onset_s = onset_s;
    event.end_s = onset_s + 0.1;
    event.series = series;
    return event;
}

Hail hail(double from_s, double to_s) {
    Hail one;
    one.from_s = from_s;
    one.to_s = to_s;
    return one;
}

TEST(HailChance, PoissonIntervals) {
    struct Row {
        int count;
        double low, high;
    };
    for (const Row& row : {Row{0, 0.0, 3.6888794541139354},
                           {1, 0.025317807984289876, 5.571643390938898},
                           {4, 1.0898653736263249, 10.241588675403694},
                           {10, 4.7953886961324335, 18.39035604201778},
                           {250, 219.9679956309373, 282.98770504231607}}) {
        const auto [low, high] = poisson_interval(row.count);
        check_conformance(
            {fmt::format("95 % interval of a Poisson mean, {} counted: low", row.count),
             "SciPy 1.10.1 chi2.ppf; Garwood 1936", script, row.low, low, exact * (1.0 + row.low),
             ""});
        check_conformance(
            {fmt::format("95 % interval of a Poisson mean, {} counted: high", row.count),
             "SciPy 1.10.1 chi2.ppf; Garwood 1936", script, row.high, high,
             exact * (1.0 + row.high), ""});
    }
}

TEST(HailChance, ASmallCaseByHand) {
    const std::vector<Hail> hails{hail(20, 22), hail(60, 61), hail(130, 133)};
    const std::vector<Event> events{heard(25),  heard(68),  heard(69),
                                    heard(100), heard(140), heard(171)};
    const std::vector<ListenedSpan> listened{{0.0, 200.0}};
    const auto chance = hail_chance(hails, events, listened, {});
    ASSERT_TRUE(chance);
    EXPECT_EQ(chance->hails, 3);
    EXPECT_EQ(chance->followed, 4);
    EXPECT_EQ(chance->elsewhere, 2);
    EXPECT_NEAR(chance->answer_s, 45.0, exact);
    // 2 in the 149 s that are neither answers nor hails.
    EXPECT_NEAR(chance->expected, 2.0 * 45.0 / 149.0, exact);
    EXPECT_NEAR(chance->expected_high, 7.224687667 * 45.0 / 149.0, 1e-6);
    check_conformance({"permutation test of three hails: p", "counted shift by shift", script, 0.08,
                       chance->p, exact, ""});
    check_conformance({"permutation test of three hails: smallest p", "counted shift by shift",
                       script, 0.075, chance->smallest_p, exact, ""});
}

TEST(HailChance, ARunOfOneSeriesCountsOnce) {
    const std::vector<Hail> hails{hail(20, 22)};
    const std::vector<Event> events{heard(25, 1), heard(25.6, 1), heard(26.2, 1), heard(80, 1),
                                    heard(80.5, 1)};
    const auto chance = hail_chance(hails, events, std::vector<ListenedSpan>{{0.0, 100.0}}, {});
    ASSERT_TRUE(chance);
    EXPECT_EQ(chance->followed, 1);
    EXPECT_EQ(chance->elsewhere, 1);
}

TEST(HailChance, TheHailsOwnKnocksAndOtherKindsDoNotCount) {
    std::vector<Event> events{heard(20.5), heard(21.0), heard(30.0)};
    events[2].kind = EventKind::horn;
    const auto chance =
        hail_chance({hail(20, 22)}, events, std::vector<ListenedSpan>{{0.0, 100.0}}, {});
    ASSERT_TRUE(chance);
    EXPECT_EQ(chance->followed, 0);
    EXPECT_EQ(chance->elsewhere, 0);
    EXPECT_EQ(chance->p, 1.0);
}

TEST(HailChance, ListenedTimeIsTheQuietWhereAHailFellIntoIt) {
    QuietPeriod quiet;
    quiet.from_s = 50.0;
    quiet.to_s = 90.0;
    const std::vector<QuietPeriod> periods{quiet};
    EXPECT_EQ(listened_time(periods, {hail(60, 61)}, {0.0, 200.0}).front().from_s, 50.0);
    EXPECT_EQ(listened_time(periods, {hail(20, 21)}, {0.0, 200.0}).front().to_s, 200.0);
    const auto chance = hail_chance({hail(20, 21), hail(85, 86)}, {heard(87)},
                                    listened_time(periods, {hail(85, 86)}, {0.0, 200.0}), {});
    ASSERT_TRUE(chance);
    EXPECT_EQ(chance->hails, 1);
    EXPECT_NEAR(chance->answer_s, 4.0, exact); // cut where the quiet ends
}

TEST(HailChance, WithoutAnswersPIsUniformEnough) {
    constexpr std::uint32_t seed = 4711;
    constexpr int sessions = 300;
    std::mt19937 generator(seed);
    std::uniform_real_distribution<double> any(0.0, 600.0);
    int small = 0;
    for (int s = 0; s < sessions; ++s) {
        std::vector<double> times;
        for (int e = 0; e < 12; ++e)
            times.push_back(any(generator));
        std::sort(times.begin(), times.end());
        std::vector<Event> events;
        for (const double t : times)
            events.push_back(heard(t));
        std::vector<Hail> hails{hail(90, 91), hail(210, 212), hail(345, 346), hail(500, 501)};
        small += hail_chance(hails, events, std::vector<ListenedSpan>{{0.0, 600.0}}, {})->p <= 0.1;
    }
    // At most a tenth, and the counts are coarse: 0.1 with three sigmas.
    EXPECT_LE(small, sessions * 0.1 + 3.0 * std::sqrt(sessions * 0.09)) << "seed " << seed;
}

} // namespace
} // namespace lull
