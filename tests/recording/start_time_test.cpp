// SPDX-License-Identifier: GPL-3.0-or-later
//
// Clock changes as governments published them. In the European Union clocks go forward at 01:00 UTC
// on the last Sunday of March and back at 01:00 UTC on the last Sunday of October (Directive
// 2000/84/EC): 2026-03-29 and 2026-10-25.
#include "recording/helpers.hpp"
#include "recording/start_time.hpp"

namespace lull::test {
namespace {

StartTime start_at(const std::string& time, const std::string& zone = "") {
    return start_of(*parse_iso8601(time), zone, "session");
}

void expect_usage(const std::string& text, const StartTime& start, const std::string& word) {
    expect_error([&] { static_cast<void>(parse_time(text, start)); }, ErrorKind::usage, {word});
}

TEST(StartTime, ReadsIso8601Strictly) {
    EXPECT_EQ(parse_iso8601("1970-01-02T00:00:01")->seconds, 86401.0);
    EXPECT_EQ(parse_iso8601("2026-03-14T02:10:00.5")->seconds -
                  parse_iso8601("2026-03-14T02:10:00")->seconds,
              0.5);
    EXPECT_FALSE(parse_iso8601("2026-03-14T02:10:00")->utc_offset_s);
    EXPECT_EQ(parse_iso8601("2026-03-14T02:10:00Z")->utc_offset_s, 0);
    EXPECT_EQ(parse_iso8601("2026-03-14T02:10:00-03:30")->utc_offset_s, -12600);
    for (const char* text :
         {"2026-02-29T00:00:00", "2026-13-01T00:00:00", "2026-03-14T24:00:00",
          "2026-03-14T02:60:00", "2026-03-14T02:10:00x", "2026-03-14", "2026-3-14T02:10:00",
          "2026-03-14T02:10:00+1", "2026-03-14T02:10:00Z ", "", "14-03-2026T02:10:00"})
        EXPECT_FALSE(parse_iso8601(text)) << text;
}

TEST(StartTime, ReadsUnambiguousTimesInNames) {
    const double expected = parse_iso8601("2026-03-14T01:02:03")->seconds;
    bool ambiguous = false;
    for (const char* name :
         {"20260314T010203.wav", "2026-03-14_01-02-03.wav", "stairwell_2026-03-14 01.02.03.flac",
          "a1_20260314_010203_b.wav", "20260314010203.wav", "2026_03_14-010203.wav"}) {
        const auto found = time_in_name(name, ambiguous);
        ASSERT_TRUE(found) << name;
        EXPECT_EQ(found->seconds, expected) << name;
        EXPECT_FALSE(found->utc_offset_s) << name;
        EXPECT_FALSE(ambiguous);
    }
    EXPECT_EQ(time_in_name("20260314T010203Z.wav", ambiguous)->utc_offset_s, 0);
    for (const char* name : {"03-04-2026_010203.wav", "03.04.2026 01-02-03.wav"}) {
        EXPECT_FALSE(time_in_name(name, ambiguous)) << name;
        EXPECT_TRUE(ambiguous) << name;
    }
    for (const char* name : {"a.wav", "20260230T010203.wav", "20260314.wav",
                             "take_123456789012345678.wav", "2026-03.wav"}) {
        EXPECT_FALSE(time_in_name(name, ambiguous)) << name;
        EXPECT_FALSE(ambiguous) << name;
    }
}

TEST(StartTime, ClockTextShowsAZoneOnlyWhereItIsKnown) {
    EXPECT_EQ(clock_text(unknown_start(), 5.0), "");
    EXPECT_EQ(clock_text(start_at("2026-03-14T23:59:59.5"), 0.75), "2026-03-15T00:00:00.250");
    EXPECT_EQ(clock_text(start_at("2026-12-31T23:59:59Z"), 1.0), "2027-01-01T00:00:00.000Z");
    EXPECT_EQ(clock_text(start_at("2026-03-14T00:00:00", "-03:30"), 0.0),
              "2026-03-14T00:00:00.000-03:30");
    EXPECT_EQ(clock_text(start_at("2026-03-14T00:00:00Z", "+02:00"), 0.0),
              "2026-03-14T02:00:00.000+02:00");
    EXPECT_EQ(clock_text(start_at("2026-03-14T00:00:00"), 0.9996), "2026-03-14T00:00:01.000");
}

TEST(StartTime, ClockChangesOfAZone) {
    const StartTime spring = start_at("2026-03-29T01:30:00", "Europe/Berlin");
    EXPECT_EQ(spring.utc_offset_s, 3600);
    EXPECT_EQ(clock_text(spring, 1799.0), "2026-03-29T01:59:59.000+01:00");
    EXPECT_EQ(clock_text(spring, 1800.0), "2026-03-29T03:00:00.000+02:00");
    EXPECT_EQ(parse_time("03:10:00", spring), 2400.0);
    EXPECT_EQ(parse_time("2026-03-29T03:10:00", spring), 2400.0);
    EXPECT_EQ(parse_time("2026-03-29T01:10:00Z", spring), 2400.0);
    expect_usage("2026-03-29T02:30:00", spring, "skips");
    const StartTime autumn = start_at("2026-10-25T01:30:00", "Europe/Berlin");
    EXPECT_EQ(autumn.utc_offset_s, 7200);
    EXPECT_EQ(clock_text(autumn, 5400.0), "2026-10-25T02:00:00.000+01:00");
    expect_usage("2026-10-25T02:30:00", autumn, "repeats");
    EXPECT_EQ(parse_time("2026-10-25T02:30:00+01:00", autumn), 7200.0);
    EXPECT_EQ(parse_time("02:30:00", autumn), 3600.0) << "the first at or after the start";
    expect_error([] { start_at("2026-03-29T02:30:00", "Europe/Berlin"); }, ErrorKind::input,
                 {"skips", "offset"});
    expect_error([] { start_at("2026-10-25T02:30:00", "Europe/Berlin"); }, ErrorKind::input,
                 {"twice", "offset"});
    EXPECT_EQ(start_at("2026-10-25T02:30:00+01:00", "Europe/Berlin").utc_offset_s, 3600);
    EXPECT_EQ(start_at("2026-07-01T12:00:00", "Asia/Kathmandu").utc_offset_s, 20700);
    expect_error([] { start_at("2026-07-01T12:00:00", "Europe/Atlantis"); }, ErrorKind::input,
                 {"Atlantis"});
    expect_error([] { start_at("2026-07-01T12:00:00", "../etc/passwd"); }, ErrorKind::input,
                 {"passwd"});
}

TEST(StartTime, TimesThatPeopleWrite) {
    const StartTime start = start_at("2026-03-14T23:00:00");
    EXPECT_EQ(parse_time("12.5", start), 12.5);
    EXPECT_EQ(parse_time("+01:02:03.25", start), 3723.25);
    EXPECT_EQ(parse_time("+100:00:00", start), 360000.0);
    EXPECT_EQ(parse_time("23:00:00", start), 0.0);
    EXPECT_EQ(parse_time("00:30:00", start), 5400.0) << "past midnight";
    EXPECT_EQ(parse_time("22:59:59", start), 86399.0);
    EXPECT_EQ(parse_time("2026-03-15T00:00:00", start), 3600.0);
    for (const char* text :
         {"1s2", "", "12:00", "25:00:00", "12:00:00x", "nan", "inf", "0x10", "+"})
        expect_usage(text, start, "is not a time");
    expect_usage("12:00:00", unknown_start(), "start");
    expect_usage("2026-03-15T00:00:00Z", start, "zone");
}

TEST(StartTime, TextAndTimeAgreeAtRandomMoments) {
    const unsigned seed = 31;
    std::mt19937 random(seed);
    for (int i = 0; i < 300; ++i) {
        const double utc_s = 1.7e9 + static_cast<double>(random() % 100000000);
        for (const char* zone :
             {"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "+05:30"}) {
            const StartTime start = start_of({utc_s, 0}, zone, "session");
            const double time_s = static_cast<double>(random() % 40000000);
            EXPECT_EQ(parse_time(clock_text(start, time_s), start), time_s)
                << "seed " << seed << " " << zone;
        }
    }
}

} // namespace
} // namespace lull::test
