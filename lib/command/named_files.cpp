// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/named_files.hpp"

#include "error.hpp"
#include "report/folder_record.hpp"

#include <CLI/Option.hpp>

#include <filesystem>

namespace lull {
namespace {

namespace fs = std::filesystem;

/// Whether writing one of them writes the other.
bool same_file(const std::string& a, const std::string& b) {
    std::error_code fault;
    const fs::file_status status = fs::status(a, fault);
    if (fs::exists(status) && !fs::is_regular_file(status) && !fs::is_directory(status))
        return false;
    return settled_path(a) == settled_path(b) || (fs::equivalent(a, b, fault) && !fault);
}

bool lies_in(const std::string& file, const std::string& folder) {
    const fs::path within = fs::path(settled_path(file)).lexically_relative(settled_path(folder));
    return !within.empty() && *within.begin() != "..";
}

/// \param from  the option that names the input; empty: no option does
void refuse_input(const std::string& output, bool is_folder, const std::string& option,
                  const std::string& input, const std::string& from, const std::string& tool) {
    if (input == "-" || output.empty()) return; // standard input
    const std::string read = from.empty() ? "is also an input" : "is also what " + from + " reads";
    if (same_file(output, input))
        throw Error(ErrorKind::usage, output, option, read, "write to another place");
    if (is_folder && is_replaced_with(output, tool, input))
        throw Error(ErrorKind::usage, output, option, "would replace its own input " + input,
                    "write to another folder");
}

} // namespace

void NamedFiles::refuse_pair(const Role& one, const Role& other) {
    const std::string both = one.option->get_name() + " and " + other.option->get_name();
    for (const std::string& a : one.option->results())
        for (const std::string& b : other.option->results())
            if (same_file(a, b) || (one.is_folder && lies_in(b, a)) ||
                (other.is_folder && lies_in(a, b)))
                throw Error(ErrorKind::usage, b, both, "would write to the same place",
                            "give each a place of its own");
}

void NamedFiles::refuse_clashes(const std::string& tool) const {
    for (std::size_t i = 0; i < outputs_.size(); ++i) {
        const Role& output = outputs_[i];
        for (std::size_t k = i + 1; k < outputs_.size(); ++k)
            refuse_pair(output, outputs_[k]);
        for (const Role& input : inputs_) {
            if (input.option == output.option) continue; // a file that is extended
            for (const std::string& to : output.option->results())
                for (const std::string& from : input.option->results())
                    refuse_input(to, output.is_folder, output.option->get_name(), from,
                                 input.option->get_name(), tool);
        }
    }
}

void NamedFiles::refuse_outputs_among(const std::vector<std::string>& inputs,
                                      const std::string& tool) const {
    for (const Role& output : outputs_)
        for (const std::string& to : output.option->results())
            for (const std::string& input : inputs)
                refuse_input(to, output.is_folder, output.option->get_name(), input, "", tool);
}

} // namespace lull
