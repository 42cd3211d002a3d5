// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sensors that are moved in an exercise.
#include "synthesis/exercise.hpp"
#include "synthesis/scenes.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cmath>

namespace lull {
namespace {

/// The first sensor moves from 5 m to 20 m at 15 s, with a knock before and one after.
Plan moving_plan() {
    Plan plan = bare_plan(30.0);
    plan.events = {event_at(Sound::knocks, 6.0, 40.0), event_at(Sound::knocks, 20.0, 40.0)};
    for (PlanEvent& event : plan.events)
        event.count = 1.0;
    plan.changes.push_back({15.0, "stairwell", Position{0.0, 20.0, 0.0}, {}, {}});
    return plan;
}

std::vector<float> channel_of(Scene& scene, int channel, const SceneParts& parts) {
    Block block;
    scene.render(0, scene.frames(), block, parts);
    const auto samples = block.channel(channel);
    return {samples.begin(), samples.end()};
}

double power_db(const std::vector<float>& samples, double from_s, double to_s) {
    double sum = 0.0;
    const auto from = static_cast<std::size_t>(from_s * 8000.0);
    const auto to = static_cast<std::size_t>(to_s * 8000.0);
    for (std::size_t n = from; n < to; ++n)
        sum += std::pow(static_cast<double>(samples[n]), 2.0);
    return 10.0 * std::log10(sum / static_cast<double>(to - from));
}

TEST(Stations, EventsTravelToTheSensorsPlaceAtThatTime) {
    Scene scene(moving_plan(), 3);
    EXPECT_NEAR(scene.events()[0].delays_s[0], 5.0 / 800.0, 1e-9);
    EXPECT_NEAR(scene.events()[1].delays_s[0], 20.0 / 800.0, 1e-9);
    EXPECT_NEAR(scene.events()[1].delays_s[1], 10.0 / 800.0, 1e-9) << "the others stay";
    SceneParts parts;
    parts.noise = parts.signs = false;
    const auto samples = channel_of(scene, 0, parts);
    for (const double expected_s : {6.0 + 5.0 / 800.0, 20.0 + 20.0 / 800.0}) {
        const auto from = static_cast<std::size_t>((expected_s - 0.5) * 8000.0);
        float top = 0.0F;
        for (std::size_t n = from; n < from + 8000; ++n)
            top = std::max(top, std::abs(samples[n]));
        std::size_t first = from;
        while (std::abs(samples[first]) < 0.02F * top)
            ++first;
        // The fractional delay's ringing and the knock's rise take a few frames.
        EXPECT_NEAR(static_cast<double>(first), expected_s * 8000.0, 4.0);
    }
}

TEST(Stations, SensorInHandRecordsHandling) {
    Plan plan = moving_plan();
    plan.events.clear();
    Scene scene(plan, 3);
    SceneParts parts;
    parts.signs = false;
    const auto moved = channel_of(scene, 0, parts), other = channel_of(scene, 1, parts);
    EXPECT_GT(power_db(moved, 12.6, 15.0), power_db(moved, 5.0, 12.0) + 15.0);
    EXPECT_NEAR(power_db(other, 12.6, 15.0), power_db(other, 5.0, 12.0), 2.0);
    EXPECT_NEAR(power_db(moved, 16.0, 28.0), power_db(moved, 5.0, 12.0), 6.0);
}

TEST(Stations, GainChangesAtItsTime) {
    Plan plan = bare_plan(30.0);
    plan.channels[0].self_noise_db = -140.0;
    plan.site[0].kind = LayerKind::noise; // exact: no variation is drawn
    plan.site[0].third_octaves = {{250, -50}, {500, -50}};
    plan.changes.push_back({15.0, "stairwell", {}, {}, 12.0});
    Scene scene(plan, 3);
    SceneParts parts;
    parts.signs = false;
    const auto samples = channel_of(scene, 0, parts);
    EXPECT_NEAR(power_db(samples, 15.0, 29.0) - power_db(samples, 1.0, 15.0), 12.0, 0.6);
}

TEST(Stations, SamplesDoNotDependOnBlocks) {
    Scene one(moving_plan(), 5), other(moving_plan(), 5);
    const auto all = channel_of(one, 0, {});
    Block block;
    for (Frame first = 0; first < other.frames(); first += 1777) {
        other.render(first, 1777, block);
        const auto piece = block.channel(0);
        ASSERT_TRUE(std::equal(piece.begin(), piece.end(), all.begin() + first)) << first;
    }
}

TEST(Stations, PoorContactEndsWhenTheSensorIsMoved) {
    Plan plan = moving_plan();
    PlanFault fault;
    fault.kind = FaultKind::badly_seated;
    fault.channel = "stairwell";
    fault.contact = 0.1;
    plan.faults.push_back(fault);
    const Scene scene(plan, 3);
    EXPECT_EQ(scene.layout().contact[0], 0.1);
    EXPECT_EQ(scene.layout().contact[plan.channels.size()], 1.0);
}

TEST(Stations, SessionHoldsWhatATeamWouldNote) {
    Plan plan = moving_plan();
    plan.changes.push_back({18.0, "north-slab", {}, Range(0.4), {}});
    plan.changes.push_back({20.0, "north-slab", {}, {}, 6.0});
    const auto session = nlohmann::json::parse(session_text(plan, 3, 0, "recording.wav"));
    ASSERT_EQ(session["changes"].size(), 2u) << "how well a sensor sits, nobody knows";
    EXPECT_EQ(session["changes"][0]["channel"], "stairwell");
    EXPECT_EQ(session["changes"][0]["from"], 15.0);
    EXPECT_EQ(session["changes"][0]["position_m"][1], 20.0);
    EXPECT_EQ(session["changes"][1]["gain_dB"], 6.0);
    EXPECT_EQ(session["channels"][1]["gain_dB"], 0.0) << "a gain that is turned is said at first";
    EXPECT_FALSE(session["channels"][0].contains("gain_dB"));
    Scene scene(plan, 3);
    std::string surroundings;
    write_surroundings(scene, [&](std::string_view bytes) { surroundings += bytes; });
    EXPECT_NE(surroundings.find("12.500000,15.000000,handling,stairwell"), std::string::npos);
}

} // namespace
} // namespace lull
