// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is said of a command line that cannot be understood.
#pragma once

#include <CLI/App.hpp>
#include <CLI/Validators.hpp>

#include <cstdint>
#include <string>
#include <vector>

namespace lull {

/// One line on why the command line was refused, and what would be right.
/// \param app    that parsed it
/// \param fault  as it was thrown
[[nodiscard]] std::string refusal(const CLI::App& app, const CLI::ParseError& fault);

/// Accepts one of these words and nothing else; a refusal names the nearest.
[[nodiscard]] CLI::Validator one_of(std::vector<std::string> words);
/// Accepts a decimal number from low to high and nothing else; says what was read.
[[nodiscard]] CLI::Validator number_between(double low, double high);
/// The same of a whole number.
[[nodiscard]] CLI::Validator whole_between(std::int64_t low, std::int64_t high);

} // namespace lull
