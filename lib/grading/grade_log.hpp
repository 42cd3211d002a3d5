// SPDX-License-Identifier: GPL-3.0-or-later
//
// Real recordings: the operators' log beside the events, and reviewers beside each other.
#pragma once

#include "detect/hails.hpp"
#include "grading/grade.hpp"

namespace lull {

/// An event as the log is looked through for it.
struct LogSubject {
    int number = 0;
    double onset_s = 0.0, end_s = 0.0;
};

/// What the log says about one event. A log is written by few and in haste: what is not in it was
/// not thereby unheard.
struct LogFinding {
    int event = 0;
    bool in_log = false;
    std::string words; ///< "in the log" or "no log entry"
    std::optional<double> written_s,
        after_s;           ///< of the nearest entry, and how long after the onset
    std::string person;    ///< who wrote it
    std::string listening; ///< who was listening to which channel then, if the log says so
};

/// Looks for the nearest `heard` entry from log_before_s before an event's onset to log_after_s
/// after its end; one entry may speak for several events. Who listens to what holds from a
/// `listening to` entry until the same person's next, or until that person's `moved`.
/// \param channels  names in order, for the log's channel indices
[[nodiscard]] std::vector<LogFinding> compare_with_log(std::span<const LogSubject> events,
                                                       std::span<const LogRow> log,
                                                       const std::vector<std::string>& channels,
                                                       const GradeRules& rules);

/// What two reviewers said of the same slots.
struct ReviewerAgreement {
    std::string first, second;
    std::vector<std::string> categories; ///< "nothing", the four kinds, "unsure"
    std::vector<int> counts;             ///< categories * categories, first reviewer by row
    Agreement agreement;
};

/// Cohen's kappa over stated slots. A reviewer's category of a slot: the kind of the first event
/// there that they agree to (the new kind, if they gave one), else `unsure` if they were of any,
/// else `nothing`. \throws Error(input) when there are no slots, or either has no judgement
[[nodiscard]] ReviewerAgreement compare_reviewers(std::span<const Judgement> judgements,
                                                  const std::string& first,
                                                  const std::string& second,
                                                  std::span<const Slot> slots);

} // namespace lull
