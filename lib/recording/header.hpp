// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an audio file's header promises. libsndfile silently limits a frame count to what the file
// can hold, so a recording that was cut off would look complete.
#pragma once

#include "conventions.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <span>

namespace lull {

/// The place of the size of the samples in a header. A wrong size there can be corrected in the
/// bytes given to libsndfile.
struct SizeField {
    std::int64_t at = 0; ///< byte; 0: none
    int width = 0;       ///< bytes
    bool big_endian = false;
    std::int64_t right = 0; ///< the correct value
};

struct HeaderPromise {
    std::optional<Frame> frames; ///< empty: the header does not know (size 0 or all ones), or the
                                 ///< format has no count that can be read without decoding
    bool open_ended = false;     ///< size left at 0 or all ones by a recorder that stopped
    bool bytes_missing = false;  ///< fewer bytes of samples than the header states
    bool mid_frame = false;      ///< the samples end within a frame
    std::int64_t data_at = 0;    ///< byte at which the samples begin; 0: unknown
    int frame_bytes = 0;         ///< of one frame if all have the same size, else 0
    SizeField wrong_size;        ///< set where the size is unknown or larger than the samples
    /// 2 or 3: samples are little-endian integers of so many bytes; else 0
    int plain_pcm_bytes = 0;
};

/// Reads bytes at an offset into the span; returns the number of bytes read.
using ReadAt = std::function<std::size_t(std::int64_t offset, std::span<unsigned char> into)>;

/// Reads RIFF, RIFX, RF64, BW64, W64, AIFF/AIFC, AU, CAF and FLAC. The result is empty for other
/// formats.
/// \param bytes size of the file
[[nodiscard]] HeaderPromise header_promise(const ReadAt& read, std::int64_t bytes);

} // namespace lull
