// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an audio file's own header promises. libsndfile quietly clamps a frame count to what the
// file can hold, so a recording that was cut off would look whole.
#pragma once

#include "conventions.hpp"

#include <functional>
#include <optional>
#include <span>

namespace lull {

struct HeaderPromise {
    std::optional<Frame> frames; ///< none: the header does not know (size 0 or all ones), or the
                                 ///< format has no count that can be read without decoding
    bool open_ended = false;     ///< the size was left at 0 or all ones by a recorder that stopped
};

/// Reads bytes at an offset into the span; returns how many there were.
using ReadAt = std::function<std::size_t(std::int64_t offset, std::span<unsigned char> into)>;

/// RIFF, RIFX, RF64, BW64, W64, AIFF/AIFC, AU, CAF and FLAC; others promise nothing.
/// \param bytes size of the file
[[nodiscard]] HeaderPromise header_promise(const ReadAt& read, std::int64_t bytes);

} // namespace lull
