// SPDX-License-Identifier: GPL-3.0-or-later
//
// Noise floor, median and level of each channel in third octaves; quiet periods.
#include "command/job.hpp"
#include "recording/atomic_file.hpp"
#include "report/tables.hpp"
#include "review/measuring_pictures.hpp"

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-noise",
        "Noise floor, median and level of each channel in third octaves; quiet periods.",
        {{"lull-noise session.json -o noise.csv",
          "Floor, median and level of each channel in third octaves."},
         {"lull-noise session.json --every 30 --quiet-periods quiet.csv",
          "A row each half minute, and when the site was quiet."}});
    lull::InputOptions input;
    lull::TableOutput output;
    std::string quiet, picture, horns;
    double every_s = 0.0;
    tool.add_input(input);
    tool.add_table_output(output);
    lull::shown_as(tool.app().add_option("--every", every_s, "Interval of the table"), "SECONDS",
                   "the whole recording")
        ->check(lull::number_between(1.0, 86400.0));
    tool.add_horns(horns);
    tool.add_table_file("--quiet-periods", quiet, "Also write the quiet periods to FILE");

    tool.add_picture_file("--picture", picture, "Also draw floor, median and level to FILE (.svg)");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        job.read_horns(horns);
        if (every_s > 0.0) job.settings().every_s = every_s;
        const lull::Analysis found = job.analyse({.noise = true, .quiet = !quiet.empty()});
        job.write(lull::noise_table(found.noise, job.recording()), output);
        job.write_further(lull::quiet_table(found.quiet), quiet);
        if (!picture.empty()) {
            lull::write_file(picture, lull::noise_picture(found, job.recording()));
        }
        return job.status();
    });
}
