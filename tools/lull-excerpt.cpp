// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cuts out the sound of events.
#include "command/job.hpp"
#include "command/run_line.hpp"
#include "report/read_tables.hpp"
#include "review/excerpts.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-excerpt", "Cuts out the sound of events, made safe to listen to.",
        {{"lull-excerpt session.json --events events.csv -o excerpts",
          "The sound of each event on its strongest channel."},
         {"lull-excerpt session.json --events events.csv --pair stairwell,north-slab -o pairs",
          "Two channels, one on each ear."}});
    lull::InputOptions input;
    std::string events, folder, pair, withheld;
    bool mix = false;
    tool.add_input(input);
    tool.add_folder_output(folder);
    tool.reads(tool.app().add_option("--events", events, "Events table, as lull-detect writes it"))
        ->required();
    auto* mixed = tool.app().add_flag(
        "--mix", mix, "The channels that heard it, mixed, in place of the strongest");
    lull::shown_as(tool.app().add_option("--pair", pair, "Two channels, one on each ear"), "A,B")
        ->excludes(mixed);
    tool.add_withhold(withheld);

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        lull::ExcerptsRequest request{
            events, folder, lull::ExcerptKind::channel, {}, lull::run_line(argc, argv)};
        if (mix) request.kind = lull::ExcerptKind::mix;
        if (!pair.empty()) {
            request.kind = lull::ExcerptKind::pair;
            request.pair = lull::split_names(pair);
        }
        if (!withheld.empty())
            request.disclosure.withheld = lull::read_withheld(withheld, job.recording().start);
        const int left_out = lull::write_excerpts(job.recording(), request, job.progress());
        job.end_progress();
        if (left_out > 0) tool.say(fmt::format("the sound of {} events is withheld", left_out));
        return job.status();
    });
}
