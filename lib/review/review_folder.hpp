// SPDX-License-Identifier: GPL-3.0-or-later
//
// The main job: a recording in, a folder with a defensible account of what was heard out.
#pragma once

#include "account/disclosure.hpp"
#include "account/find.hpp"
#include "report/folder.hpp"
#include "report/json.hpp"
#include "report/language.hpp"
#include "report/read_tables.hpp"
#include "review/analysis.hpp"

#include <functional>
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
    bool resume = false;  ///< go on where an earlier run stopped, and be ready for the next
    bool interim = false; ///< more files are to come: the folder says that it is unfinished
    std::vector<std::string> gathered = {}; ///< folders with all units, which others did
    /// Told what was heard before anything of it is written. \return whether to go on
    std::function<bool(const Recording&, const Analysis&)> heard = {};
};

/// What a person is told when it is done.
struct ReviewOutcome {
    FindCounts counts;
    int unfit = 0, doubtful = 0; ///< channels
    bool night = false;          ///< there was more than one file, and they were summed up
    bool degraded = false;       ///< an input changed while it was read
    int resumed_units = 0;       ///< that an earlier run had finished
    bool written = true;         ///< false: `heard` did not want it
};

/// What a review needs of a pass: all of it.
inline constexpr Wanted review_wants{true, true, true, true};

/// Runs the whole chain and writes the folder; fills in the inputs' digests, and a notice for each
/// that changed meanwhile.
/// \throws Error of every kind, and whatever `progress` throws; the folder then does not appear, or
///         with `resume` says that it is unfinished
ReviewOutcome review_recording(Recording& recording, const ReviewRequest& request,
                               const ProgressSink& progress);

/// The same into a folder that is open already (request.folder is not looked at), and after an
/// interim review can take the next.
ReviewOutcome review_into(OutputFolder& folder, Recording& recording, const ReviewRequest& request,
                          const ProgressSink& progress);

} // namespace lull
