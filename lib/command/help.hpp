// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a tool says of itself: --help for a person, --describe for scripts/manual.py, which makes
// manual pages and completions of it. Both are made of the options as they are declared.
#pragma once

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

#include <string>
#include <vector>

namespace lull {

/// A command that works, and what it gives.
struct Example {
    std::string command; ///< whole: "lull-detect recording.wav -o events.csv"
    std::string about;
};

/// Says how help shows an option. \param type  FILE, FOLDER, HZ, SECONDS, DB, TIME, NAME, NUMBER
/// ... \param standard  what holds when it is not given; empty: nothing to say \return the option
CLI::Option* shown_as(CLI::Option* option, const char* type, const char* standard = "");

/// The text of --help, at most 80 columns wide.
[[nodiscard]] std::string help_text(const CLI::App& app, const std::vector<Example>& examples);

/// The same as a JSON document.
[[nodiscard]] std::string description_json(const CLI::App& app,
                                           const std::vector<Example>& examples);

} // namespace lull
