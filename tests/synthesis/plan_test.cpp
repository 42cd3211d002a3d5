// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "synthesis/plan.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <unistd.h>

namespace lull {
namespace {

/// The fault of a plan, as "place: what; remedy"; empty without a fault.
std::string fault_of(const std::string& body) {
    try {
        (void)parse_plan(R"({"format": "lull-plan", "version": 1, "duration_s": 20, )" + body + "}",
                         "p.json");
    } catch (const Error& error) {
        EXPECT_EQ(error.kind, ErrorKind::input);
        return error.place + ": " + error.fault + "; " + error.mend;
    }
    return "";
}

const std::string channels = R"("channels": [{"name": "stairwell", "position_m": [0, 0, 0]}])";

TEST(Plan, FaultsAreReportedWithPlaceAndRemedy) {
    EXPECT_EQ(fault_of(channels), "");
    EXPECT_EQ(fault_of(channels + R"(, "evnts": [])"),
              "evnts: unknown key; the nearest known one is \"events\"");
    EXPECT_EQ(fault_of(R"("channels": [])"), "channels: 0 channels; 1 to 64");
    EXPECT_EQ(fault_of(channels +
                       R"(, "events": [{"kind": "knocks", "time_s": 3, "position_m": [1, 2]}])"),
              "events[0].position_m: [1,2] does not fit; [x, y, z] in metres, each a number or "
              "[low, high]");
    EXPECT_EQ(fault_of(channels +
                       R"(, "events": [{"kind": "knock", "time_s": 3, "position_m": [1, 2, 3]}])"),
              "events[0].kind: \"knock\" is not known; did you mean \"knocks\"?");
    EXPECT_EQ(
        fault_of(
            channels +
            R"(, "events": [{"kind": "knocks", "time_s": 3, "position_m": [1, 2, 3], "snr_db": [9, 4]}])"),
        "events[0].snr_db: [9,4] does not fit; a number from 3 to 60, or [low, high] of such");
    EXPECT_EQ(fault_of(channels +
                       R"(, "events": [{"kind": "speech", "time_s": 3, "position_m": [1, 2, 3]}])"),
              "events[0].file: is missing; kind speech needs an audio file");
    EXPECT_EQ(fault_of(channels + R"(, "faults": [{"kind": "hum", "channel": "stairwel"}])"),
              "faults[0].channel: no channel \"stairwel\"; did you mean \"stairwell\"?");
    EXPECT_EQ(fault_of(channels + R"(, "rate_hz": "fast")"),
              "rate_hz: \"fast\" is not a number; give a number");
    EXPECT_EQ(fault_of(channels + R"(, "site": [{"kind": "rain", "from_s": 5, "to_s": 2}])"),
              "site[0].to_s: not after from_s; ");
    EXPECT_EQ(fault_of(channels + R"(, "start": "last Tuesday")"),
              "start: \"last Tuesday\" is not a time; give ISO 8601 as 2026-03-14T02:10:00");
    EXPECT_EQ(fault_of(channels + R"(, "start": "2026-03-14T02:10:00")"), "");
    const std::string move = R"(, "changes": [{"from_s": 9, "channel": "stairwell", "gain_db": 6})";
    EXPECT_EQ(fault_of(channels + move + "]"), "");
    EXPECT_EQ(fault_of(channels + move + R"(, {"from_s": 8, "channel": "stairwell"}])"),
              "changes[1].from_s: lies before the change above; changes in order of time");
}

std::string speech(const std::string& file) {
    return channels + R"(, "events": [{"kind": "speech", "time_s": 3, "position_m": [1, 2, 3], )" +
           R"("file": ")" + file + R"("}])";
}

TEST(Plan, FilesMustLieInThePlansFolder) {
    namespace fs = std::filesystem;
    for (const char* file : {"/etc/passwd", "../a.wav", "b/../../a.wav"})
        EXPECT_EQ(fault_of(speech(file)), std::string("events[0].file: \"") + file +
                                              "\" lies outside the plan's folder; move it there");
    EXPECT_EQ(fault_of(speech("b/a.wav")), "");
    EXPECT_EQ(fault_of(speech("b/../a.wav")), "");
    const fs::path folder = fs::temp_directory_path() / ("lull-plan-" + std::to_string(::getpid()));
    fs::create_directories(folder / "plan");
    fs::create_symlink(folder, folder / "plan" / "up");
    const std::string plan = R"({"format": "lull-plan", "version": 1, "duration_s": 20, )";
    try {
        (void)parse_plan(plan + speech("up/a.wav") + "}", (folder / "plan" / "p.json").string());
        ADD_FAILURE() << "a link out of the folder was taken";
    } catch (const Error& error) {
        EXPECT_EQ(error.place, "events[0].file");
    }
    fs::remove_all(folder);
}

TEST(Plan, ChannelNamesFollowTheRulesOfASession) {
    const auto named = [](const std::string& name) {
        return R"("channels": [{"name": ")" + name + R"(", "position_m": [0, 0, 0]}])";
    };
    EXPECT_NE(fault_of(named("a;b")).find("channels[0].name: holds ;"), std::string::npos);
    EXPECT_NE(fault_of(named(std::string(65, 'a'))).find("longer than 64"), std::string::npos);
    EXPECT_EQ(fault_of(named("north slab")), "");
}

TEST(Plan, ShippedPlansAreValid) {
    int count = 0;
    for (const auto& entry :
         std::filesystem::directory_iterator(std::string(LULL_DATA) + "/plans")) {
        const Plan plan = load_plan(entry.path().string());
        EXPECT_TRUE(plan.channels.size() == 3 || plan.channels.size() == 5 ||
                    plan.channels.size() == 12)
            << entry.path();
        EXPECT_FALSE(plan.difficulty.empty()) << entry.path();
        ++count;
    }
    EXPECT_GE(count, 5);
}

} // namespace
} // namespace lull
