// SPDX-License-Identifier: GPL-3.0-or-later
//
// Measures how much later one channel heard an event than another.
#include "command/job.hpp"
#include "report/tables.hpp"

int main(int argc, char** argv) {
    lull::Tool tool("lull-delay",
                    "Measures arrival-time differences of events between channels of one kind.",
                    {{"lull-delay session.json --events events.csv -o delays.csv",
                      "Differences of arrival for each event and pair of channels."},
                     {"lull-delay session.json --events events.csv --clocks clocks.csv",
                      "Also how the clocks of the recorders differ."}});
    lull::InputOptions input;
    lull::TableOutput output;
    std::string events, clocks;
    tool.add_input(input);
    tool.add_table_output(output);
    tool.reads(tool.app().add_option("--events", events, "Events table, as lull-detect writes it"))
        ->required();
    tool.add_table_file("--clocks", clocks,
                        "Also write offsets and drifts of the recorders to FILE");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        const std::vector<lull::ClockRow> tied = job.measure_delays(events, output);
        job.write_further(lull::clocks_table(tied, job.recording()), clocks);
        return job.status();
    });
}
