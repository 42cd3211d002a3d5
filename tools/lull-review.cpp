// SPDX-License-Identifier: GPL-3.0-or-later
//
// The main job: from a recording to a report on what can be heard in it.
#include "command/follow.hpp"
#include "command/job.hpp"
#include "command/program.hpp"
#include "command/run_line.hpp"
#include "command/shared_work.hpp"
#include "recording/shared_file.hpp"
#include "report/caution.hpp"
#include "review/blind_folder.hpp"
#include "review/review_folder.hpp"

#include <fmt/format.h>

namespace {

void tell(const lull::Tool& tool, const lull::ReviewOutcome& outcome, const std::string& folder) {
    const lull::FindCounts& counts = outcome.counts;
    if (outcome.resumed_units > 0)
        tool.say(
            fmt::format("{} units of work had been done by an earlier run", outcome.resumed_units));
    if (outcome.degraded) tool.say("an input changed while it was read; see the notices");
    if (counts.of_hails > 0)
        tool.say(fmt::format("{} events are the team's own hails, listed by themselves",
                             counts.of_hails));
    if (counts.events == 0)
        tool.say(std::string(lull::no_event_text));
    else
        tool.say(fmt::format(
            "{} finds of confidence 0.5 and more; {} below that; {} events listed, {} not listed",
            counts.headline, counts.lower, counts.events, counts.not_listed.value_or(0)));
    if (outcome.unfit + outcome.doubtful > 0)
        tool.say(fmt::format("channels: {} unfit, {} doubtful; see channels.csv and findings.csv",
                             outcome.unfit, outcome.doubtful));
    if (outcome.night) tool.say("handover.txt, night.csv and night.json sum the files up");
    tool.say("results are in " + folder + "; read READ-FIRST.txt first");
}

/// Reads the page's words in another language, and reports what is not translated.
lull::Language words_of(const std::string& file, const lull::Tool& tool) {
    if (file.empty()) return lull::Language::english();
    lull::Language words = lull::read_language(lull::with_shared_file(file, "language/"));
    const std::vector<std::string>& lacking = words.untranslated();
    if (!lacking.empty())
        tool.say(fmt::format("{}: {} texts are not translated, {} first: they stay in English",
                             file, lacking.size(), lacking.front()));
    return words;
}

} // namespace

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-review",
        "Reviews a recording, or a night of them: what was there to hear, when, on which channels, "
        "how sure, and whether each channel was fit to hear it.",
        {{"lull-review session.json --log log.csv -o out",
          "Everything about one recording; open out/index.html."},
         {"lull-review night/ -o night-out --resume",
          "A folder of files as one recording; goes on after a fault."}});
    lull::InputOptions input;
    std::string folder, log, judgements, withheld, language, horns, hail_channel;
    bool resume = false, no_audio = false, share = false, blind = false, pictures = false;
    double list_from = 0.1;
    std::optional<double> false_per_hour;
    tool.add_inputs(input);
    tool.writes_folder(tool.app().add_option("-o,--output", folder, "Folder for the results"));
    tool.expect_output({"--output", &folder, {}, nullptr, true});
    tool.add_listing(list_from, false_per_hour);
    tool.reads(
        tool.app().add_option("--log", log, "The operators' log, to show beside what was found"));
    tool.add_hail_channel(hail_channel);
    tool.add_horns(horns);
    tool.reads(
        tool.app().add_option("--judgements", judgements, "Reviewers' judgements, to show beside"));
    tool.app().add_flag("--pictures", pictures, "Every figure as a file of its own too");
    tool.app().add_flag("--blind", blind,
                        "A page to listen and note on, without anything that was found");
    tool.app().add_flag("--no-audio", no_audio,
                        "No sound in the folder, and no picture of voice-like sound");
    tool.app().add_flag("--share", share,
                        "As --no-audio, and nothing that names people and places: no paths, notes, "
                        "labels, coordinates or names of channels");
    tool.add_withhold(withheld);
    tool.reads(tool.app().add_option("--language", language,
                                     "Words of the page in another language (JSON)"));
    tool.app().add_flag("--resume", resume,
                        "Go on where an earlier run stopped, or start so that it can be resumed");

    lull::FollowOptions following;
    lull::add_follow_options(tool, following);
    tool.reads(tool.app().get_option("--notify"))
        ->type_name("PROGRAM")
        ->group("Following a folder");
    tool.app().get_option("--blind")->excludes("--follow");
    lull::SharedWorkOptions shared;
    lull::add_shared_work_options(tool, shared);

    lull::Language words = lull::Language::english();
    const auto request_for = [&](lull::Job& job) {
        job.settings().list_from = list_from;
        job.settings().false_per_hour = false_per_hour;
        job.read_log(log);
        job.read_horns(horns);
        job.set_hail_channel(hail_channel);
        lull::ReviewRequest request{
            folder, lull::run_line(argc, argv), job.settings(), {}, job.jobs()};
        request.program = lull::program_digest();
        request.resume = resume || !input.lost.empty();
        if (!judgements.empty())
            request.judgements = lull::read_judgements(judgements, job.recording().start);
        if (!withheld.empty())
            request.disclosure.withheld = lull::read_withheld(withheld, job.recording().start);
        request.disclosure.sound = !no_audio && !share;
        request.disclosure.details = !share;
        request.pictures = pictures;
        request.language = words;
        request.gathered = shared.gathered;
        if (share) request.run = lull::run_line(lull::review_tool);
        return request;
    };

    return tool.run(argc, argv, [&] {
        input.not_inputs = {log, judgements, withheld, language, horns};
        words = words_of(language, tool);
        lull::check(shared, input, folder, resume || blind || following.follow);
        if (following.follow)
            return lull::follow(tool, input, folder, following, request_for,
                                [&](const lull::ReviewOutcome& outcome) {
                                    if (!tool.quiet()) tell(tool, outcome, folder);
                                });
        for (;;) {
            lull::Job job(tool, input);
            const lull::ReviewRequest request = request_for(job);
            if (lull::is_part(shared)) return lull::do_part(tool, job, shared, request);
            try {
                if (blind) {
                    lull::write_blind_folder(job.recording(), request, job.progress());
                    job.end_progress();
                    return job.status();
                }
                const lull::ReviewOutcome outcome =
                    lull::review_recording(job.recording(), request, job.progress());
                job.end_progress();
                if (!tool.quiet()) tell(tool, outcome, folder);
                return outcome.degraded ? int{lull::Status::degraded} : job.status();
            } catch (const lull::Error& fault) {
                if (!job.can_do_without(fault, input)) throw;
            }
        }
    });
}
