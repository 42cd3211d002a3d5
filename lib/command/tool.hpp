// SPDX-License-Identifier: GPL-3.0-or-later
//
// What every tool shares: its options, its one path for errors, its exit statuses.
#pragma once

#include "command/options.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

#include <functional>
#include <string>

namespace lull {

/// Exit statuses (README.md). 130 and 143 come from Interrupted, a closed pipe from its signal.
enum Status : int { done = 0, failed = 1, usage_error = 2, no_input = 3, degraded = 4 };

/// One command-line tool. Declare options, then run(): it parses, calls the body, and turns
/// whatever is thrown into one line on standard error and the right status.
class Tool {
  public:
    /// \param name     "lull-detect"; starts every message
    /// \param purpose  one sentence for --help
    Tool(std::string name, std::string purpose);

    [[nodiscard]] CLI::App& app() { return app_; }

    /// The positional input and the options that describe and cut it: --session, --channels,
    /// --allow-outside, --from, --to, --band, --jobs.
    void add_input(InputOptions& options);
    /// The same for a tool that takes several inputs, or a folder.
    void add_inputs(InputOptions& options);
    /// -o FILE and --format for a tool whose result is a table.
    void add_table_output(TableOutput& output);
    /// --list-from C.
    void add_list_from(double& confidence);
    /// --withhold F, for a tool that hands on sound.
    void add_withhold(std::string& file);
    /// --horns FILE.
    void add_horns(std::string& file);
    /// --hail-channel NAME.
    void add_hail_channel(std::string& name);
    /// -o DIR, required, for a tool whose result is a folder.
    void add_folder_output(std::string& folder);

    /// Parses the command line and runs the body, which returns the status. Never throws.
    [[nodiscard]] int run(int argc, char** argv, const std::function<int()>& body);

    [[nodiscard]] bool quiet() const { return quiet_; }
    [[nodiscard]] const std::string& name() const { return name_; }
    /// One line to a person: "lull-detect: text" on standard error.
    void say(const std::string& text) const;

  private:
    void add_input_options(InputOptions& options);
    [[nodiscard]] int run_body(const std::function<int()>& body) const;

    std::string name_;
    CLI::App app_;
    bool quiet_ = false;
};

} // namespace lull
