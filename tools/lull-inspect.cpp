// SPDX-License-Identifier: GPL-3.0-or-later
//
// Says of each channel whether it was fit to hear.
#include "command/job.hpp"
#include "recording/atomic_file.hpp"
#include "report/tables.hpp"
#include "review/measuring_pictures.hpp"

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-inspect", "Says of each channel whether it was fit to hear, and why not.",
        {{"lull-inspect session.json", "Was each channel fit to hear: a row a channel."},
         {"lull-inspect recording.flac --findings findings.csv --picture findings.svg",
          "What was found and when, as a table and a picture."}});
    lull::InputOptions input;
    lull::TableOutput output;
    std::string findings, picture;
    tool.add_input(input);
    tool.add_table_output(output);
    tool.add_table_file("--findings", findings, "Also write what was found, with times, to FILE");

    tool.add_picture_file("--picture", picture, "Also draw the findings over time to FILE (.svg)");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        const lull::Analysis found = job.analyse({.health = true});
        job.write(lull::channels_table(found.health, found.findings,
                                       lull::mean_floors(found.courses, job.recording()), {},
                                       job.recording()),
                  output);
        job.write_further(lull::findings_table(found.findings, job.recording()), findings);
        if (!picture.empty()) {
            lull::write_file(picture, lull::fitness_picture(found, job.recording()));
        }
        return job.status();
    });
}
