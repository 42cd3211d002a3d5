// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sections of the class page.
#pragma once

#include "report/class_page.hpp"

namespace lull {

/// Figures with their intervals, one row a listener.
[[nodiscard]] std::string class_statistics(const Grade& grade);
/// Events by trainees, with the sound of each event.
[[nodiscard]] std::string class_events(const ClassPage& page);
[[nodiscard]] std::string class_false_calls(const ClassPage& page);
/// Empty without earlier exercises.
[[nodiscard]] std::string class_progress(std::span<const LearningPoint> points);
/// Empty when every line was read.
[[nodiscard]] std::string class_not_read(const Grade& grade);

} // namespace lull
