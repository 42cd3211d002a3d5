// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an audio file's own header promises. libsndfile quietly clamps a frame count to what the
// file can hold, so a recording that was cut off would look whole.
#pragma once

#include "conventions.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <span>

namespace lull {

/// Where a header keeps the size of its samples, so that a size that is wrong can be put right in
/// what libsndfile gets to see.
struct SizeField {
    std::int64_t at = 0; ///< byte; 0: there is none
    int width = 0;       ///< bytes
    bool big_endian = false;
    std::int64_t right = 0; ///< what should stand there
};

struct HeaderPromise {
    std::optional<Frame> frames; ///< none: the header does not know (size 0 or all ones), or the
                                 ///< format has no count that can be read without decoding
    bool open_ended = false;     ///< the size was left at 0 or all ones by a recorder that stopped
    bool bytes_missing = false;  ///< fewer bytes of samples than the header says
    bool mid_frame = false;      ///< the samples end within a frame
    std::int64_t data_at = 0;    ///< byte where the samples begin; 0: not known
    int frame_bytes = 0;         ///< of one frame, where every frame has the same size; else 0
    SizeField wrong_size;        ///< set where the size is unknown or more than is there
    int plain_pcm_bytes = 0;     ///< 2 or 3: samples are little-endian integers of that many bytes
};

/// Reads bytes at an offset into the span; returns how many there were.
using ReadAt = std::function<std::size_t(std::int64_t offset, std::span<unsigned char> into)>;

/// RIFF, RIFX, RF64, BW64, W64, AIFF/AIFC, AU, CAF and FLAC; others promise nothing.
/// \param bytes size of the file
[[nodiscard]] HeaderPromise header_promise(const ReadAt& read, std::int64_t bytes);

} // namespace lull
