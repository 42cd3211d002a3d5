// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/active_level.hpp"
#include "synthesis/draw.hpp"
#include "synthesis/exercise_signs.hpp"
#include "synthesis/scene.hpp"
#include "synthesis/scenes.hpp"
#include "synthesis/voice.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

namespace lull {
namespace {

Plan full_plan() {
    Plan plan = bare_plan(24.0);
    plan.structure.quality = 40.0;
    plan.structure.tail_decay_s = 0.1;
    for (const LayerKind kind :
         {LayerKind::generator, LayerKind::drips, LayerKind::breaker, LayerKind::footsteps,
          LayerKind::debris, LayerKind::wind, LayerKind::clock}) {
        SiteLayer layer;
        layer.kind = kind;
        layer.level_db = -58.0;
        plan.site.push_back(layer);
    }
    plan.quiet_periods.push_back({8.0, 18.0, 20.0});
    plan.events = {event_at(Sound::knocks, 10.2, 14.0), event_at(Sound::call, 13.0, 12.0)};
    PlanFault drift;
    drift.kind = FaultKind::clock_drift;
    drift.channel = "lift-shaft";
    drift.offset_s = 0.1;
    PlanFault dropouts;
    dropouts.kind = FaultKind::dropouts;
    dropouts.channel = "stairwell";
    dropouts.per_minute = 60.0;
    plan.faults = {drift, dropouts};
    return plan;
}

std::vector<float> whole(Scene& scene, const SceneParts& parts = {}) {
    Block block;
    scene.render(0, scene.frames(), block, parts);
    return block.samples;
}

TEST(Scene, SamplesDoNotDependOnBlocks) {
    Scene one(full_plan(), 5), other(full_plan(), 5);
    const auto all = whole(one);
    const auto frames = static_cast<std::size_t>(other.frames());
    Block block;
    Random lengths(9);
    // Backwards first, so that nothing can depend on earlier calls.
    other.render(other.frames() / 2, 1000, block);
    for (Frame first = 0; first < other.frames();) {
        other.render(first, lengths.whole(1, 9000), block);
        for (int c = 0; c < block.channels; ++c) {
            const auto piece = block.channel(c);
            const auto* same =
                all.data() + static_cast<std::size_t>(c) * frames + static_cast<std::size_t>(first);
            ASSERT_TRUE(std::equal(piece.begin(), piece.end(), same))
                << "channel " << c << " at " << first;
        }
        first += block.frames;
    }
}

TEST(Scene, SeedDecidesEverything) {
    Scene one(full_plan(), 5), same(full_plan(), 5), other(full_plan(), 6);
    const auto samples = whole(one);
    EXPECT_EQ(samples, whole(same));
    EXPECT_NE(samples, whole(other));
}

/// The definition in snr.hpp, implemented again: slow, in double, on the mix of noise and event.
double measured_snr_db(Scene& scene, const SceneEvent& event, bool voice) {
    SceneParts parts;
    // Hum belongs to the noise; single sounds of the site and the other faults do not.
    parts.site_sounds = parts.signs = false;
    parts.faults = std::any_of(scene.plan().faults.begin(), scene.plan().faults.end(),
                               [&](const PlanFault& fault) {
                                   return fault.kind == FaultKind::hum &&
                                          fault.channel == scene.plan().channels[event.best].name;
                               });
    Block mix;
    const double rate_hz = scene.plan().rate_hz;
    const auto from = static_cast<Frame>((event.onset_s - 1.0) * rate_hz);
    const auto count = static_cast<Frame>((event.end_s - event.onset_s + 2.0) * rate_hz);
    scene.render(from, count, mix, parts);
    const auto heard = mix.channel(static_cast<int>(event.best));
    const auto banded = in_band(heard, rate_hz, default_band(rate_hz));
    const double late_s = event.delays_s[event.best] -
                          *std::min_element(event.delays_s.begin(), event.delays_s.end());
    const auto first =
        static_cast<std::size_t>(std::lround((1.0 + (voice ? late_s : late_s - 0.025)) * rate_hz));
    const auto last = static_cast<std::size_t>(
        std::lround((event.end_s - event.onset_s + 1.0 + 0.025) * rate_hz));
    const auto window = static_cast<std::size_t>(0.05 * rate_hz);
    std::vector<double> powers;
    for (std::size_t n = first; n + window <= std::min(last, banded.size());
         n += voice ? window : 1) {
        double sum = 0.0;
        for (std::size_t i = n; i < n + window; ++i)
            sum += std::pow(static_cast<double>(banded[i]), 2.0);
        powers.push_back(sum / static_cast<double>(window));
    }
    std::sort(powers.begin(), powers.end());
    const std::size_t half = voice ? powers.size() / 2 : powers.size() - 1;
    double level = 0.0;
    for (std::size_t i = half; i < powers.size(); ++i)
        level += powers[i] / static_cast<double>(powers.size() - half);
    return 10.0 * std::log10(level / scene.floor_power(
                                         event.best, static_cast<Frame>(event.onset_s * rate_hz)));
}

TEST(Scene, EventsReachTheirTarget) {
    constexpr double tolerance_db = 0.5;
    Plan plan = bare_plan(100.0);
    plan.structure.quality = 40.0;
    plan.structure.tail_decay_s = 0.1;
    double time_s = 5.0;
    for (const Sound sound : {Sound::knocks, Sound::scratching, Sound::movement, Sound::horn,
                              Sound::call, Sound::murmur, Sound::cry, Sound::scream}) {
        for (const double snr_db : {4.0, 10.0, 25.0}) {
            PlanEvent event = event_at(sound, time_s, snr_db);
            event.duration_s = 1.5;
            event.count = 2.0;
            event.position_m = {Range(3.0), Range(2.0), Range(0.0)};
            plan.events.push_back(event);
            time_s += 3.8;
        }
    }
    Scene scene(plan, 77);
    for (const SceneEvent& event : scene.events()) {
        EXPECT_TRUE(event.reached) << name_of(event.drawn.sound);
        EXPECT_NEAR(event.snr_db, event.drawn.snr_db, 0.05);
        const bool voice = event.kind == EventKind::voice_like;
        EXPECT_NEAR(measured_snr_db(scene, event, voice), event.drawn.snr_db, tolerance_db)
            << name_of(event.drawn.sound);
    }
}

class ReadyPlan : public testing::TestWithParam<std::string> {};

TEST_P(ReadyPlan, ReachesItsTargets) {
    constexpr double tolerance_db = 0.5;
    const Plan plan = load_plan(GetParam());
    Scene scene(plan, plan.seed);
    EXPECT_FALSE(scene.events().empty());
    for (const SceneEvent& event : scene.events()) {
        EXPECT_TRUE(event.reached) << "at " << event.onset_s << " s";
        EXPECT_NEAR(measured_snr_db(scene, event, event.kind == EventKind::voice_like),
                    event.drawn.snr_db, tolerance_db)
            << "at " << event.onset_s << " s";
    }
}

std::vector<std::string> ready_plans() {
    std::vector<std::string> paths;
    for (const auto& entry : std::filesystem::directory_iterator(std::string(LULL_DATA) + "/plans"))
        paths.push_back(entry.path().string());
    std::sort(paths.begin(), paths.end());
    return paths;
}

/// The file's name with only letters that a test's name may have.
std::string plan_name(const testing::TestParamInfo<std::string>& info) {
    std::string name = std::filesystem::path(info.param).stem().string();
    std::replace(name.begin(), name.end(), '-', '_');
    return name;
}

INSTANTIATE_TEST_SUITE_P(All, ReadyPlan, testing::ValuesIn(ready_plans()), plan_name);

TEST(Scene, MaskedEventIsMovedToAnAudibleTime) {
    // Gusts: at many times the wind's loudest 50 ms are more than 4 dB over its level.
    Plan plan = bare_plan(120.0);
    plan.site[0].kind = LayerKind::wind;
    plan.events = {event_at(Sound::movement, 0.0, 4.0), event_at(Sound::movement, 60.0, 20.0)};
    plan.events[0].time_s = Range(5.0, 110.0);
    plan.events[0].repeat = 6;
    for (std::uint64_t seed = 0; seed < 4; ++seed) {
        const Scene scene(plan, seed);
        for (std::size_t i = 0; i < scene.events().size(); ++i) {
            EXPECT_TRUE(scene.events()[i].reached) << "seed " << seed;
            if (i == 0) continue;
            EXPECT_GT(scene.events()[i].drawn.time_s, scene.events()[i - 1].drawn.time_s + 1.5);
        }
    }
}

TEST(Scene, KnocksArriveAtTheTimesOfTheTruth) {
    Plan plan = bare_plan();
    plan.events = {event_at(Sound::knocks, 6.0, 40.0)};
    plan.events[0].count = 1.0;
    Scene scene(plan, 3);
    SceneParts parts;
    parts.noise = parts.signs = false;
    Block block;
    scene.render(0, scene.frames(), block, parts);
    for (int c = 0; c < 4; ++c) {
        const auto samples = block.channel(c);
        const float top = *std::max_element(samples.begin(), samples.end());
        const auto first = std::find_if(samples.begin(), samples.end(), [top](float value) {
            return std::abs(value) > 0.02F * top;
        });
        const double expected_s = 6.0 + scene.events()[0].delays_s[static_cast<std::size_t>(c)];
        // A knock rises from its first sample. The fractional delay's ringing and the rise take a
        // few frames.
        EXPECT_NEAR(static_cast<double>(first - samples.begin()), expected_s * plan.rate_hz, 4.0)
            << c;
    }
    EXPECT_NEAR(scene.events()[0].onset_s, 6.0 + 5.0 / 800.0, 1e-6);
}

TEST(Scene, VariantsAreEquallyHard) {
    Plan plan = bare_plan(120.0);
    plan.events = {event_at(Sound::knocks, 0.0, 0.0)};
    plan.events[0].kinds = {Sound::knocks, Sound::call};
    plan.events[0].repeat = 8;
    plan.events[0].time_s = Range(2.0, 118.0);
    plan.events[0].snr_db = Range(5.0, 20.0);
    const auto summary = [&](int variant) {
        std::vector<std::pair<Sound, double>> found;
        for (const auto& event : draw_events(plan, 9, variant))
            found.emplace_back(event.sound, event.snr_db);
        std::sort(found.begin(), found.end());
        return found;
    };
    EXPECT_EQ(summary(0), summary(1));
    EXPECT_NE(draw_events(plan, 9, 0)[0].time_s, draw_events(plan, 9, 1)[0].time_s);
    const auto events = draw_events(plan, 9, 0);
    for (std::size_t i = 1; i < events.size(); ++i)
        EXPECT_GT(events[i].time_s, events[i - 1].time_s + 1.5);
}

TEST(Scene, QuietPeriodsQuietenSourcesThatObey) {
    Plan plan = bare_plan(40.0);
    SiteLayer machine;
    machine.kind = LayerKind::generator;
    machine.level_db = -40.0;
    machine.stops_in_quiet = true;
    plan.site.push_back(machine);
    plan.quiet_periods.push_back({15.0, 30.0, 30.0});
    const Scene scene(plan, 1);
    const double before = scene.floor_power(0, 10 * 8000), within = scene.floor_power(0, 24 * 8000);
    // With the machine 30 dB lower, the ambient noise at 20 dB down dominates.
    EXPECT_NEAR(10.0 * std::log10(before / within), 20.0, 4.0);
}

TEST(Scene, FaultsHaveTheStatedEffect) {
    Plan plan = bare_plan(30.0);
    const auto fault = [&](FaultKind kind, const char* channel) -> PlanFault& {
        PlanFault made;
        made.kind = kind;
        made.channel = channel;
        plan.faults.push_back(made);
        return plan.faults.back();
    };
    fault(FaultKind::wrong_polarity, "stairwell");
    fault(FaultKind::dead, "north-slab").from_s = 10.0;
    PlanFault& clipped = fault(FaultKind::clipping, "lift-shaft");
    clipped.gain_db = 60.0;
    clipped.level_db = -6.0;
    PlanFault& clock = fault(FaultKind::clock_drift, "void-mic");
    clock.offset_s = 0.5;
    clock.drift_ppm = 0.0;
    Scene scene(plan, 2);
    SceneParts right;
    right.faults = right.signs = false;
    SceneParts wrong;
    wrong.signs = false;
    const auto good = whole(scene, right), bad = whole(scene, wrong);
    const auto at = [&](const std::vector<float>& samples, std::size_t c, std::size_t n) {
        return samples[c * 240000 + n];
    };
    EXPECT_EQ(at(bad, 0, 80000), -at(good, 0, 80000));
    EXPECT_LT(std::abs(at(bad, 1, 100000)), 1e-4F);
    EXPECT_EQ(at(bad, 1, 70000), at(good, 1, 70000));
    float top = 0.0F;
    for (std::size_t n = 0; n < 240000; ++n)
        top = std::max(top, std::abs(at(bad, 2, n)));
    EXPECT_FLOAT_EQ(top, 0.5011872F);
    EXPECT_NEAR(at(bad, 3, 80000), at(good, 3, 76000),
                1e-6F); // a clock that is 0.5 s ahead gives the same moment a later number
}

TEST(Scene, NothingIsLouderThanThePlaybackLimit) {
    Plan plan = bare_plan();
    plan.site[0].level_db = -30.0;
    plan.events = {event_at(Sound::knocks, 8.0, 50.0)};
    Scene scene(plan, 8);
    float top = 0.0F;
    for (const float value : whole(scene))
        top = std::max(top, std::abs(value));
    EXPECT_GT(top, 0.5F);
    EXPECT_LE(20.0 * std::log10(static_cast<double>(top)), playback_limit_db + 1e-4);
}

TEST(Voice, VoicesHaveTheGivenActiveLevel) {
    // The louder half lies above the active level [ITU-T P.56], by little more than 3 dB: half of
    // the segments can hold at most all energy of the active time.
    for (const Sound sound : {Sound::call, Sound::murmur, Sound::cry, Sound::scream}) {
        for (std::uint64_t seed = 0; seed < 6; ++seed) {
            Random random(seed);
            auto voice = utter(sound, 2.0, random, 8000.0);
            const float top = *std::max_element(voice.begin(), voice.end());
            for (float& value : voice)
                value *= 0.3F / top;
            const auto active = active_level(voice, 8000.0);
            ASSERT_TRUE(active);
            const double louder_db =
                10.0 * std::log10(level_power(voice, 8000.0, LevelRule::louder_half));
            EXPECT_GT(louder_db, active->level_db - 0.3) << name_of(sound) << seed;
            EXPECT_LT(louder_db, active->level_db + 3.3) << name_of(sound) << seed;
        }
    }
}

TEST(ExerciseSign, CoversEventsThatLieInItByAThird) {
    // The last second of 90 s is the pattern.
    EXPECT_TRUE(within_exercise_sign(89.2, 90.0, 90.0));
    EXPECT_TRUE(within_exercise_sign(87.5, 90.0, 90.0));
    EXPECT_FALSE(within_exercise_sign(83.0, 90.0, 90.0));
    EXPECT_FALSE(within_exercise_sign(87.5, 88.9, 90.0));
}

} // namespace
} // namespace lull
