// SPDX-License-Identifier: GPL-3.0-or-later
//
// The words that go with every result. They are fixed: tests compare them.
#pragma once

#include <string_view>

namespace lull {

/// Stands on every report, first.
inline constexpr std::string_view caution_text =
    "A recording in which nothing is found does not show that nobody is there. These figures "
    "support, and never replace, the judgement of qualified search personnel under local "
    "procedures; never end a search because of them.";

/// The same in short, to be read out.
inline constexpr std::string_view short_caution_text =
    "Nothing found does not show that nobody is there. These figures support, and never replace, "
    "the judgement of qualified search personnel. Never end a search because of them.";

/// Said where a table of events is empty. Never "clear", never "nobody".
inline constexpr std::string_view no_event_text = "No event listed.";

/// Stands on every report that was made from an exercise.
inline constexpr std::string_view exercise_text =
    "EXERCISE: this report was made from a recording that was made for training.";

} // namespace lull
