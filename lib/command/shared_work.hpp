// SPDX-License-Identifier: GPL-3.0-or-later
//
// The options of a tool for a review on several machines.
#pragma once

#include "command/job.hpp"
#include "command/tool.hpp"
#include "review/review_folder.hpp"

#include <string>
#include <vector>

namespace lull {

struct SharedWorkOptions {
    bool list = false;                 ///< only list the units of work
    std::string units;                 ///< as written, "A" or "A-B": do only these
    std::vector<std::string> gathered; ///< folders whose units are joined
};

/// --units, --unit and --gather.
void add_shared_work_options(Tool& tool, SharedWorkOptions& options);

/// \param elsewise  whether options were given that need a whole run on one machine
/// \throws Error(usage) for options that exclude each other, and where the output folder is missing
void check(const SharedWorkOptions& options, const InputOptions& inputs, const std::string& folder,
           bool elsewise);

/// Whether only a part of a review is asked for: the list of units, or some units.
[[nodiscard]] bool is_part(const SharedWorkOptions& options);

/// Lists the units of work on standard output, or does some of them. \return the status
[[nodiscard]] int do_part(const Tool& tool, Job& job, const SharedWorkOptions& options,
                          const ReviewRequest& request);

} // namespace lull
