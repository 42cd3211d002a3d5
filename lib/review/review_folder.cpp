// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/review_folder.hpp"

#include "account/account.hpp"
#include "error.hpp"
#include "report/csv.hpp"
#include "report/exports.hpp"
#include "report/folder.hpp"
#include "report/json.hpp"
#include "report/night.hpp"
#include "report/page.hpp"
#include "report/read_first.hpp"
#include "report/report_data.hpp"
#include "report/summary_page.hpp"
#include "review/audible.hpp"
#include "review/comparison.hpp"
#include "review/digests.hpp"
#include "review/illustration.hpp"
#include "review/journal.hpp"
#include "review/packing.hpp"
#include "review/place_folder.hpp"
#include "review/provenance.hpp"
#include "review/shared_units.hpp"
#include "review/table_files.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace lull {
namespace {

/// What was left out stands among the settings.
void show_disclosure(const Disclosure& disclosure, std::vector<SettingShown>& settings) {
    if (!disclosure.sound) settings.push_back({"sound", Cell(std::string("left out")), 0});
    if (!disclosure.withheld.empty())
        settings.push_back(
            {"withheld_stretches", Cell(static_cast<std::int64_t>(disclosure.withheld.size())), 0});
}

/// All that the review found, poorer by what may not be handed on.
Account account_of(const Recording& recording, const ReviewRequest& request, Analysis&& found,
                   Comparison&& compared, const std::optional<Placing>& placed) {
    Account facts;
    facts.provenance = {review_tool, shown_settings(request.settings, recording), &recording};
    facts.disclosure = request.disclosure;
    facts.disclosure.voices = voices_in(found.events);
    show_disclosure(facts.disclosure, facts.provenance.settings);
    facts.band = request.settings.band;
    facts.from_s = recording.seconds(request.settings.from);
    facts.to_s = recording.seconds(request.settings.to);
    facts.floors = mean_floors(found.courses, recording);
    facts.events = std::move(found.events);
    facts.series = std::move(found.series);
    facts.hails = std::move(found.hails);
    facts.hail_chance = found.hail_chance;
    facts.quiet = std::move(found.quiet);
    facts.health = std::move(found.health);
    facts.findings = std::move(found.findings);
    facts.noise = std::move(found.noise);
    facts.ranking = std::move(compared.ranking);
    facts.delays = std::move(compared.delays);
    facts.clocks = std::move(compared.clocks);
    if (placed) facts.places = placed->places, facts.contacts = placed->contacts;
    facts.log = request.settings.log;
    facts.judgements = request.judgements;
    Account whole = concluded(std::move(facts), request.settings.horns, found.unlisted);
    return request.disclosure.details ? whole : without_details(std::move(whole));
}

/// Every figure of the page as a file of its own.
void write_pictures(OutputFolder& folder, const ReportData& report) {
    for (const auto& [name, bytes] : page_pictures(report))
        folder.write("pictures/" + name, bytes);
}

void write_page(OutputFolder& folder, const ReportData& report) {
    const Account& account = *report.account;
    folder.write("index.html", page_html(report, [&folder](const PageFile& beside) {
                     folder.write(beside.first, beside.second);
                 }));
    folder.write("summary.html", summary_html(report));
    std::vector<std::string> sounds;
    for (const Excerpt& excerpt : report.excerpts)
        sounds.push_back("excerpts/" + excerpt.file);
    for (const SoundScript& sound : report.sounds)
        sounds.push_back(sound.file);
    folder.write("READ-FIRST.txt",
                 read_first_text(account.recording(), sounds, account.disclosure));
}

/// Sums up more than one file. \param always  one too. \return whether it did
bool write_night(OutputFolder& folder, const Account& account, bool always) {
    if (!always && account.night.files + account.night.files_skipped < 2) return false;
    folder.write("night.csv", to_csv(night_table(account)));
    folder.write("night.json", night_json(account));
    folder.write("handover.txt", handover_text(account));
    return true;
}

/// What other programs load.
void write_exports(OutputFolder& folder, const Account& account) {
    folder.write("finds.labels.txt", find_labels(account));
    if (!account.places.empty()) folder.write("places.geojson", places_geojson(account));
}

/// \param identities  of the inputs when they were opened. \return whether any has changed
bool tell_changes(Recording& recording, const std::vector<std::string>& identities) {
    const std::vector<std::string> now = identities_of(recording);
    bool changed = false;
    for (std::size_t i = 0; i < now.size(); ++i) {
        if (now[i] == identities[i]) continue;
        changed = true;
        recording.notices.push_back({recording.inputs[i].label,
                                     "changed while it was read: what is said of it may be of "
                                     "neither state",
                                     true});
    }
    return changed;
}

constexpr const char* more_to_come =
    "lull-review --follow takes files as they arrive, and had not come to its end when this "
    "folder\n"
    "was written: it holds what had been found by then (handover.txt says what is missing).\n"
    "If it is no longer at work, run the same command again, with or without --follow.\n";

/// \param journal  of the same recording and settings
ReviewOutcome review_with(OutputFolder& folder, UnitJournal& journal, Recording& recording,
                          const ReviewRequest& request, const ProgressSink& progress) try {
    const std::vector<std::string> identities = identities_of(recording);
    Digests digests(recording);
    Analysis found =
        analyse(recording, request.settings, review_wants, request.jobs, progress, &journal);
    ReviewOutcome outcome;
    outcome.written = !request.heard || request.heard(recording, found);
    if (!outcome.written) return outcome;
    Comparison compared =
        compare_events(recording, request.settings, found.courses, found.findings,
                       spans_to_compare(found.events, recording.notices), request.jobs, progress);
    const std::optional<Placing> placed =
        place_events(recording, found.events, compared, request.jobs, progress);
    digests.wait(progress);
    outcome.resumed_units = journal.found();
    outcome.degraded = tell_changes(recording, identities);
    std::vector<Table> further;
    ReportData report;
    report.language = request.language;
    if (placed && request.disclosure.details) {
        report.places = add_places(*placed, recording, further, folder, report.language);
        report.audible = add_audibility(found, recording, further, folder, report.language);
    }
    const Account account =
        account_of(recording, request, std::move(found), std::move(compared), placed);
    report.account = &account;
    Illustrations shown = illustrate(account, folder, request.jobs, progress);
    report.excerpts = std::move(shown.excerpts);
    report.sounds = std::move(shown.sounds);
    report.pictures = std::move(shown.pictures);
    std::ranges::move(shown.notices, std::back_inserter(recording.notices));
    // While more files are to come, a pass over all of them each time would take ever longer.
    if (!request.interim) {
        Packed packed = pack_recording(account, true, folder, request.jobs, progress);
        std::ranges::move(packed.sounds, std::back_inserter(report.sounds));
        report.overview = std::move(packed.overview);
    }
    folder.settle();
    outcome.night = write_night(folder, account, request.interim);
    write_exports(folder, account);
    write_tables(folder, report, further);
    write_page(folder, report);
    if (request.pictures) write_pictures(folder, report);
    if (request.interim) {
        folder.publish_unfinished(request.run, more_to_come);
    } else {
        folder.publish(request.run);
        journal.remove();
    }

    outcome.counts = account.counts;
    for (int c = 0; c < static_cast<int>(recording.channels.size()); ++c) {
        const Fitness fitness = fitness_of(c, account.findings).fitness;
        outcome.unfit += fitness == Fitness::unfit ? 1 : 0;
        outcome.doubtful += fitness == Fitness::doubtful ? 1 : 0;
    }
    return outcome;
} catch (const Error& fault) {
    throw folder.as_shown(fault);
}

} // namespace

std::vector<std::string> input_paths(const Recording& recording) {
    std::vector<std::string> paths;
    for (const InputFile& input : recording.inputs)
        paths.push_back(input.path);
    if (!recording.session.path.empty()) paths.push_back(recording.session.path);
    return paths;
}

ReviewOutcome review_into(OutputFolder& folder, Recording& recording, const ReviewRequest& request,
                          const ProgressSink& progress) {
    if (!request.disclosure.details) folder.share();
    if (!request.gathered.empty()) {
        Digests(recording).wait(progress);
        UnitStore store(recording, request.settings, review_wants, request.program,
                        contents_of(recording));
        need_every_unit(store, recording, request);
        UnitJournal journal(request.gathered, std::move(store));
        return review_with(folder, journal, recording, request, progress);
    }
    UnitJournal journal(folder.beside("journal"), recording, request.settings, review_wants,
                        request.program, request.resume);
    if (request.resume) folder.leave_unfinished();
    try {
        return review_with(folder, journal, recording, request, progress);
    } catch (const Error& fault) {
        // The caller may do without that input, and the other files' units still hold.
        if (fault.kind == ErrorKind::input && recording.inputs.size() > 1) journal.leave();
        throw;
    }
}

ReviewOutcome review_recording(Recording& recording, const ReviewRequest& request,
                               const ProgressSink& progress) {
    const std::vector<std::string> paths = input_paths(recording);
    OutputFolder folder(request.folder, review_tool, paths);
    return review_into(folder, recording, request, progress);
}

} // namespace lull
