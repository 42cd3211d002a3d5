// SPDX-License-Identifier: GPL-3.0-or-later
//
// Makes an exercise with known truth from a plan.
#include "command/progress_line.hpp"
#include "command/run_line.hpp"
#include "command/tool.hpp"
#include "recording/shared_file.hpp"
#include "review/exercise_folder.hpp"

#include <fmt/format.h>

#include <limits>

int main(int argc, char** argv) {
    lull::Tool tool("lull-exercise",
                    "Makes an exercise from a plan: a recording for the trainee, the "
                    "truth for the instructor.",
                    {{"lull-exercise plan.json -o exercise",
                      "One exercise: trainee/ to hand out, instructor/ to keep."},
                     {"lull-exercise plan.json -o variants --seed 7 --variants 2",
                      "Two exercises of equal difficulty."}});
    lull::ExerciseRequest request;
    std::uint64_t seed = 0;
    tool.reads(
            tool.app().add_option("PLAN", request.plan_file,
                                  "Exercise plan (JSON), or the name of one that comes with lull"))
        ->required();
    tool.add_folder_output(request.folder);
    auto* seeded = lull::shown_as(tool.app().add_option(
                                      "--seed", seed, "Seed of whatever the plan leaves to chance"),
                                  "NUMBER", "the plan's own")
                       ->check(lull::whole_between(0, std::numeric_limits<std::int64_t>::max()));
    lull::shown_as(tool.app().add_option("--variants", request.variants,
                                         "How many exercises of equal difficulty"),
                   "NUMBER", "1")
        ->check(lull::whole_between(1, 999));

    return tool.run(argc, argv, [&] {
        if (seeded->count() > 0) request.seed = seed;
        request.plan_file = lull::with_shared_file(request.plan_file, "plans/");
        request.run = lull::run_line(argc, argv);
        lull::ProgressLine progress(tool.name(), tool.quiet());
        const lull::ExerciseOutcome outcome = lull::make_exercises(request, progress.sink());
        progress.clear();
        if (tool.quiet()) return lull::Status::done;
        tool.say(
            fmt::format("{} events; hand out only trainee/, keep instructor/", outcome.events));
        if (outcome.not_reached > 0)
            tool.say(fmt::format("{} of them could not reach their SNR: see instructor/notes.txt",
                                 outcome.not_reached));
        if (outcome.cries) tool.say("it holds cries or screams: warn trainees before they listen");
        return lull::Status::done;
    });
}
