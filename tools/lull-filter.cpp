// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writes a conditioned copy of a recording.
#include "command/job.hpp"
#include "report/read_tables.hpp"
#include "review/filter_recording.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    lull::Tool tool("lull-filter",
                    "Writes a conditioned copy of a recording: band-passed, "
                    "freed of hum, louder; its start time and marks are kept.",
                    {{"lull-filter recording.flac -o filtered.wav --band 60-2000 --remove-hum",
                      "Only the analysis band, freed of mains hum."},
                     {"lull-filter recording.flac -o louder.wav --gain 20 --from 0:30 --to 1:00",
                      "Half a minute of it, 20 dB louder."}});
    lull::InputOptions input;
    lull::FilterRequest request;
    std::string file, withheld;
    tool.add_input(input);
    tool.add_withhold(withheld);
    tool.writes(
            tool.app().add_option("-o,--output", file, "The recording to write (.wav, .flac, ...)"))
        ->required();
    tool.expect_output({"--output", &file, {}});
    lull::shown_as(tool.app().add_option("--gain", request.gain_db, "Gain"), "DB", "0")
        ->check(lull::number_between(-120.0, 120.0));
    std::string format;
    tool.app().add_flag("--remove-hum", request.remove_hum,
                        "Subtract mains hum and its harmonics, following its frequency");
    lull::shown_as(
        tool.app().add_option("--format", format, "Samples of the new recording: bits, or float"),
        "TEXT", "those of the input")
        ->check(lull::one_of({"16", "24", "float"}));
    tool.app().add_flag("--zero-phase", request.zero_phase,
                        "Filter forward and backward: no delay, twice the attenuation");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        if (!format.empty())
            request.samples = format == "16"   ? lull::SampleFormat::pcm_16
                              : format == "24" ? lull::SampleFormat::pcm_24
                                               : lull::SampleFormat::float_32;
        if (!withheld.empty())
            request.withheld = lull::read_withheld(withheld, job.recording().start);
        if (!input.band.empty()) request.band = job.settings().band;
        const lull::FilterOutcome outcome =
            lull::filter_recording(job.recording(), job.settings(), request, file, job.progress());
        if (outcome.clipped > 0)
            tool.say(
                fmt::format("{}: {} samples go beyond full scale (and are held at it unless the "
                            "file is float); give a lower --gain",
                            file, outcome.clipped));
        return job.status();
    });
}
