// SPDX-License-Identifier: GPL-3.0-or-later
//
// Grades sheets against the truth of an exercise.
#include "command/tool.hpp"
#include "review/grading.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    lull::Tool tool("lull-grade",
                    "Grades trainees' sheets against the truth of an exercise: who "
                    "heard what, with intervals, a page of the class, and a card for each to learn "
                    "from.",
                    {{"lull-grade --truth exercise/instructor/truth.csv --sheets sheets/first.csv "
                      "sheets/second.csv -o spring",
                      "The class page, scores of two sheets, and a card for each trainee."},
                     {"lull-grade --truth truth.csv --sheets sheets/first.csv --recording "
                      "session.json --earlier spring -o autumn",
                      "The same with the sound of a recording, and progress since spring."}});
    lull::GradingInput input;
    std::string folder;
    auto& app = tool.app();
    tool.reads(app.add_option("--truth", input.truth, "The truth table of the exercise"));
    tool.reads(app.add_option("--judgements", input.judgements,
                              "In place of a truth: a reviewer's judgements of a real recording"));
    lull::shown_as(app.add_option("--reviewer", input.reviewers,
                                  "Whose judgements; given twice, their agreement is measured too"),
                   "NAME");
    tool.reads(app.add_option("--sheets", input.sheets,
                              "The sheets, one a trainee (CSV as people write it)"));
    tool.reads(app.add_option("--finds", input.finds,
                              "This program's own finds (finds.csv), graded on the same scale"));
    tool.reads(app.add_option("--log", input.log,
                              "The operators' log, set beside the events (needs --recording)"));
    tool.reads(app.add_option("--notes", input.notes,
                              "What else was to be heard, for feedback on false calls"));
    tool.reads(
        app.add_option("--recording", input.recording,
                       "The recording or its session: start, length, channels, sound (which is "
                       "else cut from the session beside the truth)"));
    tool.reads(
        app.add_option("--slots", input.slots, "Listening slots: a table with from_s and to_s"));
    tool.reads(app.add_option("--weights", input.weights, "Rules and weights (JSON)"));
    tool.reads(app.add_option("--synonyms", input.synonyms, "Words that mean a kind (JSON)"));
    tool.reads(
        app.add_option("--earlier", input.earlier,
                       "Folders of earlier grades, in order of time: progress of each trainee"));
    lull::shown_as(
        app.add_option("--label", input.label, "Name of the exercise on cards and tables"), "NAME");
    tool.writes(tool.reads(app.add_option(
        "--key", input.key,
        "Use pseudonyms; FILE says whose they are, and is extended if it is there")));
    tool.expect_output({"--key", &input.key, {}});
    tool.add_withhold(input.withheld);
    tool.add_folder_output(folder);

    return tool.run(argc, argv, [&] {
        const lull::GradingOutcome outcome = lull::run_grading(input, folder);
        if (!tool.quiet()) {
            for (const std::string& line : outcome.said)
                tool.say(line);
            tool.say(
                fmt::format("{} sheet(s) against {} events; {}/index.html shows who heard what",
                            outcome.sheets, outcome.events, folder));
        }
        return outcome.degraded ? lull::Status::degraded : lull::Status::done;
    });
}
