// SPDX-License-Identifier: GPL-3.0-or-later
//
// The frames of MPEG audio (ISO/IEC 11172-3, 13818-3). They carry no numbers. Only a count in the
// first frame, which most encoders write, shows whether all are there.
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
    int side_bytes = 0; ///< layer III: between header and main data, with the checksum
    bool has_check = false;
};

/// The header that begins there, with its frame's size; empty where there is none or the size is
/// unknown.
[[nodiscard]] std::optional<MpegFrameHeader> mpeg_frame_header(ByteSpan bytes);

/// What an encoder writes into a first frame without sound.
struct MpegCount {
    std::int64_t frames = 0;
    std::int64_t bytes = 0;     ///< of all frames including this one; 0: not stated
    int delay = 0, padding = 0; ///< frames of sound that the encoder put before and after
    bool tells_delay = false;
    std::int64_t checked_bytes = 0; ///< of this frame and those that `check` covers; 0: no check
    std::uint16_t check = 0;        ///< MpegCheckSum of the bytes after this frame
    bool is_right = true;           ///< its own checksum is right or absent
};

/// An encoder's check of a whole file: CRC-16 with the lowest bit first, initial value 0.
struct MpegCheckSum {
    std::uint16_t value = 0;
    void add(ByteSpan bytes);
};

/// \param bytes  of that frame
[[nodiscard]] std::optional<MpegCount> mpeg_count(ByteSpan bytes, const MpegFrameHeader& header);

/// Checks every frame of an MPEG audio file. Empty for other formats.
/// \throws Error(input) when nothing shows whether it is complete, or where frames are missing
[[nodiscard]] std::optional<IntactSound> check_mpeg(const std::string& path, ByteWindow& file);

} // namespace lull
