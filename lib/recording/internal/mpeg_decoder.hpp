// SPDX-License-Identifier: GPL-3.0-or-later
//
// MPEG audio through libmpg123 directly: libsndfile, which uses it too, lets it write to the
// terminal.
#pragma once

#include "recording/header.hpp"

#include <cstdint>
#include <functional>
#include <span>
#include <string>

namespace lull {

struct MpegSound {
    double rate_hz = 0.0;
    int tracks = 0;
    int layer = 0;       ///< 1 to 3
    std::string comment; ///< from its tags
};

/// Gets interleaved frames, full scale 1, in order.
using TakeSound = std::function<void(const MpegSound&, std::span<const float>)>;

/// Decodes all frames, including those that an encoder put before and after the recording.
/// \param read  gives the bytes: tags, then whole frames
/// \throws Error(input) when the decoder refuses them
MpegSound decode_mpeg(const std::string& path, const ReadAt& read, std::int64_t bytes,
                      const TakeSound& take);

} // namespace lull
