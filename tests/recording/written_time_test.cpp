// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/written_time.hpp"

#include "recording/helpers.hpp"
#include "recording/start_time.hpp"

namespace lull::test {
namespace {

StartTime start_at(const std::string& time) {
    return start_of(*parse_iso8601(time), "", "session");
}

TEST(WrittenTime, TimesAsThePageShowsThemAreReadBack) {
    const StartTime unknown = unknown_start(), night = start_at("2026-03-14T22:00:00");
    // Without a start the page counts from 0, with one it shows the clock (timeText, time_line.js).
    EXPECT_EQ(parse_time("13:35.0", unknown), 815.0);
    EXPECT_EQ(parse_time("0:07", unknown), 7.0);
    EXPECT_EQ(parse_time("1:02:03.5", unknown), 3723.5);
    EXPECT_EQ(parse_time("+10:02:03.5", unknown), 36123.5);
    EXPECT_EQ(parse_time("13:35.0", night), 815.0);
    EXPECT_EQ(parse_time("1:02:03.5", night), 3723.5);
    EXPECT_EQ(parse_time("01:02:03.5", night), 10923.5);
    EXPECT_EQ(parse_time("22:00:03", night), 3.0);
    EXPECT_EQ(parse_time("2026-03-14T22:00:03.25", night), 3.25);
    EXPECT_EQ(parse_time("2026-03-14 22:01", night), 60.0);
}

TEST(WrittenTime, OtherFormsThatPeopleWrite) {
    const StartTime unknown = unknown_start();
    for (const char* text : {"83", "83.0", "83,0", "83 s", "1m23s", "1:23", "0:01:23", "+0:01:23",
                             "+1:23", "+83", "~83", " 83 "})
        EXPECT_EQ(parse_time(text, unknown), 83.0) << text;
    EXPECT_EQ(parse_time("-5", unknown), -5.0);
    EXPECT_EQ(parse_time("1e2", unknown), 100.0);
}

TEST(WrittenTime, AmbiguousTimesAreRefused) {
    const StartTime night = start_at("2026-03-14T22:00:00");
    EXPECT_EQ(parse_time("22:10", unknown_start()), 1330.0) << "no clock is known";
    expect_error([&] { static_cast<void>(parse_time("22:10", night)); }, ErrorKind::usage,
                 {"22:10", "+HH:MM:SS"});
    expect_error([] { static_cast<void>(parse_time("02:10:00", unknown_start())); },
                 ErrorKind::usage, {"start of the recording is not known"});
    for (const char* text : {"10:02:03.5x", "1:75", "1:60:00", "24:00:00", "2026-02-30T10:00:00",
                             "2026-03-14T10:00:00+1", "2026-03-14T"})
        expect_error([&] { static_cast<void>(parse_time(text, night)); }, ErrorKind::usage,
                     {text, "is not a time"});
}

} // namespace
} // namespace lull::test
