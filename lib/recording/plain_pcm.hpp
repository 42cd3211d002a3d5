// SPDX-License-Identifier: GPL-3.0-or-later
//
// Little-endian integer samples, as most recorders write them, straight to planar floats.
#pragma once

#include "conventions.hpp"

#include <span>

namespace lull {

/// Where one track of a file goes.
struct TrackTarget {
    int track = 0;            ///< from 0
    float sign = 1.0F;        ///< 1 or -1
    float* samples = nullptr; ///< room for the frames read
};

/// Decodes interleaved frames; full scale 1 = 2^15 or 2^23, as libsndfile has it (so the result is
/// exact in single precision).
/// \param bytes         frames * tracks * sample_bytes bytes and one more that is not used
/// \param sample_bytes  2 or 3, or 4: floats in the machine's own order
void decode_plain_pcm(const unsigned char* bytes, Frame frames, int tracks, int sample_bytes,
                      std::span<const TrackTarget> targets);

/// The same for interleaved floats.
void deinterleave(const float* interleaved, Frame frames, int tracks,
                  std::span<const TrackTarget> targets);

} // namespace lull
