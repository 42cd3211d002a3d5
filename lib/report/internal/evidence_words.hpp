// SPDX-License-Identifier: GPL-3.0-or-later
//
// Evidence in words: made from codes only where it is shown.
#pragma once

#include "account/account.hpp"
#include "report/language.hpp"

#include <string>

namespace lull {

/// "5 taps; 0.65 s between taps; heard on 4 channels". Another series is told by the find that it
/// is.
[[nodiscard]] std::string evidence_sentence(const Find& find, const Account& account,
                                            const Language& say);

/// "tapping, series of 5", "one strong blow", "voice-like, call of 3 syllables"
[[nodiscard]] std::string form_words(const Find& find, const Language& say);

} // namespace lull
