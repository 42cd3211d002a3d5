// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is wrong with the channels: each by itself, and each against the others.
#pragma once

#include "review/analysis.hpp"

namespace lull {

/// Fills analysis.findings from its health, courses and events. Shared events are decoded again,
/// the strongest of them only, so that a night costs no more than an hour.
void judge_channels(Analysis& analysis, const Recording& recording, int jobs,
                    const ProgressSink& progress);

} // namespace lull
