// SPDX-License-Identifier: GPL-3.0-or-later
//
// Real recordings: compares the operators' log with the events, and reviewers with each other.
#pragma once

#include "detect/hails.hpp"
#include "grading/grade.hpp"

namespace lull {

/// An event to search for in the log.
struct LogSubject {
    int number = 0;
    double onset_s = 0.0, end_s = 0.0;
};

/// The log's entry for one event. A log is written by few people in haste, so events without an
/// entry may still have been heard.
struct LogFinding {
    int event = 0;
    bool in_log = false;
    std::string words; ///< "in the log" or "no log entry"
    std::optional<double> written_s,
        after_s;           ///< of the nearest entry, relative to the onset
    std::string person;    ///< its writer
    std::string listening; ///< who was listening to which channel then, if the log states it
};

/// Finds the nearest `heard` entry from log_before_s before an event's onset to log_after_s after
/// its end. One entry may serve for several events. A `listening to` entry holds until the same
/// person's next one, or until that person's `moved`.
/// \param channels  names in order, for the log's channel indices
[[nodiscard]] std::vector<LogFinding> compare_with_log(std::span<const LogSubject> events,
                                                       std::span<const LogRow> log,
                                                       const std::vector<std::string>& channels,
                                                       const GradeRules& rules);

/// The judgements of two reviewers on the same slots.
struct ReviewerAgreement {
    std::string first, second;
    std::vector<std::string> categories; ///< "nothing", the four kinds, "unsure"
    std::vector<int> counts;             ///< categories * categories, first reviewer by row
    Agreement agreement;
};

/// Cohen's kappa over given slots. A reviewer's category of a slot is the kind of the first event
/// there that they agree to (the new kind, if they gave one), else `unsure` if they were unsure of
/// any, else `nothing`.
/// \throws Error(input) when there are no slots, or either has no judgement
[[nodiscard]] ReviewerAgreement compare_reviewers(std::span<const Judgement> judgements,
                                                  const std::string& first,
                                                  const std::string& second,
                                                  std::span<const Slot> slots);

} // namespace lull
