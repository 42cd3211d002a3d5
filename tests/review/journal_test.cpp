// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/journal.hpp"

#include "recording/virtual_recording.hpp"
#include "review/analysis.hpp"
#include "review/internal/unit_form.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;
constexpr double rate_hz = 4000.0;
constexpr Wanted everything{true, true, true, true};

/// Two channels of noise with a knock every seven seconds, computed from the frame alone.
float sample(int channel, Frame frame) {
    std::uint64_t x = static_cast<std::uint64_t>(frame) * 2 + static_cast<std::uint64_t>(channel);
    x = (x ^ (x >> 31U)) * 0x9E3779B97F4A7C15ULL;
    x = (x ^ (x >> 29U)) * 0xBF58476D1CE4E5B9ULL;
    const double noise = static_cast<double>(x >> 11U) / 9007199254740992.0 - 0.5;
    const double t = static_cast<double>(frame % 28000) / rate_hz;
    const double knock = t < 0.2 ? 0.2 * std::exp(-t / 0.03) * std::sin(2200.0 * t) : 0.0;
    return static_cast<float>(0.01 * noise + knock);
}

class Journal : public testing::Test {
  protected:
    Journal()
        : recording_(2, rate_hz, static_cast<Frame>(700 * rate_hz), sample),
          settings_(make_settings(recording_, "", "", std::nullopt)),
          units_(plan_units(recording_.frames, rate_hz, settings_.from, settings_.to)),
          folder_((fs::temp_directory_path() / ("lull-journal-" + std::to_string(::getpid())))
                      .string()) {}
    ~Journal() override { fs::remove_all(folder_); }
    Journal(const Journal&) = delete;
    Journal& operator=(const Journal&) = delete;

    UnitResult done(const Unit& unit) const {
        return UnitPass(recording_, settings_, everything).run(unit, std::atomic<bool>(false));
    }
    UnitJournal open(bool resume, const std::string& program = "p") const {
        return {folder_, recording_, settings_, everything, program, resume};
    }
    test::VirtualRecording recording_;
    Settings settings_;
    std::vector<Unit> units_;
    std::string folder_;
};

TEST_F(Journal, AUnitComesBackBitForBit) {
    const UnitResult result = done(units_[1]);
    ASSERT_GT(result.arrivals.size(), 30U);
    ASSERT_FALSE(result.health.at(0).hum.empty());
    const std::string bytes = bytes_of_unit(result);
    const UnitResult again = unit_of_bytes(bytes);
    EXPECT_EQ(bytes_of_unit(again), bytes);
    EXPECT_EQ(again.arrivals[7].why, result.arrivals[7].why);
    EXPECT_EQ(again.arrivals[7].snr_db, result.arrivals[7].snr_db);
    EXPECT_EQ(again.courses.at(1).floor, result.courses.at(1).floor);
    EXPECT_EQ(again.levels.at(0).levels(0, rate_hz).at(3).median,
              result.levels.at(0).levels(0, rate_hz).at(3).median);
    for (const std::size_t cut : {std::size_t{0}, std::size_t{9}, bytes.size() - 1})
        EXPECT_THROW((void)unit_of_bytes(std::string_view(bytes).substr(0, cut)),
                     std::runtime_error);
    EXPECT_THROW((void)unit_of_bytes(bytes + "x"), std::runtime_error);
}

TEST_F(Journal, GivesAUnitOnlyToTheSameProgramAndSettings) {
    const UnitResult result = done(units_[0]);
    { // as a run with --resume that fails leaves it
        UnitJournal journal = open(true);
        EXPECT_FALSE(journal.find(units_[0]));
        journal.keep(units_[0], result);
        EXPECT_EQ(bytes_of_unit(journal.find(units_[0]).value()), bytes_of_unit(result));
        EXPECT_EQ(journal.found(), 1);
        EXPECT_FALSE(journal.find(units_[1]));
    }
    EXPECT_TRUE(open(true).find(units_[0]));
    EXPECT_FALSE(open(true, "another").find(units_[0]));
    Settings other = settings_;
    other.band.low_hz += 1.0;
    EXPECT_FALSE(UnitJournal(folder_, recording_, other, everything, "p", true).find(units_[0]));
    other = settings_;
    other.list_from = 0.7; // decided after the units are joined
    EXPECT_TRUE(UnitJournal(folder_, recording_, other, everything, "p", true).find(units_[0]));
    { EXPECT_FALSE(open(false).find(units_[0])); }
    EXPECT_FALSE(fs::exists(folder_)) << "a run without --resume starts afresh";
}

TEST_F(Journal, AnalysisIsTheSameWithIt) {
    const auto bare = analyse(recording_, settings_, everything, 2, [](const ProgressState&) {});
    UnitJournal journal = open(true);
    journal.keep(units_[1], done(units_[1]));
    double earlier_s = 0.0;
    const auto resumed = analyse(
        recording_, settings_, everything, 2,
        [&](const ProgressState& state) { earlier_s = std::max(earlier_s, state.earlier_s); },
        &journal);
    EXPECT_EQ(journal.found(), 1);
    EXPECT_EQ(earlier_s, 300.0);
    ASSERT_EQ(resumed.events.size(), bare.events.size());
    for (std::size_t i = 0; i < bare.events.size(); ++i) {
        EXPECT_EQ(resumed.events[i].onset_s, bare.events[i].onset_s);
        EXPECT_EQ(resumed.events[i].confidence, bare.events[i].confidence);
    }
    journal.remove();
}

} // namespace
} // namespace lull
