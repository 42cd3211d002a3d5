// SPDX-License-Identifier: GPL-3.0-or-later
//
// Ranks the channels by how strongly each heard an event.
#include "command/job.hpp"

int main(int argc, char** argv) {
    lull::Tool tool("lull-rank",
                    "Ranks the channels of one kind by how strongly each heard an event.",
                    {{"lull-rank session.json --events events.csv -o ranking.csv",
                      "Which channel heard each event most strongly."},
                     {"lull-rank session.json --events events.csv --format json",
                      "The same as JSON on standard output."}});
    lull::InputOptions input;
    lull::TableOutput output;
    std::string events;
    tool.add_input(input);
    tool.add_table_output(output);
    tool.reads(tool.app().add_option("--events", events, "Events table, as lull-detect writes it"))
        ->required();

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        job.rank(events, output);
        return job.status();
    });
}
