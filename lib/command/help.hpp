// SPDX-License-Identifier: GPL-3.0-or-later
//
// Texts about a tool, made from its options as they are declared: --help for a person, and
// --describe for scripts/manual.py, which makes manual pages and completions.
#pragma once

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

#include <string>
#include <vector>

namespace lull {

/// A command that works, and what it does.
struct Example {
    std::string command; ///< whole: "lull-detect recording.wav -o events.csv"
    std::string about;
};

/// Sets how help shows an option.
/// \param type      FILE, FOLDER, HZ, SECONDS, DB, TIME, NAME, NUMBER ...
/// \param standard  the default; empty: none is shown
/// \return the option
CLI::Option* shown_as(CLI::Option* option, const char* type, const char* standard = "");

/// The text of --help, at most 80 columns wide.
[[nodiscard]] std::string help_text(const CLI::App& app, const std::vector<Example>& examples);

/// The same as a JSON document.
[[nodiscard]] std::string description_json(const CLI::App& app,
                                           const std::vector<Example>& examples);

} // namespace lull
