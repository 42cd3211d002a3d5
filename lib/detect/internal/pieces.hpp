// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pieces of a stretch that lasts long: a voice in the midst of rain or machines is judged by
// itself, not with the minute of noise that it lies in.
#pragma once

#include "detect/event.hpp"
#include "detect/internal/candidates.hpp"
#include "detect/unit_input.hpp"

#include <vector>

namespace lull {

/// Cuts a stretch of more than 4 s at its quietest moments, one in every 2.5 s of the time line (so
/// that units that share a stretch cut it alike); a shorter one stays whole.
[[nodiscard]] std::vector<LastingStretch>
cut_at_lulls(const ChannelTracks& tracks, const LastingStretch& stretch, double rate_hz);

/// Joins pieces again that were judged alike (horns: of one pitch), up to longest_sound_s; what is
/// of no kind is followed no further than that.
/// \param sustained pieces in time order; joined in place
/// \param continues for each, whether it goes on where the one before it was cut
void join_pieces(std::vector<Arrival>& sustained, const std::vector<char>& continues);

} // namespace lull
