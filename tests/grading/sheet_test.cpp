// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet.hpp"

#include "error.hpp"
#include "grading/sheet_judged.hpp"
#include "grading/sheet_rows.hpp"
#include "grading/sheet_truth.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace lull {
namespace {

SheetContext context() {
    SheetContext c;
    c.words = load_synonyms(LULL_DATA "/grading/synonyms.json");
    c.start = parse_sheet_start("2026-03-14T10:00:00+01:00");
    c.duration_s = 600.0;
    c.channels = {"stairwell", "north-slab", "void-2"};
    return c;
}

double only_time(const std::string& cell) {
    const Sheet sheet = parse_sheet("time;kind\n" + cell + ";tapping\n", "a.csv", context());
    return sheet.answers.size() == 1 ? sheet.answers[0].time_s : -1.0;
}

TEST(Sheet, times_as_people_write_them) {
    for (const char* cell :
         {"83", "83.0", "83,0", "83 s", "1m23s", "1 min 23 sec", "1:23", "01:23", "1'23", "1'23\"",
          "0:01:23", "+00:01:23", "+0:01:23", "10:01:23", "2026-03-14T10:01:23", "~83", "ca. 1:23"})
        EXPECT_DOUBLE_EQ(only_time(cell), 83.0) << cell;
    EXPECT_DOUBLE_EQ(only_time("1:23,5"), 83.5);
    EXPECT_DOUBLE_EQ(only_time("10:09"), 540.0)
        << "a clock time: as a stopwatch it is past the end";
    for (const char* cell : {"soon", "1:75", "-5", "1:2:3:4", "83x", "1e3", "+", ":", "12:"})
        EXPECT_EQ(only_time(cell), -1.0) << cell;
}

TEST(Sheet, clock_times_need_a_start) {
    SheetContext unknown = context();
    unknown.start.reset();
    unknown.duration_s.reset();
    const Sheet sheet =
        parse_sheet("time,kind\n10:01:23,tapping\n2026-03-14T10:01:23,tapping\n", "a", unknown);
    ASSERT_EQ(sheet.answers.size(), 1U);
    EXPECT_DOUBLE_EQ(sheet.answers[0].time_s, 36083.0) << "read as a stopwatch";
    ASSERT_EQ(sheet.faults.size(), 1U);
    EXPECT_EQ(sheet.faults[0].line, 3);
}

TEST(Sheet, midnight_lies_within_a_recording) {
    SheetContext night = context();
    night.start = parse_sheet_start("2026-03-14T23:58:00");
    const Sheet sheet = parse_sheet("time,kind\n00:01:00,tapping\n", "a", night);
    ASSERT_EQ(sheet.answers.size(), 1U);
    // 60 s by stopwatch, 180 s by clock. Two-digit hours mean a clock where nothing else decides.
    EXPECT_DOUBLE_EQ(sheet.answers[0].time_s, 180.0);
}

TEST(Sheet, other_lines_tell_clock_from_stopwatch) {
    SheetContext night = context();
    night.start = parse_sheet_start("00:02:00");
    night.duration_s = 1200.0;
    const Sheet sheet = parse_sheet("time,kind\n00:05:00,tapping\n00:00:30,tapping\n", "a", night);
    ASSERT_EQ(sheet.answers.size(), 2U);
    EXPECT_DOUBLE_EQ(sheet.answers[0].time_s, 300.0) << "the second line can only be a stopwatch";
    EXPECT_DOUBLE_EQ(sheet.answers[1].time_s, 30.0);
}

TEST(Sheet, separators_marks_and_decimal_commas) {
    const std::string rows[] = {
        "\xef\xbb\xbftime;kind;channel;x_m;y_m;note\r\n12,5;knocks;2;1,5;-2;faint, far\r\n",
        "sep=;\ntime;kind;channel;x_m;y_m;note\n12,5;knocks;2;1,5;-2;faint, far\n",
        "Time,Kind,Channel,x,y,Remarks\n12.5,knocks,2,1.5,-2,\"faint, far\"\n",
        "Time,Kind,Channel,x,y,Remarks\n12.5,knocks,2,1.5,-2,faint, far\n",
        "time\tkind\tchannel\tx_m\ty_m\tnote\r12,5\tknocks\tnorth slab\t1,5\t-2\tfaint, far\r",
        "12.5,knocks,NORTH_SLAB,1.5,-2,\"faint, far\"\n",
        "Sheet of a trainee\n\ntime,kind,channel,x_m,y_m,note\n\n12.5,knocks,2,1.5,-2,\"faint, "
        "far\"\n"};
    for (const std::string& text : rows) {
        const Sheet sheet = parse_sheet(text, "folder/ada.csv", context());
        ASSERT_EQ(sheet.answers.size(), 1U) << text;
        const Answer& a = sheet.answers[0];
        EXPECT_TRUE(sheet.faults.empty()) << text << sheet.faults[0].what;
        EXPECT_DOUBLE_EQ(a.time_s, 12.5);
        EXPECT_EQ(a.kind, EventKind::tapping);
        EXPECT_EQ(a.channels, std::vector<std::string>{"north-slab"}) << text;
        EXPECT_EQ(a.x_m, 1.5);
        EXPECT_EQ(a.y_m, -2.0);
        EXPECT_EQ(a.note, "faint, far") << text;
        EXPECT_EQ(sheet.name, "ada");
    }
}

TEST(Sheet, unquoted_decimal_comma_between_commas) {
    const Sheet sheet =
        parse_sheet("time,kind,channel,x_m,y_m,note\n12,5,knocks,1,,,\n", "a", context());
    ASSERT_EQ(sheet.answers.size(), 1U);
    EXPECT_DOUBLE_EQ(sheet.answers[0].time_s, 12.5);
    EXPECT_EQ(sheet.answers[0].kind, EventKind::tapping);
}

TEST(Sheet, utf16_and_latin1) {
    std::string wide = "\xff\xfe";
    for (const char c : std::string("time;kind\n7;shout\n"))
        wide += c, wide += '\0';
    EXPECT_EQ(parse_sheet(wide, "a", context()).answers.at(0).kind, EventKind::voice_like);
    const Sheet latin = parse_sheet("time;note\n7;h\xf6r\n", "a", context());
    EXPECT_EQ(latin.answers.at(0).note, "h\xc3\xb6r");
}

TEST(Sheet, unknown_cells_stay_unknown) {
    const Sheet sheet =
        parse_sheet("time,kind,channel,x_m\n5,?,,-\n9,tapping?,?,\n", "a", context());
    ASSERT_EQ(sheet.answers.size(), 2U);
    EXPECT_TRUE(sheet.faults.empty());
    EXPECT_FALSE(sheet.answers[0].kind);
    EXPECT_TRUE(sheet.answers[0].channels.empty());
    EXPECT_FALSE(sheet.answers[0].x_m);
    EXPECT_EQ(sheet.answers[1].kind, EventKind::tapping);
}

TEST(Sheet, every_unreadable_line_is_named_and_the_rest_kept) {
    const Sheet sheet = parse_sheet("time,kind,channel,x_m\n"
                                    "5,tapping,stairwell,\n"
                                    "later,tapping,,\n"
                                    "?,tapping,,\n"
                                    "\"9,tapping,,\n"
                                    "11,gurgle,cellar,two\n"
                                    "13,voice,void-2,3\n",
                                    "a", context());
    ASSERT_EQ(sheet.answers.size(), 3U);
    EXPECT_EQ(sheet.answers[2].line, 7);
    std::vector<std::pair<int, bool>> named;
    for (const SheetFault& fault : sheet.faults)
        named.emplace_back(fault.line, fault.line_lost);
    const std::vector<std::pair<int, bool>> expected{{3, true},  {4, true},  {5, true},
                                                     {6, false}, {6, false}, {6, false}};
    EXPECT_EQ(named, expected);
}

TEST(Sheet, kinds_by_their_words) {
    const Synonyms words = context().words;
    EXPECT_EQ(words.kind_of("3 knocks on pipe"), EventKind::tapping);
    EXPECT_EQ(words.kind_of("Voice_Like"), EventKind::voice_like);
    EXPECT_EQ(words.kind_of("Air horn"), EventKind::horn);
    EXPECT_FALSE(words.kind_of("knock or shout")) << "two kinds are none";
    EXPECT_FALSE(words.kind_of("gurgle"));
}

TEST(Sheet, a_truth_file_and_an_events_table_are_sheets) {
    const Sheet truth = parse_sheet("time_s,end_s,kind,channel,x_m,y_m,z_m,snr_db,note\n"
                                    "12.000000,13.200000,tapping,north-slab,1.0,2.0,0.0,9.5,\n",
                                    "truth.csv", context());
    EXPECT_TRUE(truth.faults.empty());
    EXPECT_EQ(truth.answers.at(0).kind, EventKind::tapping);
    const Sheet events =
        parse_sheet("event,kind,onset_s,end_s,channel,channels,peak_db,snr_db,confidence\r\n"
                    "1,horn,14.25,15.0,void-2,void-2;stairwell,-20.1,12.0,0.75\r\n",
                    "events.csv", context());
    EXPECT_TRUE(events.faults.empty());
    EXPECT_DOUBLE_EQ(events.answers.at(0).time_s, 14.25);
    EXPECT_EQ(events.answers.at(0).confidence, 0.75);
    EXPECT_EQ(events.answers.at(0).channels, std::vector<std::string>{"void-2"});
}

TEST(Sheet, anything_at_all_is_survived) {
    for (const char* text : {"", "\n\n", ";;;", "\"", "time", "time,kind\n\"\"\"\n", "\xff\xfe\x41",
                             "\xef\xbb\xbf", ",,,,,,,,,,\n1", "sep=", "a\0b"})
        (void)parse_sheet(text, "a", context());
}

TEST(Truth, rows_of_other_kinds_are_surroundings) {
    const Truth truth = parse_truth("time_s,end_s,kind,channel,x_m,y_m,z_m,snr_db,note\n"
                                    "30,31,voice-like,stairwell,,,,12,call\n"
                                    "5,90,drip,void-2,,,,,every 2 s\n"
                                    "10,11,tapping,north-slab,1,2,0,,hail: three knocks\n",
                                    "truth.csv");
    ASSERT_EQ(truth.events.size(), 2U);
    EXPECT_TRUE(truth.events[0].asked);
    EXPECT_FALSE(truth.events[1].asked);
    EXPECT_FALSE(truth.events[1].snr_db);
    ASSERT_EQ(truth.surroundings.size(), 1U);
    EXPECT_EQ(truth.surroundings[0].what, "drip");
}

TEST(Truth, is_refused_where_it_cannot_be_trusted) {
    for (const char* text :
         {"kind\ntapping\n", "time_s,kind\nsoon,tapping\n", "time_s,end_s,kind\n5,4,tapping\n", ""})
        EXPECT_THROW((void)parse_truth(text, "truth.csv"), Error) << text;
    try {
        (void)parse_truth("time_s,kind\n1,tapping\nsoon,tapping\n", "truth.csv");
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.place, "line 3, time_s");
    }
}

TEST(Truth, judgements_serve_as_truth_and_the_last_one_holds) {
    const std::vector<Judgement> judgements = parse_judgements(
        "when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\n"
        "t1,A,d,10.0,stairwell,tapping,disagree,,drip\n"
        "t2,A,d,10.0,stairwell,tapping,agree,,\n"
        "t3,A,d,20.0,stairwell,other,agree,voice-like,\n"
        "t4,A,d,30.0,stairwell,other,unsure,,\n"
        "t5,A,d,40.0,stairwell,tapping,disagree,,drip\n",
        "j.csv");
    ASSERT_EQ(judgements.size(), 4U);
    const std::vector<JudgedEvent> events{{20.0, 22.5, 8.0}};
    const Truth truth = truth_from_judgements(judgements, events);
    ASSERT_EQ(truth.events.size(), 3U);
    EXPECT_EQ(truth.events[1].kind, EventKind::voice_like);
    EXPECT_EQ(truth.events[1].end_s, 22.5);
    EXPECT_EQ(truth.events[1].snr_db, 8.0);
    EXPECT_FALSE(truth.events[2].asked);
    ASSERT_EQ(truth.surroundings.size(), 1U);
    EXPECT_EQ(truth.surroundings[0].note, "drip");
}

TEST(Truth, an_onset_that_a_reviewer_moved_is_where_the_event_begins) {
    const std::vector<Judgement> judgements =
        parse_judgements("when,reviewer,report digest,onset_s,channel,old kind,judgement,new "
                         "kind,reason,new_onset_s\n"
                         "t1,A,d,20.0,stairwell,tapping,agree,,,20.125\n"
                         "t2,A,d,30.0,stairwell,tapping,agree,,,\n",
                         "j.csv");
    const std::vector<JudgedEvent> events{{20.0, 22.5, 8.0}};
    const Truth truth = truth_from_judgements(judgements, events);
    ASSERT_EQ(truth.events.size(), 2U);
    EXPECT_EQ(truth.events[0].time_s, 20.125);
    EXPECT_EQ(truth.events[0].end_s, 22.5) << "is still that of the event that was judged";
    EXPECT_EQ(truth.events[1].time_s, 30.0);
    EXPECT_THROW(
        (void)parse_judgements("reviewer,onset_s,judgement,new_onset_s\nA,1,agree,soon\n", "j.csv"),
        Error);
}

TEST(Sheet, judgements_of_a_blind_page_are_a_sheet) {
    // As the page exports them: an added event has no old kind, `agree` and a new kind.
    const std::string head = "when,reviewer,report digest,onset_s,channel,old kind,judgement,new "
                             "kind,reason,new_onset_s\r\n";
    const std::string rows =
        "2026-03-15T09:00:00Z,Ada,ab12,31.000000,stairwell,,agree,tapping,\"three, far\",\r\n"
        "2026-03-15T09:01:00Z,Bo,ab12,40.000000,north-slab,,agree,voice-like,,\r\n"
        "2026-03-15T09:02:00Z,Ada,ab12,52.500000,cellar,,agree,horn,,52.250000\r\n"
        "2026-03-15T09:03:00Z,Ada,ab12,60.000000,stairwell,tapping,disagree,,,\r\n"
        "2026-03-15T09:04:00Z,Ada,ab12,61.000000,stairwell,tapping,unsure,,,\r\n";
    const auto sheets = parse_sheets(head + rows, "judgements.csv", context(), unknown_start());
    ASSERT_EQ(sheets.size(), 2U);
    EXPECT_EQ(sheets[0].name, "Ada");
    EXPECT_EQ(sheets[1].name, "Bo");
    ASSERT_EQ(sheets[0].answers.size(), 2U) << "what is denied or unsure is no call";
    EXPECT_EQ(sheets[0].answers[0].time_s, 31.0);
    EXPECT_EQ(sheets[0].answers[0].kind, EventKind::tapping);
    EXPECT_EQ(sheets[0].answers[0].channels, std::vector<std::string>{"stairwell"});
    EXPECT_EQ(sheets[0].answers[0].note, "three, far");
    EXPECT_EQ(sheets[0].answers[1].time_s, 52.25) << "where its onset was moved to";
    ASSERT_EQ(sheets[0].faults.size(), 1U);
    EXPECT_EQ(sheets[0].faults[0].line, 4);
    EXPECT_FALSE(sheets[0].faults[0].line_lost);
    EXPECT_EQ(sheets[1].answers.at(0).kind, EventKind::voice_like);
    std::string semicolons = head + "w,'-A-,d,13:35.0,'@roof,,agree,tapping,,\r\n";
    std::ranges::replace(semicolons, ',', ';');
    SheetContext roof = context();
    roof.channels = {"@roof"};
    const auto kept = parse_sheets(semicolons, "judgements.csv", roof, unknown_start());
    ASSERT_EQ(kept.size(), 1U);
    EXPECT_EQ(kept[0].name, "-A-") << "the apostrophe that kept it from being run is gone";
    EXPECT_EQ(kept[0].answers.at(0).time_s, 815.0);
    EXPECT_EQ(kept[0].answers.at(0).channels, std::vector<std::string>{"@roof"});
    EXPECT_EQ(
        parse_sheets("time,kind\n7,tapping\n", "a/ada.csv", context(), unknown_start()).at(0).name,
        "ada");
}

TEST(Sheet, a_spreadsheets_own_file_is_no_sheet) {
    const std::string bytes = "PK\x03\x04 [Content_Types].xml xl/workbook.xml";
    try {
        (void)parse_sheet(bytes, "ada.xlsx", context());
        ADD_FAILURE() << "graded as text";
    } catch (const Error& error) {
        EXPECT_EQ(error.kind, ErrorKind::input);
        EXPECT_EQ(error.file, "ada.xlsx");
        EXPECT_NE(error.fault.find(".xlsx"), std::string::npos);
    }
}

TEST(Truth, TimesAndSeparatorsAreThoseOfSheets) {
    const Truth truth =
        parse_truth("time_s;end_s;kind\n13:35,5;13:40;tapping\n0:02;;drip\n", "truth.csv");
    EXPECT_EQ(truth.events.at(0).time_s, 815.5);
    EXPECT_EQ(truth.events.at(0).end_s, 820.0);
    EXPECT_EQ(truth.surroundings.at(0).from_s, 2.0);
}

} // namespace
} // namespace lull
