// SPDX-License-Identifier: GPL-3.0-or-later
//
// The mark that identifies an exercise wherever it is copied.
#pragma once

#include <string_view>

namespace lull {

/// Start of the description in the bext chunk of every exercise.
inline constexpr std::string_view exercise_mark =
    "EXERCISE: made by lull for training, no real recording";

[[nodiscard]] inline bool is_exercise_description(std::string_view description) {
    return description.starts_with("EXERCISE:");
}

} // namespace lull
