// SPDX-License-Identifier: GPL-3.0-or-later
//
// A folder to listen and note from, without anything that a program found.
#pragma once

#include "review/review_folder.hpp"

namespace lull {

/// Writes a page with the sound of the whole recording in slices, and no detection at all: for a
/// second reviewer who is to work blind, or for trainees. \throws Error of every kind
void write_blind_folder(Recording& recording, const ReviewRequest& request,
                        const ProgressSink& progress);

} // namespace lull
