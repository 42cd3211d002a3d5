// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/job.hpp"

#include "compare/apply_clocks.hpp"
#include "error.hpp"
#include "recording/sequence.hpp"
#include "recording/shared_file.hpp"
#include "report/json.hpp"
#include "report/read_tables.hpp"
#include "report/tables.hpp"
#include "review/provenance.hpp"
#include "review/review_folder.hpp"

#include <algorithm>
#include <filesystem>
#include <optional>

namespace lull {
namespace {

namespace fs = std::filesystem;

std::shared_ptr<Recording> open_named(const InputOptions& options, ProgressLine& progress) {
    if (options.inputs.empty()) return open_recording(options.input, options.open);
    ProgressState state{"opening"};
    std::vector<std::string> not_inputs = options.not_inputs;
    for (const LostInput& lost : options.lost)
        not_inputs.push_back(lost.path);
    auto recording = open_inputs(
        options.inputs, options.open, not_inputs,
        [&](std::size_t done, std::size_t total) {
            state.done_s = static_cast<double>(done);
            state.total_s = static_cast<double>(total);
            progress(state);
        },
        options.only ? &*options.only : nullptr);
    for (const LostInput& lost : options.lost)
        recording->notices.push_back({lost.label, "skipped: " + lost.why, true});
    return recording;
}

} // namespace

Job::Job(const Tool& tool, const InputOptions& options, std::set<std::string>* told)
    : tool_(&tool), told_(told), progress_(tool.name(), tool.quiet() || told != nullptr),
      recording_(open_named(options, progress_)), jobs_(thread_count(options.jobs)) {
    progress_.clear();
    tool.refuse_outputs_among(input_paths(*recording_));
    std::optional<std::pair<double, double>> band;
    if (!options.band.empty()) band = parse_band(options.band);
    settings_ = make_settings(*recording_, options.from, options.to, band);
    tell(recording_->notices);
    if (recording_->exercise) tell({{"", "this recording is an exercise", false}});
}

void Job::tell(const std::vector<Notice>& notices) {
    for (const Notice& notice : notices) {
        degraded_ = degraded_ || notice.degraded;
        const std::string text =
            notice.file.empty() ? notice.text : notice.file + ": " + notice.text;
        if (told_ != nullptr && !told_->insert(text).second) continue;
        if (!tool_->quiet()) tool_->say(text);
    }
}

bool Job::can_do_without(const Error& fault, InputOptions& options) const {
    const bool session = options.inputs.size() == 1 && !fs::is_directory(options.inputs.front());
    const std::vector<InputFile>& inputs = recording_->inputs;
    const auto input = std::ranges::find(inputs, fault.file, &InputFile::path);
    if (fault.kind != ErrorKind::input || session || inputs.size() < 2 || input == inputs.end())
        return false;
    options.lost.push_back({input->path, input->label, "could no longer be read: " + fault.fault});
    return true;
}

void Job::read_log(const std::string& file) {
    if (file.empty()) return;
    OperatorsLog log = lull::read_log(file, *recording_);
    tell(log.notices);
    settings_.log = std::move(log.rows);
}

void Job::read_horns(const std::string& file) {
    if (!file.empty()) settings_.horns = load_horn_rules(with_shared_file(file, ""));
}

void Job::set_hail_channel(const std::string& name) {
    if (name.empty()) return;
    const std::vector<Channel>& channels = recording_->channels;
    for (std::size_t c = 0; c < channels.size(); ++c)
        if (channels[c].name == name || std::to_string(c + 1) == name)
            settings_.hail_channel = static_cast<int>(c);
    if (!settings_.hail_channel)
        throw_usage("--hail-channel: no channel \"" + name + "\" in the recording",
                    "give the name or number of one that is analysed");
}

Analysis Job::analyse(const Wanted& wanted, const ArrivalSink& heard) {
    Analysis found =
        lull::analyse(*recording_, settings_, wanted, jobs_, progress_.sink(), nullptr, heard);
    progress_.clear();
    return found;
}

std::vector<EventSpan> Job::read_spans(const std::string& events_file) const {
    std::vector<EventSpan> events;
    each_event(events_file, *recording_, [&](EventRow&& row) {
        row.channels.shrink_to_fit(); // there may be a million rows
        events.push_back({row.event, row.onset_s, row.end_s, std::move(row.channels)});
    });
    return events;
}

void Job::rank(const std::string& events_file, const TableOutput& output) {
    const std::vector<EventSpan> events = read_spans(events_file);
    const Analysis found =
        analyse({.health = true}); // a ranking takes findings on channels into account
    TableStream table = open_table(output);
    RowBuffer<RankRow> rows(
        [&](std::span<const RankRow> next) { table.add(ranking_table(next, *recording_)); });
    TotalRanking total(*recording_, events.size());
    compare_each(*recording_, settings_, found.courses, events, {.delays = false}, jobs_,
                 progress_.sink(), [&](const EventSpan& event, Compared&& one) {
                     total.add(event, one.energies);
                     rows.add(rank_event(event, one.energies, *recording_, found.findings));
                 });
    rows.add(total.rows(found.findings));
    rows.flush();
    progress_.clear();
    table.close();
}

std::vector<ClockRow> Job::measure_delays(const std::string& events_file,
                                          const TableOutput& output) {
    const std::vector<EventSpan> events = read_spans(events_file);
    TableStream table = open_table(output);
    RowBuffer<DelayEstimate> rows(
        [&](std::span<const DelayEstimate> next) { table.add(delays_table(next, *recording_)); });
    std::vector<ClockRow> clocks =
        tied_clocks(*recording_, settings_, events, jobs_, progress_.sink());
    compare_each(*recording_, settings_, {}, events, {.energies = false}, jobs_, progress_.sink(),
                 [&](const EventSpan& event, Compared&& one) {
                     apply_clocks(one.delays, std::span(&event, 1), *recording_, clocks);
                     rows.add(std::move(one.delays));
                 });
    rows.flush();
    progress_.clear();
    table.close();
    return clocks;
}

TableStream Job::open_table(const TableOutput& output) {
    return {output, tool_->name(), [this] {
                digest_inputs(*recording_);
                return Provenance{tool_->name(), shown_settings(settings_, *recording_),
                                  recording_.get()};
            }};
}

void Job::write(const Table& table, const TableOutput& output) {
    TableStream stream = open_table(output);
    stream.add(table);
    stream.close();
}

void Job::write_further(const Table& table, const std::string& file) {
    if (!file.empty()) write(table, {file, ""});
}

} // namespace lull
