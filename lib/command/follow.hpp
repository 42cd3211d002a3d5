// SPDX-License-Identifier: GPL-3.0-or-later
//
// A review that takes files as they arrive.
#pragma once

#include "command/follow_options.hpp"
#include "command/job.hpp"
#include "command/tool.hpp"
#include "review/review_folder.hpp"

#include <functional>
#include <string>

namespace lull {

/// A find of at least this confidence that nobody has listened to is reported at once.
inline constexpr double strong_confidence = 0.75;

/// The review of the files that are there at one moment, as the other options ask for it.
using RequestFor = std::function<ReviewRequest(Job& job)>;
/// Reports how the review ended.
using TellOutcome = std::function<void(const ReviewOutcome& outcome)>;

/// Follows the inputs until the end and keeps a valid summary in the folder all the time. The last
/// summary is that of a plain run over the same files.
/// \param folder  may not lie among the inputs
/// \return the status of the tool
/// \throws Error of every kind, Interrupted; the folder then keeps its last summary, which says
///         that it is unfinished
[[nodiscard]] int follow(const Tool& tool, const InputOptions& inputs, const std::string& folder,
                         const FollowOptions& options, const RequestFor& request_for,
                         const TellOutcome& tell);

} // namespace lull
