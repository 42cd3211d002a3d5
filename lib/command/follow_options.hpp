// SPDX-License-Identifier: GPL-3.0-or-later
//
// The options of a review that takes files as they arrive.
#pragma once

#include "command/options.hpp"
#include "command/tool.hpp"

#include <string>

namespace lull {

struct FollowOptions {
    bool follow = false;
    std::string until;      ///< as written; empty: until the process is asked to end
    std::string notify;     ///< a program; empty: none
    double settled_s = 10.; ///< see FolderWatch
};

/// --follow, --until, --notify and --settled.
void add_follow_options(Tool& tool, FollowOptions& options);

/// Seconds since 1970, by this machine's clock.
[[nodiscard]] double wall_clock_s();

/// Time at which following ends, in seconds since 1970; infinite where no end is given.
/// \throws Error(usage)
[[nodiscard]] double end_of(const FollowOptions& options);

/// \throws Error(usage) for inputs that cannot grow, and for an output folder that lies among them
void check(const InputOptions& inputs, const std::string& folder);

} // namespace lull
