// SPDX-License-Identifier: GPL-3.0-or-later
//
// Messages for command lines that cannot be parsed.
#pragma once

#include <CLI/App.hpp>
#include <CLI/Validators.hpp>

#include <cstdint>
#include <string>
#include <vector>

namespace lull {

/// One line: why the command line was refused, and what would be right.
/// \param app    parser of the command line
/// \param fault  the exception that it threw
[[nodiscard]] std::string refusal(const CLI::App& app, const CLI::ParseError& fault);

/// Accepts one of these words only. A refusal names the nearest word.
[[nodiscard]] CLI::Validator one_of(std::vector<std::string> words);
/// Accepts a decimal number from low to high only. A refusal repeats what was read.
[[nodiscard]] CLI::Validator number_between(double low, double high);
/// The same for a whole number.
[[nodiscard]] CLI::Validator whole_between(std::int64_t low, std::int64_t high);

} // namespace lull
