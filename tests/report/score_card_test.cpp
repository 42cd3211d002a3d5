// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/score_card.hpp"

#include "report/caution.hpp"
#include "report/csv.hpp"
#include "report/grade_folder.hpp"
#include "report/grade_tables.hpp"
#include "report/read_grades.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cstdio>
#include <fstream>

namespace lull {
namespace {

Grade small_grade() {
    GradeRequest request;
    request.exercise = "Cellar <one>";
    request.duration_s = 120.0;
    for (int i = 1; i <= 4; ++i) {
        TruthEvent e;
        e.number = i;
        e.time_s = 20.0 * i;
        e.end_s = e.time_s + 1.0;
        e.kind = EventKind::tapping;
        e.channels = {"stairwell"};
        e.snr_db = 4.0 * i;
        request.truth.events.push_back(e);
    }
    request.truth.surroundings.push_back({50.0, 50.1, "drip", "void-2", "on <tin>"});
    request.sheets.push_back(
        parse_sheet("time,kind\n20.5,knock\n50,knock\nx,knock\n", "L01.csv", SheetContext{}));
    request.sheets.push_back(parse_sheet("", "L02.csv", SheetContext{}));
    return grade(request);
}

TEST(ScoreCard, says_what_was_missed_and_what_was_really_there) {
    const Grade grade = small_grade();
    const std::string card = score_card(grade, grade.listeners[0], exercise_text, "../excerpts");
    for (const char* part :
         {"Score card L01", "1 of 4", "event-02.flac", "0:40.0", "drip on void-2 (on &lt;tin&gt;)",
          "sheet-1-line-3.flac", "is no time that can be read", "Cellar &lt;one&gt;", "@page"})
        EXPECT_NE(card.find(part), std::string::npos) << part;
    EXPECT_NE(card.find(std::string(caution_text)), std::string::npos);
    for (const char* part : {"<script", "http", "color: red", "pass", "fail", "rank"})
        EXPECT_EQ(card.find(part), std::string::npos) << part;
    EXPECT_EQ(score_card(grade, grade.listeners[0], "", "").find(".flac"), std::string::npos);
}

TEST(ScoreCard, an_empty_sheet_has_a_card_too) {
    const Grade grade = small_grade();
    const std::string card = score_card(grade, grade.listeners[1], "", "");
    EXPECT_NE(card.find("0 of 4"), std::string::npos);
    EXPECT_NE(card.find("not known"), std::string::npos) << "no precision without an answer";
}

TEST(GradeTables, rows_fit_their_columns) {
    const Grade grade = small_grade();
    for (const Table& table :
         {scores_table(grade), answers_table(grade), misses_table(grade), heard_table(grade),
          class_table(grade), curves_table(grade), apart_table(grade), faults_table(grade)})
        for (const auto& row : table.rows)
            EXPECT_EQ(row.size(), table.columns.size()) << table.name;
    const Grade none;
    EXPECT_EQ(answers_table(none).columns.size(), answers_table(grade).columns.size());
    EXPECT_EQ(misses_table(none).columns.size(), misses_table(grade).columns.size());
    EXPECT_EQ(class_table(none).columns.size(), class_table(grade).columns.size());
    EXPECT_EQ(heard_table(none).columns.size(), heard_table(grade).columns.size());
}

TEST(GradeTables, scores_are_read_back_for_the_learning_curve) {
    const Grade grade = small_grade();
    const std::string path = testing::TempDir() + "/lull-past-scores.csv";
    std::ofstream(path, std::ios::binary) << to_csv(scores_table(grade));
    const std::vector<PastScore> scores = read_past_scores(path);
    std::remove(path.c_str());
    ASSERT_EQ(scores.size(), 2U);
    EXPECT_EQ(scores[0].listener, "L01");
    EXPECT_EQ(scores[0].counts.hits, 1);
    EXPECT_EQ(scores[0].counts.false_calls, 1);
}

TEST(GradeTables, json_has_the_keys_of_its_schema) {
    const Grade grade = small_grade();
    const std::vector<Table> tables{scores_table(grade), answers_table(grade), misses_table(grade),
                                    heard_table(grade),  class_table(grade),   curves_table(grade),
                                    apart_table(grade),  faults_table(grade)};
    const auto json = nlohmann::json::parse(grade_json(grade, {}, tables));
    std::ifstream file(LULL_DATA "/schema/scores.schema.json");
    if (!file) GTEST_SKIP() << "no schema";
    const auto schema = nlohmann::json::parse(file);
    for (const auto& key : schema["required"])
        EXPECT_TRUE(json.contains(key)) << key;
    for (const auto& [key, value] : json.items()) {
        ASSERT_TRUE(schema["properties"].contains(key)) << key;
        if (!value.is_array() || key == "inputs") continue;
        const auto& columns = schema["properties"][key]["items"]["properties"];
        for (const auto& row : value) {
            EXPECT_EQ(row.size(), columns.size()) << key;
            for (const auto& [column, cell] : row.items())
                EXPECT_TRUE(columns.contains(column)) << column;
        }
    }
}

} // namespace
} // namespace lull
