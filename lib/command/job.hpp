// SPDX-License-Identifier: GPL-3.0-or-later
//
// One run of a tool on one recording: open, cut, analyse, write the tables.
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
    /// Opens the input, reports its notices, and completes the settings.
    /// \throws Error(input) or Error(usage)
    /// \param told  for a job that is started again and again: it reports only notices that are not
    ///              in this set, adds them to it, and shows no progress
    Job(const Tool& tool, const InputOptions& options, std::set<std::string>* told = nullptr);

    [[nodiscard]] Recording& recording() { return *recording_; }
    [[nodiscard]] Settings& settings() { return settings_; }
    [[nodiscard]] int jobs() const { return jobs_; }
    [[nodiscard]] ProgressSink progress() { return progress_.sink(); }
    void end_progress() { progress_.clear(); }

    /// Reads the operators' log into the settings; does nothing when no file is named. Lines that
    /// cannot be read are reported and count as skipped.
    void read_log(const std::string& file);
    /// Reads the local rules of horn signals into the settings; does nothing when no file is named.
    void read_horns(const std::string& file);
    /// Names the team's own channel, by name or number from 1; does nothing when empty.
    /// \throws Error(usage) when the recording has no such channel
    void set_hail_channel(const std::string& name);
    /// \param heard  gets the arrivals of each unit of work when it is done; may be null
    [[nodiscard]] Analysis analyse(const Wanted& wanted, const ArrivalSink& heard = nullptr);
    /// Ranks the channels for each event of a table, and writes rows as they are made.
    void rank(const std::string& events_file, const TableOutput& output);
    /// Measures the delays of each event of a table, and writes rows as they are made.
    /// \return the recorders' clocks
    std::vector<ClockRow> measure_delays(const std::string& events_file, const TableOutput& output);

    /// Opens a tool's main table at the place that the user chose. It may be written row by row.
    [[nodiscard]] TableStream open_table(const TableOutput& output);
    /// Writes a tool's main table to the place that the user chose.
    void write(const Table& table, const TableOutput& output);
    /// Writes a further table in the form of its file's ending; does nothing when no file is named.
    void write_further(const Table& table, const std::string& file);
    /// If the fault is that one of several inputs can no longer be read, notes that in the options,
    /// so that a new job leaves it out. \return whether it is
    [[nodiscard]] bool can_do_without(const Error& fault, InputOptions& options) const;

    /// 0, or 4 when an input was skipped or cut short.
    [[nodiscard]] int status() const { return degraded_ ? Status::degraded : Status::done; }

    /// Reports notices to the user; those on damaged or skipped inputs set the status.
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
