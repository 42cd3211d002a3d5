// SPDX-License-Identifier: GPL-3.0-or-later
//
// Results of several listeners, and of one listener over several exercises.
#pragma once

#include "grading/grade.hpp"

namespace lull {

/// Sums over listeners with bootstrap intervals [published: Efron 1979], and the hearing curve of
/// all.
[[nodiscard]] GroupGrade group_of(std::span<const ListenerGrade> listeners,
                                  std::span<const EventGrade> events, const GradeRules& rules);

/// Pairs of listeners whose F intervals do not overlap.
[[nodiscard]] std::vector<Apart> lying_apart(std::span<const ListenerGrade> listeners);

/// Events of one kind, and how many of them were heard.
struct KindCount {
    int heard = 0, asked = 0;
};

/// The result of one listener in one exercise. Exercises are in order of time.
struct PastScore {
    std::string exercise, listener;
    Counts counts;
    Estimate threshold_db;
    PerKind<KindCount> kinds{}; ///< none asked: not known
};

/// One point of the learning curve.
struct LearningPoint {
    std::string listener, exercise;
    int turn = 0; ///< from 1, the listener's first exercise
    Counts counts;
    Estimate recall, f;
    Estimate recall_change; ///< since the listener's first exercise (Newcombe); empty for the first
    Estimate threshold_db;
    PerKind<KindCount> kinds{};
};

/// Orders scores by listener (in order of first appearance), then by exercise as given. Exercises
/// differ in difficulty, so only thresholds may be compared across them; shares only between
/// variants of one.
[[nodiscard]] std::vector<LearningPoint> learning_curve(std::span<const PastScore> scores);

} // namespace lull
