// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sentences that the analysis words in English, in another language: known again by their patterns.
#pragma once

#include "report/language.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// What is in the place of the most telling pattern's names goes into the translation's, translated
/// likewise. Parts of a text between semicolons, and else between commas, are phrases of their own;
/// what no pattern fits stays as it is. \param phrases  those with most words of their own first
[[nodiscard]] std::string translate(std::string_view text, const std::vector<Phrase>& phrases);

/// Brings phrases into the order that `translate` wants.
void sort_by_words(std::vector<Phrase>& phrases);

} // namespace lull
