// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which files the options of a tool name, and for what: no output may be an input, nor another
// output.
#pragma once

#include <CLI/App.hpp>

#include <string>
#include <vector>

namespace lull {

class NamedFiles {
  public:
    /// The option names files or folders that are read.
    void add_input(const CLI::Option* option) { inputs_.push_back({option, false}); }
    /// The option names a file that is written.
    void add_output(const CLI::Option* option) { outputs_.push_back({option, false}); }
    /// The option names a folder that is replaced.
    void add_output_folder(const CLI::Option* option) { outputs_.push_back({option, true}); }

    /// Whether by another name or a link makes no difference; a device or a pipe may be both.
    /// \param tool  whose folders are replaced \throws Error(usage)
    void refuse_clashes(const std::string& tool) const;
    /// The same for files that no option names: those of a session or a folder.
    void refuse_outputs_among(const std::vector<std::string>& inputs,
                              const std::string& tool) const;

  private:
    struct Role {
        const CLI::Option* option; ///< belongs to the tool
        bool is_folder;
    };
    static void refuse_pair(const Role& one, const Role& other);

    std::vector<Role> inputs_, outputs_;
};

} // namespace lull
