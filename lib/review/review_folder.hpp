// SPDX-License-Identifier: GPL-3.0-or-later
//
// The main job: a recording in, a folder with a defensible account of what was heard out.
#pragma once

#include "report/disclosure.hpp"
#include "report/json.hpp"
#include "report/language.hpp"
#include "report/read_tables.hpp"
#include "review/analysis.hpp"

#include <string>
#include <vector>

namespace lull {

inline constexpr const char* review_tool = "lull-review"; ///< who writes such folders

/// Every file that is read: none may lie in the folder that is written.
[[nodiscard]] std::vector<std::string> input_paths(const Recording& recording);

struct ReviewRequest {
    std::string folder;                   ///< to write; see report/folder.hpp
    std::string run;                      ///< line for run.log: who ran what when
    Settings settings;                    ///< the operators' log among them
    std::vector<JudgementRow> judgements; ///< shown beside, never altering the tables
    int jobs = 1;
    Disclosure disclosure = {};              ///< what of it may be handed on
    bool pictures = false;                   ///< every figure as a file too
    std::string program = {};                ///< digest of the program, for what is resumed
    Language language = Language::english(); ///< of the page
    bool resume = false; ///< go on where an earlier run stopped, and be ready for the next
};

/// What a person is told when it is done.
struct ReviewOutcome {
    EventCounts counts;
    int unfit = 0, doubtful = 0; ///< channels
    bool night = false;          ///< there was more than one file, and they were summed up
    bool degraded = false;       ///< an input changed while it was read
    int resumed_units = 0;       ///< that an earlier run had finished
};

/// Runs the whole chain and writes the folder; fills in the inputs' digests, and a notice for each
/// that changed meanwhile.
/// \throws Error of every kind, and whatever `progress` throws; the folder then does not appear, or
///         with `resume` says that it is unfinished
ReviewOutcome review_recording(Recording& recording, const ReviewRequest& request,
                               const ProgressSink& progress);

} // namespace lull
