// SPDX-License-Identifier: GPL-3.0-or-later
//
// One tool at work on one recording: opened, cut, analysed, its tables written.
#pragma once

#include "command/options.hpp"
#include "command/progress_line.hpp"
#include "command/table_stream.hpp"
#include "command/tool.hpp"
#include "error.hpp"
#include "report/table.hpp"
#include "review/analysis.hpp"
#include "review/comparison.hpp"

#include <memory>
#include <set>
#include <string>

namespace lull {

class Job {
  public:
    /// Opens the input, tells the user what is to be known about it, and settles the settings.
    /// \throws Error(input) or Error(usage)
    /// \param told  for a job that is begun again and again: it says only what is not among these
    ///              yet, adds it, and shows no progress
    Job(const Tool& tool, const InputOptions& options, std::set<std::string>* told = nullptr);

    [[nodiscard]] Recording& recording() { return *recording_; }
    [[nodiscard]] Settings& settings() { return settings_; }
    [[nodiscard]] int jobs() const { return jobs_; }
    [[nodiscard]] ProgressSink progress() { return progress_.sink(); }
    void end_progress() { progress_.clear(); }

    /// Reads the operators' log into the settings; nothing when no file is named. Lines that cannot
    /// be read are told and count as skipped.
    void read_log(const std::string& file);
    /// Reads the local rules of horn signals into the settings; nothing when no file is named.
    void read_horns(const std::string& file);
    /// Names the channel at the team, by name or number from 1; nothing when empty.
    /// \throws Error(usage) when the recording has no such channel
    void set_hail_channel(const std::string& name);
    /// \param heard  told of each unit of work when it is done; may be null
    [[nodiscard]] Analysis analyse(const Wanted& wanted, const ArrivalSink& heard = nullptr);
    /// Ranks the channels by each event of a table, and writes the ranking as it is made.
    void rank(const std::string& events_file, const TableOutput& output);
    /// Measures the delays of each event of a table, and writes them as they are measured.
    /// \return the recorders' clocks
    std::vector<ClockRow> measure_delays(const std::string& events_file, const TableOutput& output);

    /// Opens a tool's main table where the user asked for it; it may be written row by row.
    [[nodiscard]] TableStream open_table(const TableOutput& output);
    /// Writes a tool's main table where the user asked for it.
    void write(const Table& table, const TableOutput& output);
    /// Writes a further table, its form by the file's ending; does nothing when no file was named.
    void write_further(const Table& table, const std::string& file);
    /// Where a fault is that one of several inputs can no longer be read, notes that in the
    /// options, so that a job begun anew does without it. \return whether it is
    [[nodiscard]] bool can_do_without(const Error& fault, InputOptions& options) const;

    /// 0, or 4 when an input was skipped or cut short.
    [[nodiscard]] int status() const { return degraded_ ? Status::degraded : Status::done; }

    /// Tells a person; what is degraded counts for the status.
    void tell(const std::vector<Notice>& notices);

  private:
    [[nodiscard]] std::vector<EventSpan> read_spans(const std::string& events_file) const;

    const Tool* tool_;
    std::set<std::string>* told_;
    ProgressLine progress_;
    std::shared_ptr<Recording> recording_;
    Settings settings_;
    int jobs_;
    bool degraded_ = false;
};

} // namespace lull
