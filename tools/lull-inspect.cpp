// SPDX-License-Identifier: GPL-3.0-or-later
//
// Says of each channel whether it was fit to hear.
#include "command/job.hpp"
#include "report/tables.hpp"

int main(int argc, char** argv) {
    lull::Tool tool("lull-inspect",
                    "Says of each channel whether it was fit to hear, and why not.");
    lull::InputOptions input;
    lull::TableOutput output;
    std::string findings;
    tool.add_input(input);
    tool.add_table_output(output);
    tool.app().add_option("--findings", findings, "Also write what was found, with times, to FILE");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        const lull::Analysis found = job.analyse({.health = true});
        job.write(lull::channels_table(found.health, found.findings,
                                       lull::mean_floors(found.courses, job.recording()),
                                       job.recording()),
                  output);
        job.write_further(lull::findings_table(found.findings, job.recording()), findings);
        return job.status();
    });
}
