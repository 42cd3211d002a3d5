// SPDX-License-Identifier: GPL-3.0-or-later
//
// One tool at work on one recording: opened, cut, analysed, its tables written.
#pragma once

#include "command/options.hpp"
#include "command/progress_line.hpp"
#include "command/tool.hpp"
#include "report/table.hpp"
#include "review/analysis.hpp"

#include <memory>
#include <string>

namespace lull {

class Job {
  public:
    /// Opens the input, tells the user what is to be known about it, and settles the settings.
    /// \throws Error(input) or Error(usage)
    Job(const Tool& tool, const InputOptions& options);

    [[nodiscard]] const Recording& recording() const { return *recording_; }
    [[nodiscard]] Recording& recording() { return *recording_; }
    [[nodiscard]] Settings& settings() { return settings_; }
    [[nodiscard]] int jobs() const { return jobs_; }
    [[nodiscard]] ProgressSink progress() { return progress_.sink(); }

    [[nodiscard]] Analysis analyse(const Wanted& wanted);

    /// Writes a tool's main table where the user asked for it.
    void write(const Table& table, const TableOutput& output);
    /// Writes a further table, its form by the file's ending; does nothing when no file was named.
    void write_further(const Table& table, const std::string& file);
    /// \throws Error(usage) when the file is one of the inputs
    void refuse_input_as_output(const std::string& file) const;

    /// 0, or 4 when an input was skipped or cut short.
    [[nodiscard]] int status() const;

  private:
    const Tool* tool_;
    ProgressLine progress_;
    std::shared_ptr<Recording> recording_;
    Settings settings_;
    int jobs_;
};

} // namespace lull
