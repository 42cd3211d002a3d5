// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/job.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/sequence.hpp"
#include "report/csv.hpp"
#include "report/json.hpp"
#include "report/read_tables.hpp"
#include "review/provenance.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <optional>

namespace lull {
namespace {

namespace fs = std::filesystem;

bool same_file(const std::string& a, const std::string& b) {
    std::error_code fault;
    return fs::equivalent(a, b, fault) && !fault;
}

std::string format_of(const std::string& file) {
    return fs::path(file).extension() == ".json" ? "json" : "csv";
}

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
    if (!file.empty()) settings_.horns = load_horn_rules(file);
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

Analysis Job::analyse(const Wanted& wanted) {
    Analysis found = lull::analyse(*recording_, settings_, wanted, jobs_, progress_.sink());
    progress_.clear();
    return found;
}

Comparison Job::compare(const std::string& events_file, const Wanted& wanted) {
    std::vector<EventSpan> events;
    for (const EventRow& row : read_events(events_file, *recording_))
        events.push_back({row.event, row.onset_s, row.end_s, row.channels});
    const Analysis found = analyse(wanted);
    Comparison compared = compare_events(*recording_, settings_, found.courses, found.findings,
                                         events, jobs_, progress_.sink());
    progress_.clear();
    return compared;
}

void Job::refuse_input_as_output(const std::string& file) const {
    for (const InputFile& input : recording_->inputs)
        if (same_file(file, input.path))
            throw Error(ErrorKind::usage, file, "", "is also the input", "write to another file");
    if (!recording_->session.path.empty() && same_file(file, recording_->session.path))
        throw Error(ErrorKind::usage, file, "", "is also the session", "write to another file");
}

std::string Job::text_of(const Table& table, const std::string& format) {
    if (format == "csv") return to_csv(table);
    digest_inputs(*recording_);
    return table_json(table,
                      {tool_->name(), shown_settings(settings_, *recording_), recording_.get()});
}

void Job::write(const Table& table, const TableOutput& output) {
    const std::string format = !output.format.empty() ? output.format : format_of(output.file);
    const std::string text = text_of(table, format);
    if (!output.file.empty()) {
        refuse_input_as_output(output.file);
        write_file(output.file, text);
        return;
    }
    if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0)
        throw_output("standard output", std::strerror(errno), "");
}

void Job::write_further(const Table& table, const std::string& file) {
    if (!file.empty()) write(table, {file, ""});
}

} // namespace lull
