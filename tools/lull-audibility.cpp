// SPDX-License-Identifier: GPL-3.0-or-later
//
// What this program would have detected, and where.
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
    lull::Tool tool("lull-audibility",
                    "How probably a knock or a voice would have been detected by this program.");
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
    app.add_option("--source", source, "knock or voice")
        ->required()
        ->check(CLI::IsMember({"knock", "voice"}));
    app.add_option("--strength", sound.strength_db,
                   "Its peak energy in dB at 1 m, in the channels' level unit")
        ->required()
        ->check(lull::number_between(-200.0, 300.0));
    app.add_option("--times", sound.times,
                   "How often it is repeated, of knocks the whole group (1)")
        ->check(lull::whole_between(1, 10000));
    app.add_option("--ground", ground,
                   "Whose recall is taken: any, calm, weather, machines or people (any)")
        ->check(CLI::IsMember({"any", "calm", "weather", "machines", "people"}));
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
