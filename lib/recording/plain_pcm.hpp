// SPDX-License-Identifier: GPL-3.0-or-later
//
// Decodes little-endian integer samples, as most recorders write them, to planar floats.
#pragma once

#include "conventions.hpp"

#include <span>

namespace lull {

/// The destination of one track of a file.
struct TrackTarget {
    int track = 0;            ///< from 0
    float sign = 1.0F;        ///< 1 or -1
    float* samples = nullptr; ///< room for the frames read
};

/// Decodes interleaved frames. Full scale 1 is 2^15 or 2^23, as in libsndfile, so the result is
/// exact in single precision.
/// \param bytes         frames * tracks * sample_bytes bytes and one more, which is not used
/// \param sample_bytes  2 or 3, or 4: floats in the machine's own byte order
void decode_plain_pcm(const unsigned char* bytes, Frame frames, int tracks, int sample_bytes,
                      std::span<const TrackTarget> targets);

/// The same for interleaved floats.
void deinterleave(const float* interleaved, Frame frames, int tracks,
                  std::span<const TrackTarget> targets);

} // namespace lull
