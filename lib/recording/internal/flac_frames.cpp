// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/flac_frames.hpp"

#include "recording/internal/checksum.hpp"

namespace lull {
namespace {

std::uint64_t number_of(ByteSpan bytes) {
    std::uint64_t number = 0;
    for (const unsigned char byte : bytes)
        number = number << 8U | byte;
    return number;
}

/// A number in one to seven bytes, coded as in UTF-8. Returns its bytes; 0: not a number.
int coded_number(ByteSpan bytes, std::uint64_t& number) {
    if (bytes.empty()) return 0;
    int more = 0;
    while (more < 8 && (bytes[0] & (0x80U >> more)) != 0)
        ++more;
    if (more == 1 || more == 8) return 0;
    const int count = std::max(1, more);
    if (std::ssize(bytes) < count) return 0;
    number = more == 0 ? bytes[0] : bytes[0] & (0x7FU >> more);
    for (int i = 1; i < count; ++i) {
        const unsigned char byte = bytes[static_cast<std::size_t>(i)];
        if ((byte & 0xC0U) != 0x80U) return 0;
        number = number << 6U | (byte & 0x3FU);
    }
    return count;
}

/// Reads the fields of a header one after another.
struct HeaderFields {
    ByteSpan rest;
    bool ended = false;

    std::uint64_t take(std::size_t count) {
        if (rest.size() < count) {
            ended = true;
            return 0;
        }
        const std::uint64_t number = number_of(rest.first(count));
        rest = rest.subspan(count);
        return number;
    }
};

int block_frames(unsigned code, HeaderFields& fields) {
    if (code == 1) return 192;
    if (code >= 2 && code <= 5) return 576 << (code - 2);
    if (code == 6) return static_cast<int>(fields.take(1)) + 1;
    if (code == 7) return static_cast<int>(fields.take(2)) + 1;
    return code >= 8 ? 256 << (code - 8) : 0;
}

/// [Hz]; 0: invalid code.
int rate(unsigned code, const FlacStreamInfo& stream, HeaderFields& fields) {
    constexpr int rates[] = {0,     88200, 176400, 192000, 8000,  16000,
                             22050, 24000, 32000,  44100,  48000, 96000};
    if (code == 0) return stream.rate_hz;
    if (code < 12) return rates[code];
    if (code == 12) return 1000 * static_cast<int>(fields.take(1));
    if (code == 13) return static_cast<int>(fields.take(2));
    return code == 14 ? 10 * static_cast<int>(fields.take(2)) : 0;
}

bool fits(unsigned channel_code, unsigned bits_code, const FlacStreamInfo& stream) {
    constexpr int bits[] = {0, 8, 12, -1, 16, 20, 24, 32};
    const int tracks = channel_code < 8    ? static_cast<int>(channel_code) + 1
                       : channel_code < 11 ? 2
                                           : 0;
    return tracks == stream.tracks && (bits_code == 0 || bits[bits_code] == stream.bits);
}

} // namespace

FlacStreamInfo flac_stream_info(ByteSpan bytes) {
    FlacStreamInfo stream;
    stream.most_block_frames = static_cast<int>(number_of(bytes.subspan(2, 2)));
    const std::uint64_t packed = number_of(bytes.subspan(10, 8));
    stream.rate_hz = static_cast<int>(packed >> 44U);
    stream.tracks = static_cast<int>(packed >> 41U & 7U) + 1;
    stream.bits = static_cast<int>(packed >> 36U & 31U) + 1;
    stream.frames = static_cast<Frame>(packed & ((std::uint64_t{1} << 36U) - 1));
    return stream;
}

std::optional<FlacFrameHeader> flac_frame_header(ByteSpan bytes, const FlacStreamInfo& stream) {
    if (bytes.size() < 6 || bytes[0] != 0xFF || (bytes[1] & 0xFEU) != 0xF8U || (bytes[3] & 1U) != 0)
        return std::nullopt;
    FlacFrameHeader header;
    header.numbers_frames = (bytes[1] & 1U) == 0;
    const int number_bytes = coded_number(bytes.subspan(4), header.number);
    if (number_bytes == 0) return std::nullopt;
    HeaderFields fields{bytes.subspan(4 + static_cast<std::size_t>(number_bytes))};
    header.block_frames = block_frames(bytes[2] >> 4U, fields);
    const int rate_hz = rate(bytes[2] & 15U, stream, fields);
    if (fields.ended || fields.rest.empty() || header.block_frames == 0 ||
        rate_hz != stream.rate_hz || !fits(bytes[3] >> 4U, bytes[3] >> 1U & 7U, stream))
        return std::nullopt;
    header.bytes = static_cast<int>(fields.rest.data() - bytes.data()) + 1;
    FlacHeaderCheck check;
    check.add(bytes.first(static_cast<std::size_t>(header.bytes)));
    return check.value == 0 ? std::optional(header) : std::nullopt;
}

} // namespace lull
