// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/review_folder.hpp"

#include "error.hpp"
#include "report/csv.hpp"
#include "report/folder.hpp"
#include "report/json.hpp"
#include "report/night.hpp"
#include "report/page.hpp"
#include "report/read_first.hpp"
#include "report/report_data.hpp"
#include "review/audible.hpp"
#include "review/comparison.hpp"
#include "review/digests.hpp"
#include "review/illustration.hpp"
#include "review/journal.hpp"
#include "review/place_folder.hpp"
#include "review/provenance.hpp"
#include "review/shared_units.hpp"
#include "review/table_files.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <utility>

namespace lull {
namespace {

std::vector<LevelCourse> level_courses(const Recording& recording,
                                       const std::vector<Course>& courses) {
    std::vector<LevelCourse> all;
    for (std::size_t c = 0; c < courses.size(); ++c) {
        const Course& course = courses[c];
        LevelCourse shown{recording.channels[c].name,
                          recording.seconds(course.first),
                          recording.seconds(course.hop),
                          {}};
        for (std::size_t i = 0; i < course.floor.size(); ++i) {
            const auto db = course.floor[i] > 0.0F
                                ? power_db(static_cast<double>(course.loudest[i]) / course.floor[i])
                                : std::nullopt;
            shown.over_floor_db.push_back(db ? static_cast<float>(*db)
                                             : std::numeric_limits<float>::quiet_NaN());
        }
        all.push_back(std::move(shown));
    }
    return all;
}

/// What was left out stands among the settings.
void show_disclosure(const Disclosure& disclosure, std::vector<SettingShown>& settings) {
    if (!disclosure.sound) settings.push_back({"sound", Cell(std::string("left out")), 0});
    if (!disclosure.details) settings.push_back({"details", Cell(std::string("left out")), 0});
    if (!disclosure.withheld.empty())
        settings.push_back(
            {"withheld_stretches", Cell(static_cast<std::int64_t>(disclosure.withheld.size())), 0});
}

/// The log and the judgements without what persons wrote, are called and called the channels.
/// \param names  of the channels before they were hidden
void hide_people(ReportData& report, const std::vector<std::string>& names) {
    const std::vector<Channel>& channels = report.provenance.recording->channels;
    constexpr std::array actions = {"quiet ordered", "call-out", "listening to",
                                    "heard",         "moved",    "gain"};
    for (LogRow& row : report.log) {
        row.person = row.text = "";
        if (std::ranges::find(actions, row.action) == actions.end()) row.action = "note";
    }
    for (JudgementRow& row : report.judgements) {
        row.reviewer = row.reason = "";
        const auto named = std::ranges::find(names, row.channel);
        row.channel = named == names.end()
                          ? ""
                          : channels[static_cast<std::size_t>(named - names.begin())].name;
    }
}

/// Without what may not be seen of the level.
void withhold_courses(std::vector<LevelCourse>& courses, const Disclosure& disclosure) {
    for (LevelCourse& course : courses)
        for (std::size_t i = 0; i < course.over_floor_db.size(); ++i) {
            const double from_s = course.first_s + static_cast<double>(i) * course.step_s;
            if (!disclosure.may_see(from_s, from_s + course.step_s))
                course.over_floor_db[i] = std::numeric_limits<float>::quiet_NaN();
        }
}

/// Every figure of the page as a file of its own.
void write_pictures(OutputFolder& folder, const ReportData& report) {
    for (const auto& [name, bytes] : page_pictures(report))
        folder.write("pictures/" + name, bytes);
}

void write_page(OutputFolder& folder, const ReportData& report, const Recording& recording,
                const Disclosure& disclosure) {
    folder.write("index.html", page_html(report, [&folder](const PageFile& beside) {
                     folder.write(beside.first, beside.second);
                 }));
    std::vector<std::string> sounds;
    for (const Excerpt& excerpt : report.excerpts)
        sounds.push_back("excerpts/" + excerpt.file);
    for (const SoundScript& sound : report.sounds)
        sounds.push_back("excerpts/" + sound.file);
    folder.write("READ-FIRST.txt", read_first_text(recording, sounds, disclosure));
}

/// Sums up more than one file. \param always  one too. \return whether it did
bool write_night(OutputFolder& folder, const ReportData& report, const Analysis& found,
                 const Recording& recording, bool always) {
    const Night night =
        sum_up({&recording, report.from_s, report.to_s, report.events, found.series, found.hails,
                found.quiet, &found.findings, report.log, report.judgements});
    if (!always && night.files + night.files_skipped < 2) return false;
    folder.write("night.csv", to_csv(night_table(night, recording)));
    folder.write("night.json", night_json(night, report.provenance, report.counts));
    folder.write("handover.txt", handover_text(night, recording, report.counts));
    return true;
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
    Disclosure disclosure = request.disclosure;
    disclosure.voices = voices_in(found.events);
    std::vector<std::string> names;
    for (const Channel& channel : recording.channels)
        names.push_back(channel.name);
    if (!disclosure.details) hide_details(recording);

    ReportData report;
    report.language = request.language;
    report.provenance = {review_tool, shown_settings(request.settings, recording), &recording};
    report.counts = count_events(found.events, found.unlisted);
    std::vector<Table> further;
    if (placed && disclosure.details) {
        report.places = add_places(*placed, recording, further, folder, report.language);
        report.audible = add_audibility(found, recording, further, folder, report.language);
    }
    report.from_s = recording.seconds(request.settings.from);
    report.to_s = recording.seconds(request.settings.to);
    report.courses = level_courses(recording, found.courses);
    withhold_courses(report.courses, disclosure);
    for (const QuietPeriod& period : found.quiet)
        report.quiet.push_back({period.from_s, period.to_s, ""});
    report.hail_chance = found.hail_chance;
    report.events = std::move(found.events);
    report.ranking = std::move(compared.ranking);
    report.delays = std::move(compared.delays);
    report.log = request.settings.log;
    report.judgements = request.judgements;
    if (!disclosure.details) hide_people(report, names);
    show_disclosure(disclosure, report.provenance.settings);
    Illustrations shown =
        illustrate(recording, report.events, disclosure, folder, request.jobs, progress);
    folder.settle();
    report.excerpts = std::move(shown.excerpts);
    report.sounds = std::move(shown.sounds);
    report.band = request.settings.band;
    report.pictures = std::move(shown.pictures);
    outcome.night = write_night(folder, report, found, recording, request.interim);
    write_tables(folder, report, found, compared, further);
    write_page(folder, report, recording, disclosure);
    if (request.pictures) write_pictures(folder, report);
    if (request.interim) {
        folder.publish_unfinished(request.run, more_to_come);
    } else {
        folder.publish(request.run);
        journal.remove();
    }

    outcome.counts = report.counts;
    for (int c = 0; c < static_cast<int>(recording.channels.size()); ++c) {
        const Fitness fitness = fitness_of(c, found.findings).fitness;
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
