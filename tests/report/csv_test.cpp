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

TEST(ReadTables, FaultsAreReportedWithTheirPlace) {
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

TEST(ReadTables, AnSnrOverADigitallySilentFloorComesBack) {
    const test::Folder folder;
    const test::MadeUp recording;
    RankRow silent, weak;
    silent.event = weak.event = 1;
    silent.peak_energy_db = weak.peak_energy_db = -20.0;
    silent.snr_db = std::numeric_limits<double>::infinity();
    weak.snr_db = 4.5, weak.channel = 1;
    const Table table = ranking_table(std::vector{silent, weak}, recording);
    const auto rows = read_ranking(folder.write("r.csv", to_csv(table)), recording);
    ASSERT_EQ(rows.size(), 2U);
    EXPECT_EQ(rows[0].snr_db, std::numeric_limits<double>::infinity());
    EXPECT_EQ(rows[1].snr_db, 4.5);
    EXPECT_NE(rows_json(table).find("\"snr_db\": \"inf\""), std::string::npos);
}

/// Some megabytes are read piece by piece, line ends within cells among them.
TEST(ReadTables, ALongTableIsReadInPieces) {
    const test::Folder folder;
    const test::MadeUp recording;
    std::string bytes = "\xEF\xBB\xBF"
                        "why," +
                        std::string(events_head);
    constexpr int many = 60000;
    for (int i = 1; i <= many; ++i)
        bytes += "\"rise 3 ms,\r\n \"\"decay\"\" " + std::string(60, 'x') + "\"," +
                 std::to_string(i) + ",tapping,1.5,1.6,stairwell,stairwell;2\r\n";
    int pieces = 0, next = 0;
    in_csv_pieces(folder.write("long.csv", bytes), {"event", "why"}, [&](const CsvTable& table) {
        ++pieces;
        EXPECT_LT(table.rows().size(), static_cast<std::size_t>(many) / 2);
        for (const CsvRow& row : table.rows()) {
            ASSERT_EQ(table.whole(row, "event"), ++next);
            ASSERT_EQ(row.line, 2 * next) << "each row has two lines";
        }
    });
    EXPECT_EQ(next, many);
    EXPECT_GT(pieces, 2);
    EXPECT_EQ(read_events(folder.at("long.csv"), recording).size(), static_cast<std::size_t>(many));
    for (const auto& [row, place] :
         {std::pair<std::string, std::string>{"x,1,tapping,99,99,1,1", "line 120002, onset_s"},
          {"\"x\"y,1,tapping,1,1,1,1", "line 120002"},
          {"x,1", "line 120002"}}) {
        try {
            (void)read_events(folder.write("bad.csv", bytes + row + "\r\n"), recording);
            ADD_FAILURE() << "accepted: " << row;
        } catch (const Error& error) {
            EXPECT_EQ(error.place, place) << row;
        }
    }
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

TEST(ReadTables, SeparatorsAndEncodingsOfSpreadsheets) {
    const test::Folder folder;
    const test::MadeUp recording;
    std::string wide = "\xff\xfe";
    for (const char c : std::string("time\taction\tchannels\r\n0:05,5\tcall-out\t1\r\n"))
        wide += c, wide += '\0';
    const std::string written[] = {"time,action,channels\r\n\"0:05,5\",call-out,1\r\n",
                                   "time;action;channels\r\n0:05,5;call-out;\"1\"\r\n",
                                   "\xEF\xBB\xBFtime;action;channels\n0:05.5;call-out;1\n",
                                   "sep=;\ntime;action;channels\n0:05,5;call-out;1\n",
                                   "time\taction\tchannels\n5,5\tcall-out\t1\n",
                                   wide};
    for (const std::string& bytes : written) {
        const OperatorsLog log = read_log(folder.write("l.csv", bytes), recording);
        ASSERT_EQ(log.rows.size(), 1U) << bytes;
        EXPECT_TRUE(log.notices.empty()) << log.notices[0].text;
        EXPECT_EQ(log.rows[0].time_s, 5.5) << bytes;
        EXPECT_EQ(log.rows[0].channels, std::vector{0}) << bytes;
    }
    const std::string events =
        "event;kind;onset_s;end_s;channel;channels\r\n1;tapping;1,5;2;stairwell;\"1;2\"\r\n";
    const auto rows = read_events(folder.write("e.csv", events), recording);
    ASSERT_EQ(rows.size(), 1U);
    EXPECT_EQ(rows[0].onset_s, 1.5);
    EXPECT_EQ(rows[0].channels, (std::vector{0, 1}));
    const std::string latin = "time;action;text\n5;note;h\xF6rbar\n";
    EXPECT_EQ(read_log(folder.write("l.csv", latin), recording).rows.at(0).text, "h\xC3\xB6rbar");
    try {
        (void)read_log(folder.write("l.csv", "sep=;\n\ntime;person\n"), recording);
        ADD_FAILURE() << "accepted without a needed column";
    } catch (const Error& error) {
        EXPECT_NE(error.fault.find("lacks action"), std::string::npos) << error.fault;
    }
}

TEST(ReadTables, WhatIsNoTextIsNamed) {
    const test::Folder folder;
    const test::MadeUp recording;
    const auto zip = [](const std::string& entry) {
        return std::string("PK\x03\x04\x14\0\0\0", 8) + entry + std::string(40, '\0');
    };
    const std::pair<std::string, const char*> handed_in[] = {
        {zip("xl/workbook.xml"), ".xlsx"},
        {zip("mimetypeapplication/vnd.oasis.opendocument.spreadsheet"), ".ods"},
        {zip("word/document.xml"), ".docx"},
        {zip("photos/1.jpg"), ".zip"},
        {"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and so on", ".xls"},
        {"%PDF-1.7\n", "PDF"},
        {"<!DOCTYPE html><table><tr><td>time</td></tr></table>", "web page"},
        {std::string("time,action\n\0\0,\n", 16), "not text"}};
    for (const auto& [bytes, word] : handed_in) {
        try {
            (void)read_log(folder.write("log.csv", bytes), recording);
            ADD_FAILURE() << "accepted: " << word;
        } catch (const Error& error) {
            EXPECT_EQ(error.kind, ErrorKind::input);
            EXPECT_NE(error.fault.find(word), std::string::npos) << error.fault;
            EXPECT_NE(error.mend.find("save it as CSV"), std::string::npos) << error.mend;
        }
    }
}

TEST(ReadTables, TimesOfALogMayBeClockTimes) {
    const test::Folder folder;
    test::MadeUp recording;
    recording.start.unix_s = 22 * 3600.0; // 22:00:00
    const double length_s = recording.duration_s();
    ASSERT_LT(length_s, 20 * 60.0 + 30.0);
    const OperatorsLog log = read_log(
        folder.write("l.csv",
                     "time,action\n0:05,note\n22:00:07,note\n22:10,note\n0:00:09.5,note\n"),
        recording);
    ASSERT_EQ(log.rows.size(), 4U);
    EXPECT_EQ(log.rows[0].time_s, 5.0);
    EXPECT_EQ(log.rows[1].time_s, 7.0);
    EXPECT_EQ(log.rows[2].time_s, 600.0) << "22 minutes lie outside the recording";
    EXPECT_EQ(log.rows[3].time_s, 9.5);
}

TEST(ReadTables, JudgementsTakeTimesOfThePage) {
    const test::Folder folder;
    const std::string head = "when;reviewer;report digest;onset_s;channel;old kind;judgement;new "
                             "kind;reason;new_onset_s\n";
    const auto rows = read_judgements(
        folder.write("j.csv",
                     head +
                         "w;B;d;13:35.0;a;tapping;agree;;;\nw;B;d;815;a;;agree;horn;;1:02:03,5\n"),
        unknown_start());
    ASSERT_EQ(rows.size(), 2U);
    EXPECT_EQ(rows[0].onset_s, 815.0);
    EXPECT_EQ(rows[1].new_onset_s, 3723.5);
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
