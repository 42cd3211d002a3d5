// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/grading.hpp"

#include "account/disclosure.hpp"
#include "error.hpp"
#include "grading/class_figures.hpp"
#include "grading/sheet_judged.hpp"
#include "recording/atomic_file.hpp"
#include "recording/digest.hpp"
#include "recording/shared_file.hpp"
#include "recording/start_time.hpp"
#include "recording/table_text.hpp"
#include "report/csv.hpp"
#include "report/excerpt.hpp"
#include "report/grade_folder.hpp"
#include "report/grade_tables.hpp"
#include "report/read_grades.hpp"
#include "report/read_tables.hpp"
#include "review/review_folder.hpp"
#include "review/stretch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>
#include <optional>
#include <set>

namespace lull {
namespace {

namespace fs = std::filesystem;

void check(const GradingInput& input) {
    if (input.truth.empty() == input.judgements.empty())
        throw_usage("there is no one truth", "give --truth or --judgements");
    if (!input.judgements.empty() && input.reviewers.empty())
        throw_usage("whose judgements is not said", "give --reviewer");
    if (input.reviewers.size() > 2)
        throw_usage("agreement is between two", "give --reviewer twice");
    if (!input.log.empty() && input.recording.empty())
        throw_usage("a log has clock times and channels", "give --recording too");
    if (input.sheets.empty() && input.finds.empty() && input.log.empty() &&
        input.reviewers.size() < 2)
        throw_usage("there is nothing to grade", "give --sheets or --finds");
}

/// Reads what is there in the order in which things are needed.
class Grading {
  public:
    explicit Grading(const GradingInput& input) : input_(input) {
        check(input);
        if (!input.recording.empty()) recording_ = open_recording(input.recording, {});
        heard_ = recording_ ? recording_ : recording_beside_truth();
        read_context();
        find_earlier();
        if (!input.weights.empty()) request_.rules = load_grade_rules(input.weights);
        read_truth_of();
        read_slots();
        read_sheets_of();
        if (!input.finds.empty()) request_.program = read_finds(input.finds);
        name_listeners();
        request_.exercise = input.label;
        grade_ = grade(request_);
        if (!input.withheld.empty()) withhold(read_withheld(input.withheld, start()));
    }

    GradingOutcome write(const std::string& path) {
        const std::vector<std::string> files = files_read();
        std::vector<std::string> inputs = files;
        if (heard_)
            for (std::string& input : input_paths(*heard_))
                inputs.push_back(std::move(input));
        OutputFolder folder(path, "lull-grade", inputs);
        write_grades(folder, grade_, provenance(files), extras());
        if (!input_.key.empty()) write_whole_key(); // first: without it nobody could read the rest
        folder.publish("lull-grade");
        return outcome();
    }

  private:
    void read_context() {
        const std::string words =
            input_.synonyms.empty() ? shared_file("grading/synonyms.json") : input_.synonyms;
        if (words.empty())
            said_.emplace_back("the usual words for kinds are not beside this program: only "
                               "tapping, voice-like, horn and other are known; give --synonyms");
        else
            context_.words = load_synonyms(words);
        if (!recording_) return;
        context_.start = parse_sheet_start(clock_text(recording_->start, 0.0));
        context_.duration_s = request_.duration_s = recording_->duration_s();
        for (const Channel& channel : recording_->channels)
            context_.channels.push_back(channel.name);
    }

    [[nodiscard]] StartTime start() const {
        return recording_ ? recording_->start : unknown_start();
    }

    /// A sheet that cannot be read is named, and the others count.
    void read_sheets_of() {
        std::optional<Error> first_fault;
        for (const std::string& file : input_.sheets) {
            try {
                for (Sheet& sheet : read_sheets(file, context_, start()))
                    request_.sheets.push_back(std::move(sheet));
            } catch (const Error& fault) {
                if (fault.kind != ErrorKind::input) throw;
                say_unread(std::string(fault.what()) + "; the sheet is left out");
                if (!first_fault) first_fault = fault;
            }
        }
        if (request_.sheets.empty() && first_fault) throw *first_fault;
    }

    void read_truth_of() {
        if (!input_.truth.empty()) {
            request_.truth = read_truth(input_.truth, start());
        } else {
            judgements_ =
                parse_judgements(read_table_bytes(input_.judgements), input_.judgements, start());
            std::vector<Judgement> one;
            std::copy_if(judgements_.begin(), judgements_.end(), std::back_inserter(one),
                         [&](const Judgement& j) { return j.reviewer == input_.reviewers[0]; });
            if (one.empty())
                throw_input(input_.judgements, "", "no judgement by " + input_.reviewers[0], "");
            request_.truth = truth_from_judgements(one, judged_events());
            request_.truth.file = input_.judgements;
        }
        if (!input_.notes.empty()) add_surroundings(request_.truth, input_.notes, start());
    }

    [[nodiscard]] std::vector<JudgedEvent> judged_events() const {
        std::vector<JudgedEvent> events;
        if (input_.finds.empty()) return events;
        const CsvTable table(input_.finds, {"from_s", "to_s"});
        for (const CsvRow& row : table.rows()) {
            events.push_back(
                {table.number(row, "from_s"), table.number(row, "to_s"), table.snr(row, "snr_db")});
        }
        return events;
    }

    /// Its sound is heard on cards and pages; what is graded never depends on what lies near.
    std::shared_ptr<Recording> recording_beside_truth() {
        if (input_.truth.empty()) return nullptr;
        const fs::path folder = fs::absolute(input_.truth).parent_path();
        for (const fs::path& session :
             {folder / "session.json", folder.parent_path() / "trainee" / "session.json"}) {
            std::error_code fault;
            if (!fs::exists(session, fault)) continue;
            try {
                return open_recording(session.string(), {});
            } catch (const Error& error) {
                said_.push_back(std::string(error.what()) + "; no sound is cut");
            }
        }
        return nullptr;
    }

    /// A folder of grades holds the scores, and who heard what; an earlier release's scores alone.
    void find_earlier() {
        for (const std::string& path : input_.earlier) {
            std::error_code fault;
            if (!fs::is_directory(path, fault)) {
                earlier_.push_back({path, ""});
                continue;
            }
            const fs::path hearings = fs::path(path) / "class.csv";
            earlier_.push_back({(fs::path(path) / "scores.csv").string(),
                                fs::exists(hearings, fault) ? hearings.string() : ""});
        }
    }

    /// An excerpt without a name is not cut, and no card leads to it.
    void withhold(std::vector<TimeSpan> withheld) {
        Disclosure disclosure;
        disclosure.withheld = std::move(withheld);
        const auto hide = [&](ExcerptReference& excerpt) {
            if (!disclosure.may_hear(excerpt.from_s, excerpt.to_s)) excerpt.name.clear();
        };
        const auto hide_all = [&](ListenerGrade& listener) {
            for (Miss& miss : listener.misses)
                hide(miss.excerpt);
            for (GradedAnswer& answer : listener.answers)
                if (answer.excerpt) hide(*answer.excerpt);
        };
        std::ranges::for_each(grade_.listeners, hide_all);
        if (grade_.program) hide_all(*grade_.program);
        for (EventGrade& event : grade_.events)
            hide(event.excerpt);
    }

    void read_slots() {
        if (input_.slots.empty()) return;
        const CsvTable table(input_.slots, {"from_s", "to_s"});
        for (const CsvRow& row : table.rows()) {
            const Slot slot{table.time(row, "from_s", start()), table.time(row, "to_s", start())};
            if (!(slot.to_s > slot.from_s)) table.fail(row, "to_s", "is not after from_s", "");
            request_.slots.push_back(slot);
        }
    }

    void name_listeners() {
        if (input_.key.empty()) return;
        std::error_code fault;
        if (fs::exists(input_.key, fault))
            key_ = parse_name_key(read_table_bytes(input_.key), input_.key);
        std::vector<std::string> names;
        for (const Sheet& sheet : request_.sheets)
            names.push_back(sheet.name);
        key_ = with_pseudonyms(std::move(key_), names, read_table_bytes(request_.truth.file));
        for (Sheet& sheet : request_.sheets)
            sheet.name = key_.at(sheet.name);
        // In the order of the pseudonyms: that of the command line would give names away.
        std::sort(request_.sheets.begin(), request_.sheets.end(),
                  [](const Sheet& a, const Sheet& b) { return a.name < b.name; });
    }

    [[nodiscard]] std::vector<std::string> files_read() const {
        std::vector<std::string> files = input_.sheets;
        for (const auto& [scores, hearings] : earlier_) {
            files.push_back(scores);
            if (!hearings.empty()) files.push_back(hearings);
        }
        for (const std::string* file :
             {&input_.truth, &input_.judgements, &input_.finds, &input_.log, &input_.notes,
              &input_.slots, &input_.weights, &input_.synonyms, &input_.key, &input_.withheld})
            if (!file->empty()) files.push_back(*file);
        return files;
    }

    /// Sheets under pseudonyms are shown by these: their files' names are names.
    [[nodiscard]] GradeProvenance provenance(const std::vector<std::string>& files) const {
        GradeProvenance provenance;
        provenance.rules = request_.rules;
        provenance.made_for_training =
            !input_.truth.empty() || (recording_ && recording_->exercise);
        if (recording_) {
            provenance.start_clock = clock_text(recording_->start, 0.0);
            provenance.start_known_from = recording_->start.source;
        }
        const auto add = [&](const std::string& name, const std::string& file) {
            std::error_code fault;
            const auto bytes = fs::file_size(file, fault);
            provenance.inputs.push_back({name, fault ? 0 : bytes, sha256_of_file(file)});
        };
        std::set<std::string> added; // a file may hold the sheets of several reviewers
        for (const Sheet& sheet : request_.sheets)
            if (added.insert(sheet.file).second)
                add(input_.key.empty() ? base(sheet.file) : sheet.name, sheet.file);
        for (std::size_t i = input_.sheets.size(); i < files.size(); ++i)
            if (files[i] != input_.key) add(base(files[i]), files[i]);
        if (heard_)
            for (const InputFile& input : heard_->inputs)
                add(input.label, input.path);
        return provenance;
    }
    static std::string base(const std::string& file) { return fs::path(file).filename().string(); }

    [[nodiscard]] GradeExtras extras() {
        GradeExtras extras;
        if (!earlier_.empty()) extras.learning = learning();
        if (!input_.log.empty()) extras.tables.push_back(log_against_events());
        if (input_.reviewers.size() == 2)
            extras.tables.push_back(agreement_table(compare_reviewers(
                judgements_, input_.reviewers[0], input_.reviewers[1], grade_.slots)));
        extras.cut = cutter();
        if (heard_) extras.sound = heard_->inputs.front().label;
        return extras;
    }

    [[nodiscard]] std::vector<LearningPoint> learning() const {
        std::vector<PastScore> scores;
        for (const auto& [file, hearings] : earlier_)
            for (PastScore& score : read_past_scores(file, hearings))
                scores.push_back(std::move(score));
        for (const ListenerGrade& g : grade_.listeners)
            scores.push_back({grade_.exercise, g.name, g.tally.counts, g.curve.threshold_db,
                              kinds_of(g, grade_.events)});
        return learning_curve(scores);
    }

    [[nodiscard]] Table log_against_events() {
        const OperatorsLog log = read_log(input_.log, *recording_);
        for (const Notice& notice : log.notices)
            say_unread(notice.file + ": " + notice.text);
        std::vector<LogSubject> subjects;
        for (const TruthEvent& event : request_.truth.events)
            subjects.push_back({event.number, event.time_s, event.end_s});
        return log_table(compare_with_log(subjects, log.rows, context_.channels, request_.rules));
    }

    [[nodiscard]] CutExcerpt cutter() {
        if (!heard_) return {};
        stream_ = heard_->open();
        reader_ = std::make_unique<StretchReader>(*stream_, Sections{}, heard_->rate_hz);
        return [this](const ExcerptReference& wanted, const std::string& path) {
            ExcerptRequest request;
            request.onset_s = wanted.from_s;
            request.end_s = std::min(wanted.to_s, heard_->duration_s());
            request.kind = ExcerptKind::mix;
            for (std::size_t c = 0; c < heard_->channels.size(); ++c) {
                if (plain_name(heard_->channels[c].name) == plain_name(wanted.channel)) {
                    request.kind = ExcerptKind::channel;
                    request.channels = {static_cast<int>(c)};
                    break;
                }
                request.channels.push_back(static_cast<int>(c));
            }
            ExcerptRules rules;
            rules.lead_s = rules.trail_s = 0.0; // the reference has them
            (void)write_excerpt(*heard_, reader_->as_function(), request, rules, path);
        };
    }

    void write_whole_key() const { write_file(input_.key, to_csv(key_table(key_))); }

    void say_unread(std::string line) {
        said_.push_back(std::move(line));
        degraded_ = true;
    }

    [[nodiscard]] GradingOutcome outcome() {
        const auto add = [&](const ListenerGrade& g) {
            for (const SheetFault& fault : g.faults)
                say_unread(fmt::format("{}: line {}{}{}: {}", g.file, fault.line,
                                       fault.column.empty() ? "" : ", ", fault.column, fault.what));
        };
        for (const ListenerGrade& g : grade_.listeners)
            add(g);
        if (grade_.program) add(*grade_.program);
        return {static_cast<int>(grade_.listeners.size()), static_cast<int>(grade_.events.size()),
                said_, degraded_};
    }

    const GradingInput& input_;
    std::shared_ptr<Recording> recording_;                     ///< named by the user
    std::shared_ptr<Recording> heard_;                         ///< that excerpts are cut from
    std::vector<std::pair<std::string, std::string>> earlier_; ///< scores, and the class or none
    SheetContext context_;
    GradeRequest request_;
    std::vector<Judgement> judgements_;
    NameKey key_;
    Grade grade_;
    std::unique_ptr<Stream> stream_;
    std::unique_ptr<StretchReader> reader_;
    std::vector<std::string> said_;
    bool degraded_ = false;
};

} // namespace

GradingOutcome run_grading(const GradingInput& input, const std::string& folder) {
    return Grading(input).write(folder);
}

} // namespace lull
