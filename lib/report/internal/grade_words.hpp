// SPDX-License-Identifier: GPL-3.0-or-later
//
// Grades in words, for cards and the class page.
#pragma once

#include "grading/grade.hpp"

#include <string>

namespace lull {

/// "1:05.2"
[[nodiscard]] std::string minutes_text(double time_s);
/// "0.75 (0.30 to 0.95)"; "not known"
[[nodiscard]] std::string estimate_text(const Estimate& estimate, int decimals);
/// "not known" for none
[[nodiscard]] std::string known_text(const std::optional<double>& value, int decimals);
/// "1 event", "2 events"
[[nodiscard]] std::string counted(int count, std::string_view thing);
/// What one listener did, as whole sentences without the name: "heard 3 of 4 events and wrote 1
/// false call. ..."
[[nodiscard]] std::string listener_sentences(const ListenerGrade& listener);
/// The hearing threshold with its interval, or why there is none.
[[nodiscard]] std::string threshold_text(const HearingCurve& curve);
/// Whatever came of the sheet's clock, as a sentence.
[[nodiscard]] std::string clock_sentence(const ListenerGrade& listener);

} // namespace lull
