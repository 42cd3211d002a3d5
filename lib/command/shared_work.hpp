// SPDX-License-Identifier: GPL-3.0-or-later
//
// One review on several machines, as options of a tool.
#pragma once

#include "command/job.hpp"
#include "command/tool.hpp"
#include "review/review_folder.hpp"

#include <string>
#include <vector>

namespace lull {

struct SharedWorkOptions {
    bool list = false;                 ///< only list the units of work
    std::string units;                 ///< as written, "A" or "A-B": only do these
    std::vector<std::string> gathered; ///< folders with units to join
};

/// --units, --unit and --gather.
void add_shared_work_options(Tool& tool, SharedWorkOptions& options);

/// \param elsewise  whether options were given that only a whole run on one machine has
/// \throws Error(usage) for options that do not go together, and where the folder to write is
///         missing
void check(const SharedWorkOptions& options, const InputOptions& inputs, const std::string& folder,
           bool elsewise);

/// Whether only a part of a review is asked for: the list of units, or some of them.
[[nodiscard]] bool is_part(const SharedWorkOptions& options);

/// Lists the units of work on standard output, or does some of them. \return the status
[[nodiscard]] int do_part(const Tool& tool, Job& job, const SharedWorkOptions& options,
                          const ReviewRequest& request);

} // namespace lull
