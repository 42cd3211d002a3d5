// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/exercise_folder.hpp"

#include "report/folder.hpp"
#include "synthesis/exercise.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace lull {
namespace {

namespace fs = std::filesystem;

constexpr const char* tool = "lull-exercise";

/// The plan, and the recordings of speech that it names.
std::vector<std::string> files_read(const Plan& plan, const std::string& plan_file) {
    std::vector<std::string> files{plan_file};
    for (const PlanEvent& event : plan.events)
        if (!event.file.empty())
            files.push_back((fs::path(plan_file).parent_path() / event.file).string());
    return files;
}

} // namespace

ExerciseOutcome make_exercises(const ExerciseRequest& request, const ProgressSink& progress) {
    const Plan plan = load_plan(request.plan_file);
    const std::uint64_t seed = request.seed.value_or(plan.seed);
    OutputFolder folder(request.folder, tool, files_read(plan, request.plan_file));
    ExerciseOutcome outcome;
    for (int variant = 0; variant < request.variants; ++variant) {
        const std::string name =
            request.variants == 1 ? std::string() : fmt::format("variant-{}", variant + 1);
        const std::string place = folder.folder_of(name);
        ProgressState state{request.variants == 1 ? "making the exercise" : "making " + name, 0.0,
                            plan.duration_s, true};
        const ExerciseSummary summary =
            make_exercise(plan, seed, variant, place, [&](Frame done, Frame all) {
                state.done_s =
                    plan.duration_s * static_cast<double>(done) / static_cast<double>(all);
                progress(state);
            });
        outcome.events += summary.events;
        outcome.not_reached += summary.not_reached;
        outcome.cries = outcome.cries || summary.cries;
    }
    folder.publish(request.run);
    return outcome;
}

} // namespace lull
