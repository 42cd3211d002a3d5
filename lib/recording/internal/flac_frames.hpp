// SPDX-License-Identifier: GPL-3.0-or-later
//
// The frames of FLAC (RFC 9639). Each has its position and two checksums, so where one is damaged
// the others can be kept.
#pragma once

#include "recording/internal/byte_window.hpp"
#include "recording/internal/intact_sound.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>

namespace lull {

struct FlacStreamInfo {
    int most_block_frames = 0;
    int rate_hz = 0, tracks = 0, bits = 0;
    Frame frames = 0; ///< 0: unknown
};

struct FlacFrameHeader {
    bool numbers_frames = false; ///< all blocks have one size; else `number` is the first sample's
    std::uint64_t number = 0;
    int block_frames = 0;
    int bytes = 0; ///< of the header
};

/// \param bytes  of the STREAMINFO block without its own header, 34
[[nodiscard]] FlacStreamInfo flac_stream_info(ByteSpan bytes);

/// The header that begins there; empty unless its checksum is right and it fits the stream.
[[nodiscard]] std::optional<FlacFrameHeader> flac_frame_header(ByteSpan bytes,
                                                               const FlacStreamInfo& stream);

/// Longest header of a frame [bytes].
inline constexpr std::size_t longest_flac_header = 16;

/// Checks every frame of a FLAC file. Empty for other formats.
/// \param path  shown in messages
/// \throws Error(input) when nothing of it can be placed
[[nodiscard]] std::optional<IntactSound> check_flac(const std::string& path, ByteWindow& file);

} // namespace lull
