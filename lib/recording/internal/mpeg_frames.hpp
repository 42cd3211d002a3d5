// SPDX-License-Identifier: GPL-3.0-or-later
//
// The frames of MPEG audio (ISO/IEC 11172-3, 13818-3). They carry no numbers: only a count in the
// first frame, which most encoders write, tells whether all of them are there.
#pragma once

#include "recording/internal/byte_window.hpp"
#include "recording/internal/intact_sound.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>

namespace lull {

struct MpegFrameHeader {
    int kind = 0;             ///< version, layer and rate: the same in all frames of a stream
    bool lower_rates = false; ///< MPEG-2 and 2.5
    int rate_hz = 0, tracks = 0;
    int frames = 0;     ///< of sound
    int bytes = 0;      ///< of the whole frame
    int side_bytes = 0; ///< of layer III: after the header, before the main data; with the checksum
    bool has_check = false;
};

/// The header that begins there, with its frame's size; none where there is none, or where it does
/// not tell the size.
[[nodiscard]] std::optional<MpegFrameHeader> mpeg_frame_header(ByteSpan bytes);

/// What an encoder writes into a first frame without sound.
struct MpegCount {
    std::int64_t frames = 0;
    std::int64_t bytes = 0;     ///< of all frames, this one too; 0: not told
    int delay = 0, padding = 0; ///< frames of sound that the encoder put before and after
    bool tells_delay = false;
    std::int64_t checked_bytes = 0; ///< of this frame and those that `check` is of; 0: no check
    std::uint16_t check = 0;        ///< MpegCheckSum of the bytes after this frame
    bool is_right = true;           ///< by its own checksum, where there is a check
};

/// The check that an encoder writes of a whole file: CRC-16 with the lowest bit first, from 0.
struct MpegCheckSum {
    std::uint16_t value = 0;
    void add(ByteSpan bytes);
};

/// \param bytes  of that frame
[[nodiscard]] std::optional<MpegCount> mpeg_count(ByteSpan bytes, const MpegFrameHeader& header);

/// Checks every frame of a file of MPEG audio. None: it is not one.
/// \throws Error(input) when nothing tells whether it is whole, or where what is missing was
[[nodiscard]] std::optional<IntactSound> check_mpeg(const std::string& path, ByteWindow& file);

} // namespace lull
