// SPDX-License-Identifier: GPL-3.0-or-later
//
// The table of finds, the first of every review.
#pragma once

#include "account/account.hpp"
#include "report/language.hpp"
#include "report/table.hpp"

#include <span>
#include <string>

namespace lull {

/// Most deserving first. evidence: codes with their figures, "taps=5;interval_s=0.65";
/// judged: the last judgement of each reviewer. \param finds  of the account, in its order
[[nodiscard]] Table finds_table(const Account& account, std::span<const Find> finds);

/// "agree (A); disagree (B)": the last judgement of each reviewer; empty for none.
[[nodiscard]] std::string judged_text(const Account& account, const Find& find,
                                      const Language& say = Language::english());

} // namespace lull
