// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/internal/unit_check.hpp"

#include "recording/virtual_recording.hpp"
#include "review/internal/unit_form.hpp"
#include "review/unit_store.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>
#include <limits>
#include <string>
#include <unistd.h>

namespace lull {
namespace {

constexpr double rate_hz = 4000.0;
constexpr Wanted everything{true, true, true, true};
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

/// Two channels of noise, a knock every seven seconds, each loud enough to clip, and zeros.
float sample(int channel, Frame frame) {
    std::uint64_t x = static_cast<std::uint64_t>(frame) * 2 + static_cast<std::uint64_t>(channel);
    x = (x ^ (x >> 31U)) * 0x9E3779B97F4A7C15ULL;
    x = (x ^ (x >> 29U)) * 0xBF58476D1CE4E5B9ULL;
    if (frame % 40000 < 900) return 0.0F;
    const double noise = static_cast<double>(x >> 11U) / 9007199254740992.0 - 0.5;
    const double t = static_cast<double>(frame % 28000) / rate_hz;
    const double knock = t < 0.2 ? 4.0 * std::exp(-t / 0.03) * std::sin(2200.0 * t) : 0.0;
    return static_cast<float>(std::clamp(0.01 * noise + knock, -0.5, 0.5));
}

/// Every unit of a recording passes, for each set of results that tools ask for.
void expect_all_pass(const test::VirtualRecording& recording, const std::string& from,
                     std::optional<double> every_s = std::nullopt) {
    Settings settings = make_settings(recording, from, "", std::nullopt);
    settings.every_s = every_s;
    for (const Wanted& wanted : {everything, Wanted{true, false, false, false}, Wanted{false, true},
                                 Wanted{false, false, false, true, true}}) {
        const UnitCheck check(recording, settings, wanted);
        UnitPass pass(recording, settings, wanted);
        for (const Unit& unit :
             plan_units(recording.frames, recording.rate_hz, settings.from, settings.to)) {
            const UnitResult result = pass.run(unit, std::atomic<bool>(false));
            EXPECT_TRUE(check.passes(result, unit)) << unit.number << " from " << from;
            EXPECT_TRUE(check.passes(unit_of_bytes(bytes_of_unit(result)), unit));
        }
    }
}

TEST(UnitCheck, WhatAPassGivesPasses) {
    const auto frames = [](double seconds, double rate) {
        return static_cast<Frame>(seconds * rate);
    };
    expect_all_pass({2, rate_hz, frames(620, rate_hz), sample}, "");
    expect_all_pass({2, rate_hz, frames(320, rate_hz), sample}, "17.3", 10.0);
    expect_all_pass({1, 8000.0, frames(40, 8000), [](int, Frame) { return 0.0F; }}, "");
    expect_all_pass({3, 44100.0, frames(20, 44100), sample}, "");
    expect_all_pass({1, 16000.0, 1, sample}, "");
    expect_all_pass({1, 16000.0, 999, sample}, "");
}

class Hostile : public testing::Test {
  protected:
    Hostile()
        : recording_(2, rate_hz, static_cast<Frame>(320 * rate_hz), sample),
          settings_(make_settings(recording_, "", "", std::nullopt)),
          units_(plan_units(recording_.frames, rate_hz, settings_.from, settings_.to)),
          check_(recording_, settings_, everything),
          good_(UnitPass(recording_, settings_, everything)
                    .run(units_[1], std::atomic<bool>(false))) {}

    void refuse(const std::function<void(UnitResult&)>& change, const char* what) const {
        UnitResult result = good_;
        change(result);
        EXPECT_FALSE(check_.passes(result, units_[1])) << what;
    }

    test::VirtualRecording recording_;
    Settings settings_;
    std::vector<Unit> units_;
    UnitCheck check_;
    UnitResult good_;
};

TEST_F(Hostile, IndicesAndKindsOfArrivals) {
    ASSERT_GT(good_.arrivals.size(), 3U);
    ASSERT_TRUE(check_.passes(good_, units_[1]));
    for (const int channel : {-1, 2, 1000000})
        refuse([&](UnitResult& r) { r.arrivals[1].channel = channel; }, "channel");
    for (const int kind : {-1, 4, 1 << 30})
        refuse([&](UnitResult& r) { r.arrivals[1].kind = static_cast<EventKind>(kind); }, "kind");
    for (const double time_s : {-5.0, 12.0, 1e9, 1e300, not_a_number})
        refuse([&](UnitResult& r) { r.arrivals[0].onset_s = time_s; }, "onset");
    for (const double time_s : {12.0, 1e300, not_a_number})
        refuse([&](UnitResult& r) { r.arrivals[0].end_s = time_s; }, "end");
    refuse([](UnitResult& r) { std::swap(r.arrivals[0], r.arrivals[2]); }, "order");
    for (const double confidence : {-0.1, 1.1, not_a_number})
        refuse([&](UnitResult& r) { r.arrivals[1].confidence = confidence; }, "confidence");
    refuse([](UnitResult& r) { r.arrivals[1].snr_db = not_a_number; }, "snr");
    refuse([](UnitResult& r) { r.arrivals[1].floor_power = -1.0; }, "floor");
    refuse([](UnitResult& r) { r.arrivals[1].shape.centroid_hz = not_a_number; }, "shape");
    refuse([](UnitResult& r) { r.arrivals[1].shape.band_db.push_back(1.0F); }, "bands");
    refuse([](UnitResult& r) { r.arrivals[1].shape.imprint.bins.resize(100000); }, "imprint");
    refuse(
        [](UnitResult& r) {
            r.arrivals[1].shape.imprint.bins = {1, 2};
            r.arrivals[1].shape.imprint.norm = 0.0F;
        },
        "norm");
    for (const std::string& why :
         {std::string(3000, 'x'), std::string("a\nb"), std::string("\xFF")})
        refuse([&](UnitResult& r) { r.arrivals[1].why = why; }, "why");
}

TEST_F(Hostile, CountsAndSizesOfWhatIsKeptForAChannel) {
    refuse([](UnitResult& r) { r.health.pop_back(); }, "health of each channel");
    refuse([](UnitResult& r) { r.courses.push_back(r.courses[0]); }, "course of each channel");
    refuse([](UnitResult& r) { r.levels.pop_back(); }, "levels of each channel");
    refuse([](UnitResult& r) { r.scores.resize(2); }, "scores that are not wanted");
    refuse([](UnitResult& r) { r.courses[0].hop = 0; }, "hop");
    refuse([](UnitResult& r) { r.courses[0].first += 1; }, "first");
    refuse([](UnitResult& r) { r.courses[0].floor.pop_back(); }, "floor");
    refuse([](UnitResult& r) { r.courses[1].level.resize(5000); }, "level");
    refuse([](UnitResult& r) { r.courses[1].level[3] = -1.0F; }, "negative power");
    refuse([](UnitResult& r) { r.health[0].step = 0; }, "step");
    refuse([](UnitResult& r) { r.health[0].first = 0; }, "first of health");
    refuse([](UnitResult& r) { r.health[0].first = Frame{1} << 62; }, "first of health");
    refuse([](UnitResult& r) { r.health[0].frames = -1; }, "frames");
    refuse([](UnitResult& r) { r.health[0].steps.resize(100000); }, "steps");
    refuse([](UnitResult& r) { r.health[0].steps.at(0).frames = -7; }, "frames of a step");
    refuse([](UnitResult& r) { r.health[1].spectrum.level_db.resize(3); }, "spectrum");
    refuse([](UnitResult& r) { r.health[1].spectrum.level_db.clear(); }, "spectrum");
    refuse([](UnitResult& r) { r.health[1].hum.at(0).spectra = 0; }, "hum");
    refuse([](UnitResult& r) { r.health[1].dips.push_back({7, 1.0F}); }, "dip");
    refuse(
        [](UnitResult& r) {
            r.health[1].zeroed.listed.push_back({0, Frame{1} << 62});
        },
        "stretch");
    refuse([](UnitResult& r) { r.health[1].zeroed.listed.push_back({-5, 1}); }, "stretch");
    refuse([](UnitResult& r) { r.health[1].zeroed.stretches = -1; }, "stretches");
    refuse([](UnitResult& r) { r.health[1].clipped.end = Frame{1} << 62; }, "end");
    refuse(
        [this](UnitResult& r) {
            r.levels[0] = BandLevels({1000.0}, settings_.from, settings_.to, 0);
        },
        "bands of the noise table");
}

TEST_F(Hostile, AFileOfItIsNotFound) {
    const std::string folder =
        (std::filesystem::temp_directory_path() / ("lull-units-" + std::to_string(::getpid())))
            .string();
    const UnitStore store(recording_, settings_, everything, "p", {"known"});
    store.keep(folder, units_[1], good_);
    EXPECT_TRUE(store.find(folder, units_[1]));
    UnitResult result = good_;
    result.arrivals[1].channel = 7;
    store.keep(folder, units_[1], result); // with digests that are right
    EXPECT_FALSE(store.find(folder, units_[1]));
    std::filesystem::remove_all(folder);
}

} // namespace
} // namespace lull
