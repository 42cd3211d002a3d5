// SPDX-License-Identifier: GPL-3.0-or-later
//
// Lists the events of a recording.
#include "command/job.hpp"
#include "report/caution.hpp"
#include "report/hail_words.hpp"
#include "report/tables.hpp"

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-detect",
        "Lists what stood out in a recording: tapping, voice-like sounds, horns, others.",
        {{"lull-detect session.json -o events.csv --series series.csv",
          "The events as a table, and the series of tapping."},
         {"lull-detect recording.flac --channels 1,2 --format jsonl",
          "Two channels as JSON Lines, for a pipe."}});
    lull::InputOptions input;
    lull::TableOutput output;
    std::string arrivals, series, hails, tracks, log, horns, hail_channel;
    double list_from = 0.1;
    std::optional<double> false_per_hour;
    tool.add_input(input);
    tool.add_table_output(output);
    tool.add_listing(list_from, false_per_hour);
    tool.add_table_file("--arrivals", arrivals, "Also write each event on each channel to FILE");
    tool.add_table_file("--series", series, "Also write the series of tapping to FILE");
    tool.add_table_file("--hails", hails, "Also write hails and what followed to FILE");
    tool.add_table_file("--tracks", tracks,
                        "Also write the running scores of each channel to FILE");
    tool.reads(tool.app().add_option("--log", log, "The operators' log: hails are taken from it"));
    tool.add_hail_channel(hail_channel);
    tool.add_horns(horns);

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        job.settings().list_from = list_from;
        job.settings().false_per_hour = false_per_hour;
        job.read_log(log);
        job.read_horns(horns);
        job.set_hail_channel(hail_channel);
        lull::TableStream table = job.open_table(output);
        const lull::Analysis found =
            job.analyse({.events = true, .scores = !tracks.empty()}, [&](auto heard) {
                table.add_early(lull::heard_table(heard, job.recording()));
            });
        table.add(lull::events_table(found.events, job.recording()));
        table.close();
        job.write_further(lull::arrivals_table(found.events, job.recording()), arrivals);
        job.write_further(lull::series_table(found.series, job.recording()), series);
        job.write_further(lull::hails_table(found.hails, found.hail_chance, job.recording()),
                          hails);
        if (!tracks.empty())
            job.write_further(lull::tracks_table(found.scores, found.events, job.recording()),
                              tracks);
        if (found.hail_chance && !tool.quiet())
            tool.say(lull::hail_sentence(*found.hail_chance, lull::Language::english()));
        if (found.events.empty() && !tool.quiet()) tool.say(std::string(lull::no_event_text));
        return job.status();
    });
}
