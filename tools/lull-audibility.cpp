// SPDX-License-Identifier: GPL-3.0-or-later
//
// Maps how probably this program would have detected a source at each place.
#include "command/job.hpp"
#include "recording/atomic_file.hpp"
#include "report/tables_locate.hpp"
#include "review/place.hpp"

namespace {

lull::RecallGround ground_of(std::string_view name) {
    using enum lull::RecallGround;
    for (const lull::RecallGround ground : {calm, weather, machines, people})
        if (lull::ground_name(ground) == name) return ground;
    return any;
}

} // namespace

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-audibility",
        "How probably a knock or a voice would have been detected by this program.",
        {{"lull-audibility session.json --noise noise.csv --source knock --strength -20",
          "How probably such a knock would have been listed, and where."},
         {"lull-audibility session.json --noise noise.csv --source voice --strength -40 --picture "
          "audible.svg",
          "The same of a voice, with outlines on a map."}});
    lull::InputOptions input;
    lull::TableOutput output;
    lull::SoundAsked sound;
    std::string noise, quiet, source, ground = "any", picture;
    tool.add_input(input);
    tool.add_table_output(output);
    auto& app = tool.app();
    tool.reads(app.add_option("--noise", noise, "Noise table, as lull-noise writes it"))
        ->required();
    tool.reads(
        app.add_option("--quiet-periods", quiet, "Only within these, as lull-noise writes them"));
    app.add_option("--source", source, "What would have sounded")
        ->required()
        ->check(lull::one_of({"knock", "voice"}));
    lull::shown_as(app.add_option("--strength", sound.strength_db,
                                  "Its peak energy at 1 m, in the channels' level unit"),
                   "DB")
        ->required()
        ->check(lull::number_between(-200.0, 300.0));
    lull::shown_as(app.add_option("--times", sound.times,
                                  "How often it is repeated, of knocks the whole group"),
                   "NUMBER", "1")
        ->check(lull::whole_between(1, 10000));
    lull::shown_as(app.add_option("--ground", ground, "The ground whose recall is taken"), "TEXT",
                   "any")
        ->check(lull::one_of({"any", "calm", "weather", "machines", "people"}));
    tool.add_picture_file("--picture", picture,
                          "Also draw the first stretch to FILE (.svg), with outlines");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        sound.kind = source == "knock" ? lull::SourceKind::knock : lull::SourceKind::voice;
        sound.ground = ground_of(ground);
        const lull::Band band = job.settings().band;
        const std::vector<lull::AudibleStretch> found = lull::audibility(
            job.recording(),
            lull::floors_of(job.recording(), noise, quiet, band.low_hz, band.high_hz), sound);
        job.tell({{"", std::string(lull::recall_caveat), false}});
        if (!found.empty()) job.tell({{"", "recall against SNR: " + found.front().recall, false}});
        job.tell({{"",
                   "this is what this program would have detected; what live listeners would have "
                   "heard is another question",
                   false}});
        job.write(lull::audibility_table(found), output);
        if (!picture.empty() && !found.empty()) {
            lull::write_file(picture, lull::audibility_map(found.front(), job.recording()));
        }
        return job.status();
    });
}
