// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/csv.hpp"
#include "report/json.hpp"
#include "report/read_tables.hpp"
#include "report/tables.hpp"

#include "error.hpp"
#include "fixtures.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <limits>
#include <random>

namespace lull {
namespace {

constexpr const char* events_head = "event,kind,onset_s,end_s,channel,channels\r\n";

TEST(Csv, NumbersHaveFixedDecimalsAndNoMinusZero) {
    EXPECT_EQ(number_text(1.0 / 3.0, 6), "0.333333");
    EXPECT_EQ(number_text(-0.0000001, 6), "0.000000");
    EXPECT_EQ(number_text(-0.5, 2), "-0.50");
    EXPECT_EQ(number_text(std::numeric_limits<double>::quiet_NaN(), 2), "");
    EXPECT_EQ(number_text(std::numeric_limits<double>::infinity(), 2), "");
}

TEST(Csv, WritesByRfc4180) {
    const Table table{"t",
                      {{"a"}, {"b_s", 6}, {"c"}},
                      {{std::string("x,\"y\"\n"), -1.5, Cell()},
                       {std::string("=1+1"), Cell(), std::int64_t{-3}}}};
    EXPECT_EQ(to_csv(table), "a,b_s,c\r\n\"x,\"\"y\"\"\n\",-1.500000,\r\n'=1+1,,-3\r\n");
}

/// Any text survives writing and reading: the property that neutralising could break.
TEST(Csv, RandomTextComesBack) {
    constexpr unsigned seed = 20260314;
    std::mt19937 random(seed);
    const std::string letters = "ab,;\"'\n\r\t =+-@<>&\xC3\xB6";
    const test::Folder folder;
    Table table{"t", {{"one"}, {"two"}}, {}};
    for (int row = 0; row < 300; ++row) {
        table.rows.emplace_back();
        for (int column = 0; column < 2; ++column) {
            std::string text;
            for (unsigned length = random() % 8; length > 0; --length) {
                const std::size_t i = random() % (letters.size() - 1);
                text += i == letters.size() - 2 ? letters.substr(i) : letters.substr(i, 1);
            }
            table.rows.back().push_back(text);
        }
        table.rows.back().front() = "x" + std::get<std::string>(table.rows.back().front());
    }
    const CsvTable read(folder.write("t.csv", to_csv(table)), {"two", "one"});
    ASSERT_EQ(read.rows().size(), table.rows.size()) << "seed " << seed;
    for (std::size_t row = 0; row < table.rows.size(); ++row) {
        EXPECT_EQ(read.text(read.rows()[row], "one"), std::get<std::string>(table.rows[row][0]));
        EXPECT_EQ(read.text(read.rows()[row], "two"), std::get<std::string>(table.rows[row][1]));
    }
}

TEST(ReadTables, FaultsAreNamedWithTheirPlace) {
    const test::Folder folder;
    const test::MadeUp recording;
    const std::string head = events_head, good = "1,tapping,1.0,1.2,stairwell,stairwell;2\r\n";
    const std::pair<std::string, std::string> refused[] = {
        {head + good + good + good + good + good + "6,tapping,2.x,3,stairwell,\r\n",
         "line 7, onset_s"},
        {head + "1,tapping,200,201,stairwell,\r\n", "line 2, onset_s"},
        {head + "1,tapping,1,2,cellar,\r\n", "line 2, channel"},
        {head + "1,shout,1,2,stairwell,\r\n", "line 2, kind"},
        {head + "\r\n1,tapping,3,2,stairwell,\r\n", "line 3, end_s"},
        {head + "1,tapping,nan,2,stairwell,\r\n", "line 2, onset_s"},
        {head + "1,tapping,1\r\n", "line 2"},
        {"event,kind\r\n1,tapping\r\n", "line 1"},
        {"", "line 1"}};
    for (const auto& [bytes, place] : refused) {
        try {
            (void)read_events(folder.write("events.csv", bytes), recording);
            ADD_FAILURE() << "accepted: " << bytes;
        } catch (const Error& error) {
            EXPECT_EQ(error.kind, ErrorKind::input);
            EXPECT_EQ(error.place, place) << bytes;
        }
    }
}

TEST(ReadTables, EventsComeBack) {
    const test::Folder folder;
    const test::MadeUp recording;
    Event event;
    event.number = 4;
    event.kind = EventKind::voice_like;
    event.onset_s = 1.25;
    event.end_s = 2.5;
    event.strongest = 1;
    for (const int channel : {0, 1, 2}) {
        Arrival arrival;
        arrival.channel = channel;
        arrival.peak = 0.5;
        event.arrivals.push_back(arrival);
    }
    const Table table = events_table(std::vector{event}, recording);
    const auto rows = read_events(folder.write("e.csv", "\xEF\xBB\xBF" + to_csv(table)), recording);
    ASSERT_EQ(rows.size(), 1U);
    EXPECT_EQ(rows[0].kind, EventKind::voice_like);
    EXPECT_EQ(rows[0].onset_s, 1.25);
    EXPECT_EQ(rows[0].channel, 1);
    EXPECT_EQ(rows[0].channels, (std::vector{0, 1, 2}));
    // 20 log10 0.5 = -6.02: half of full scale.
    EXPECT_NEAR(std::get<double>(table.rows[0][6]), -6.0206, 1e-4);
}

TEST(ReadTables, LogIsReadLineByLine) {
    const test::Folder folder;
    const test::MadeUp recording;
    const OperatorsLog log = read_log(
        folder.write("l.csv",
                     "action,time,channels\ncall-out,0:05.5,1\nnote,+00:00:07,\nnote,soon,\n"),
        recording);
    ASSERT_EQ(log.rows.size(), 2U);
    EXPECT_EQ(log.rows[0].time_s, 5.5);
    EXPECT_EQ(log.rows[0].channels, std::vector{0});
    EXPECT_EQ(log.rows[1].time_s, 7.0);
    ASSERT_EQ(log.notices.size(), 1U);
    EXPECT_TRUE(log.notices[0].degraded);
    EXPECT_NE(log.notices[0].text.find("line 4, time"), std::string::npos);
}

TEST(Json, TablesParseAndKeepTheirDigits) {
    const test::MadeUp recording;
    const Table table{"t", {{"a"}, {"b_s", 6}, {"c"}}, {{std::string("\x01\xFF\""), 0.1, Cell()}}};
    const Provenance provenance{"lull-detect", {{"band_low_hz", 60.0, 3}}, &recording};
    const std::string text = table_json(table, provenance);
    EXPECT_NE(text.find("\"b_s\": 0.100000"), std::string::npos);
    const auto json = nlohmann::json::parse(text);
    EXPECT_EQ(json["rows"][0]["a"], "\x01\xEF\xBF\xBD\"");
    EXPECT_TRUE(json["rows"][0]["c"].is_null());
    EXPECT_EQ(text, table_json(table, provenance));
}

} // namespace
} // namespace lull
