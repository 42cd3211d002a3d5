// SPDX-License-Identifier: GPL-3.0-or-later
//
// The files that the options of a tool name, and their purposes. No output may be an input or
// another output.
#pragma once

#include <CLI/App.hpp>

#include <string>
#include <vector>

namespace lull {

class NamedFiles {
  public:
    /// For an option that names files or folders to read.
    void add_input(const CLI::Option* option) { inputs_.push_back({option, false}); }
    /// For an option that names a file to write.
    void add_output(const CLI::Option* option) { outputs_.push_back({option, false}); }
    /// For an option that names a folder to replace.
    void add_output_folder(const CLI::Option* option) { outputs_.push_back({option, true}); }

    /// Compares files, whatever their names and links. A device or a pipe may be both.
    /// \param tool  whose folders may be replaced
    /// \throws Error(usage)
    void refuse_clashes(const std::string& tool) const;
    /// The same for files that no option names: those of a session or a folder.
    void refuse_outputs_among(const std::vector<std::string>& inputs,
                              const std::string& tool) const;

  private:
    struct Role {
        const CLI::Option* option; ///< owned by the tool
        bool is_folder;
    };
    static void refuse_pair(const Role& one, const Role& other);

    std::vector<Role> inputs_, outputs_;
};

} // namespace lull
