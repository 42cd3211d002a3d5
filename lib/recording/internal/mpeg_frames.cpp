// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/mpeg_frames.hpp"

#include "recording/internal/tags.hpp"

#include <algorithm>
#include <array>

namespace lull {
namespace {

// kbit/s by code: layers I, II and III, then MPEG-2's layer I and its layers II and III.
constexpr int bit_rates[5][15] = {
    {0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
    {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
    {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160}};

std::int64_t big(ByteSpan bytes) {
    std::int64_t number = 0;
    for (const unsigned char byte : bytes)
        number = number << 8 | byte;
    return number;
}

/// Reads fields one after another; empty after the last byte.
struct Fields {
    ByteSpan rest;

    std::optional<std::int64_t> take(std::size_t count) {
        if (rest.size() < count) return std::nullopt;
        const std::int64_t number = big(rest.first(count));
        rest = rest.subspan(count);
        return number;
    }
    bool skip(std::size_t count) {
        if (rest.size() < count) return false;
        rest = rest.subspan(count);
        return true;
    }
};

/// The encoder's own tag: its name, delay and padding of 12 bits each, and in some encoders
/// checksums.
void read_encoder(ByteSpan frame, std::size_t at, MpegCount& count) {
    constexpr std::size_t delay_at = 21, length_at = 28, check_at = 32, own_check_at = 34, end = 36;
    if (frame.size() < at + delay_at + 3 || frame[at] == 0) return;
    const std::int64_t both = big(frame.subspan(at + delay_at, 3));
    count.delay = static_cast<int>(both >> 12);
    count.padding = static_cast<int>(both & 0xFFF);
    count.tells_delay = true;
    if (frame.size() < at + end || !begins_with(frame.subspan(at), "LAME")) return;
    count.checked_bytes = big(frame.subspan(at + length_at, 4));
    count.check = static_cast<std::uint16_t>(big(frame.subspan(at + check_at, 2)));
    MpegCheckSum own;
    own.add(frame.first(at + own_check_at));
    count.is_right = own.value == big(frame.subspan(at + own_check_at, 2));
}

/// A "Xing" or "Info" tag: flags, then the fields that they announce.
std::optional<MpegCount> tagged_count(ByteSpan frame, std::size_t at) {
    Fields fields{frame.subspan(at)};
    const auto flags = fields.take(4);
    if (!flags || (*flags & 1) == 0) return std::nullopt;
    MpegCount count;
    const auto frames = fields.take(4);
    if (!frames) return std::nullopt;
    count.frames = *frames;
    if ((*flags & 2) != 0) count.bytes = fields.take(4).value_or(0);
    if ((*flags & 4) != 0 && !fields.skip(100)) return count;
    if ((*flags & 8) != 0 && !fields.skip(4)) return count;
    read_encoder(frame, static_cast<std::size_t>(fields.rest.data() - frame.data()), count);
    return count;
}

} // namespace

std::optional<MpegFrameHeader> mpeg_frame_header(ByteSpan bytes) {
    if (bytes.size() < 4 || bytes[0] != 0xFF || (bytes[1] & 0xE0U) != 0xE0U) return std::nullopt;
    const unsigned version = bytes[1] >> 3U & 3U, layer = 4 - (bytes[1] >> 1U & 3U),
                   rate_code = bytes[2] >> 2U & 3U, bits_code = bytes[2] >> 4U;
    if (version == 1 || layer == 4 || rate_code == 3 || bits_code == 0 || bits_code == 15 ||
        (bytes[3] & 3U) == 2)
        return std::nullopt;
    constexpr int rates[] = {44100, 48000, 32000};
    MpegFrameHeader header;
    header.lower_rates = version != 3;
    header.kind = static_cast<int>((bytes[1] & 0x1EU) << 2U | rate_code);
    header.rate_hz = rates[rate_code] >> (version == 3 ? 0 : version == 2 ? 1 : 2);
    header.tracks = bytes[3] >> 6U == 3 ? 1 : 2;
    header.has_check = (bytes[1] & 1U) == 0;
    const int bit_rate =
        1000 * bit_rates[header.lower_rates ? (layer == 1 ? 3 : 4) : layer - 1][bits_code];
    const int padding = bytes[2] >> 1U & 1U;
    header.frames = layer == 1 ? 384 : layer == 3 && header.lower_rates ? 576 : 1152;
    header.bytes = layer == 1 ? 4 * (12 * bit_rate / header.rate_hz + padding)
                              : header.frames / 8 * bit_rate / header.rate_hz + padding;
    if (layer == 3)
        header.side_bytes =
            (header.has_check ? 2 : 0) +
            (header.lower_rates ? (header.tracks == 1 ? 9 : 17) : (header.tracks == 1 ? 17 : 32));
    return header.bytes < 4 + header.side_bytes ? std::nullopt : std::optional(header);
}

void MpegCheckSum::add(ByteSpan bytes) {
    static constexpr auto table = [] {
        std::array<std::uint16_t, 256> made{};
        for (unsigned byte = 0; byte < 256; ++byte) {
            unsigned word = byte;
            for (int bit = 0; bit < 8; ++bit)
                word = (word & 1U) != 0 ? word >> 1U ^ 0xA001U : word >> 1U;
            made[byte] = static_cast<std::uint16_t>(word);
        }
        return made;
    }();
    for (const unsigned char byte : bytes)
        value = static_cast<std::uint16_t>(value >> 8U ^ table[(value ^ byte) & 0xFFU]);
}

std::optional<MpegCount> mpeg_count(ByteSpan bytes, const MpegFrameHeader& header) {
    if (header.side_bytes == 0) return std::nullopt; // layers I and II have no tag
    const auto after_side = static_cast<std::size_t>(4 + header.side_bytes);
    // Some encoders leave no room for a checksum although the header announces one.
    for (const std::size_t at : {after_side, after_side - (header.has_check ? 2 : 0)})
        if (const ByteSpan tag = bytes.subspan(std::min(at, bytes.size()));
            begins_with(tag, "Xing") || begins_with(tag, "Info"))
            return tagged_count(bytes, at + 4);
    constexpr std::size_t fixed_at = 36;
    const ByteSpan tag = bytes.subspan(std::min(fixed_at, bytes.size()));
    if (!begins_with(tag, "VBRI") || tag.size() < 18) return std::nullopt;
    MpegCount count;
    count.bytes = big(tag.subspan(10, 4));
    count.frames = big(tag.subspan(14, 4));
    return count;
}

} // namespace lull
