// SPDX-License-Identifier: GPL-3.0-or-later
//
// The score cards of trainees: pages to print.
#pragma once

#include "grading/grade.hpp"

#include <string>
#include <string_view>

namespace lull {

/// A whole HTML document for A4 and Letter in black and white: needs no other file, runs no script.
/// It shows the scores with their intervals, what was missed and where to hear it again, what false
/// calls really were, what could not be read, and the caution.
/// \param listener  one of grade.listeners
/// \param marked    what says that it was made from an exercise; empty: it was not
/// \param excerpts  folder of the excerpts as seen from the card, "" when none were cut
[[nodiscard]] std::string score_card(const Grade& grade, const ListenerGrade& listener,
                                     std::string_view marked, const std::string& excerpts);

/// The cards of all, one after another, each on a page of its own: one print job.
[[nodiscard]] std::string all_score_cards(const Grade& grade, std::string_view marked,
                                          const std::string& excerpts);

} // namespace lull
