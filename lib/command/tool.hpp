// SPDX-License-Identifier: GPL-3.0-or-later
//
// What all tools have in common: options, error messages, exit statuses.
#pragma once

#include "command/command_line.hpp"
#include "command/help.hpp"
#include "command/last_resort.hpp"
#include "command/named_files.hpp"
#include "command/options.hpp"
#include "command/output_check.hpp"

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// Exit statuses (README.md). Interrupted gives 129, 130 and 143; a closed pipe ends a tool by its
/// signal.
enum Status : int { done = 0, failed = 1, usage_error = 2, no_input = 3, degraded = 4 };

/// One command-line tool. Declare the options, then call run(): it parses them, calls the body, and
/// turns any exception into one line on standard error and the right status.
class Tool {
  public:
    /// \param name      "lull-detect"; begins every message
    /// \param purpose   one sentence for --help
    /// \param examples  commands that --help shows; test_help.py runs them
    Tool(const char* name, const char* purpose, std::vector<Example> examples);

    [[nodiscard]] CLI::App& app() { return app_; }

    /// Each option that names a file or folder must be passed to one of these, so that no output
    /// can be an input or another output (named_files.hpp). \return the option
    CLI::Option* reads(CLI::Option* option);
    CLI::Option* writes(CLI::Option* option);
    CLI::Option* writes_folder(CLI::Option* option);
    /// \param inputs  files that are read though no option names them
    /// \throws Error(usage)
    void refuse_outputs_among(const std::vector<std::string>& inputs) const;

    /// Adds the positional input and the options that describe and cut it: --session, --channels,
    /// --allow-outside, --from, --to, --band, --jobs.
    void add_input(InputOptions& options);
    /// The same for a tool that takes several inputs, or a folder.
    void add_inputs(InputOptions& options);
    /// Adds -o FILE and --format for a tool whose result is a table.
    void add_table_output(TableOutput& output);
    /// Adds an option that names a further table to write, in the form of its ending.
    CLI::Option* add_table_file(const std::string& option, std::string& file,
                                const std::string& about);
    /// Adds an option that names a picture to write (.svg).
    void add_picture_file(const std::string& option, std::string& file, const std::string& about);
    /// Has an output checked before the body runs, where its option is not declared here.
    void expect_output(NamedOutput output) { outputs_.push_back(std::move(output)); }
    /// Adds --list-from C and --false-per-hour B.
    void add_listing(double& confidence, std::optional<double>& false_per_hour);
    /// Adds --withhold F, for a tool that hands on sound.
    void add_withhold(std::string& file);
    /// Adds --horns FILE.
    void add_horns(std::string& file);
    /// Adds --hail-channel NAME.
    void add_hail_channel(std::string& name);
    /// Adds -o FOLDER, required, for a tool whose result is a folder.
    void add_folder_output(std::string& folder);

    /// Parses the command line and runs the body, which returns the status. Never throws.
    [[nodiscard]] int run(int argc, char** argv, const std::function<int()>& body);

    [[nodiscard]] bool quiet() const { return quiet_; }
    [[nodiscard]] const std::string& name() const { return name_; }
    /// Writes one line to standard error: "lull-detect: text".
    void say(const std::string& text) const;

    static constexpr const char* out_of_memory =
        "out of memory; give fewer --jobs or fewer --channels";

  private:
    void add_input_options(InputOptions& options);
    [[nodiscard]] std::optional<int> parse(int argc, char** argv);

    LastResort last_resort_; ///< comes before everything that needs memory
    std::string name_;
    CLI::App app_;
    std::vector<Example> examples_;
    NamedFiles files_;
    bool quiet_ = false;
    std::vector<NamedOutput> outputs_;
};

} // namespace lull
