// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/ogg_codec.hpp"

#include "error.hpp"
#include "recording/internal/tags.hpp"

#include <algorithm>
#include <bit>
#include <utility>

namespace lull {
namespace {

ByteSpan bytes_of(const std::string& text) {
    return {reinterpret_cast<const unsigned char*>(text.data()), text.size()};
}

[[noreturn]] void refuse_head(const std::string& path) {
    throw_input(path, "", "its head of Ogg pages is damaged, so nothing of it can be decoded",
                "give an undamaged copy");
}

/// `count` bits from bit `at` on. In Vorbis the lowest bit of a byte comes first.
unsigned bits_at(ByteSpan bytes, std::int64_t at, int count) {
    unsigned value = 0;
    for (int i = 0; i < count; ++i) {
        const std::int64_t bit = at + i;
        value |= (bytes[static_cast<std::size_t>(bit / 8)] >> (bit % 8) & 1U) << i;
    }
    return value;
}

/// Granules of an Opus packet, at 48 kHz (RFC 6716, 3.1 and 3.2).
Frame opus_granules(ByteSpan bytes) {
    const unsigned config = bytes[0] >> 3U, code = bytes[0] & 3U;
    constexpr Frame silk[] = {480, 960, 1920, 2880}, celt[] = {120, 240, 480, 960};
    const Frame frame = config < 12   ? silk[config & 3U]
                        : config < 16 ? silk[config & 1U]
                                      : celt[config & 3U];
    const unsigned frames = code == 0 ? 1U : code < 3 ? 2U : bytes.size() < 2 ? 0U : bytes[1] & 63U;
    return frame * frames;
}

Frame opus_granules_per_frame(ByteSpan rate) {
    const unsigned hz = rate[0] | rate[1] << 8U | rate[2] << 16U | unsigned{rate[3]} << 24U;
    if (hz == 0 || hz > 24000) return 1;
    return hz > 16000 ? 2 : hz > 12000 ? 3 : hz > 8000 ? 4 : 6;
}

} // namespace

bool OggCodec::take_head(const std::string& path, std::string packet) {
    if (++heads_ == 1) {
        first_packet_ = std::move(packet);
        take_first(path);
    } else if (kind_ == Kind::vorbis && heads_ == 3) {
        read_vorbis_modes(path, packet);
    }
    return heads_ < heads_needed_;
}

void OggCodec::take_first(const std::string& path) {
    const ByteSpan bytes = bytes_of(first_packet_);
    if (begins_with(bytes, "\x01vorbis") && bytes.size() >= 30) {
        kind_ = Kind::vorbis;
        heads_needed_ = 3;
        block_frames_[0] = Frame{1} << (bytes[28] & 15U);
        block_frames_[1] = Frame{1} << (bytes[28] >> 4U);
    } else if (begins_with(bytes, "OpusHead") && bytes.size() >= 19) {
        kind_ = Kind::opus;
        heads_needed_ = 2;
        skipped_ = bytes[10] | bytes[11] << 8U;
        granules_per_frame_ = opus_granules_per_frame(bytes.subspan(12, 4));
    } else {
        throw_input(path, "", "is Ogg with another codec than Vorbis and Opus",
                    "give it as WAV or FLAC");
    }
}

/// The modes are at the end of the setup packet: their number minus one in 6 bits; for each mode 1
/// bit (long block), 32 bits of 0 and a mapping in 8 bits; then a bit of 1 (Vorbis I, 4.2.4). They
/// are read from the end, because everything before them would have to be decoded otherwise. A
/// wrong reading shows when the granule positions do not fit.
void OggCodec::read_vorbis_modes(const std::string& path, const std::string& setup) {
    const ByteSpan bytes = bytes_of(setup);
    std::int64_t end = 8 * std::ssize(bytes) - 1;
    while (end >= 0 && bits_at(bytes, end, 1) == 0)
        --end;
    std::vector<bool> from_end;
    std::size_t modes = 0;
    constexpr std::int64_t mode_bits = 41;
    for (std::int64_t at = end - mode_bits; at >= 6 && from_end.size() < 64; at -= mode_bits) {
        if (bits_at(bytes, at + 1, 32) != 0 || bits_at(bytes, at + 33, 8) > 63) break;
        from_end.push_back(bits_at(bytes, at, 1) != 0);
        if (bits_at(bytes, at - 6, 6) + 1 == from_end.size()) modes = from_end.size();
    }
    if (modes == 0) refuse_head(path);
    from_end.resize(modes);
    long_mode_.assign(from_end.rbegin(), from_end.rend());
    mode_bits_ = std::bit_width(modes - 1);
}

Frame OggCodec::vorbis_granules(unsigned char first) {
    const unsigned mode = first >> 1U & ((1U << mode_bits_) - 1);
    if ((first & 1U) != 0 || mode >= long_mode_.size()) return 0;
    const Frame block = block_frames_[long_mode_[mode] ? 1 : 0], before = last_block_;
    last_block_ = block;
    return before == 0 ? 0 : before / 4 + block / 4;
}

Frame OggCodec::granules(ByteSpan bytes) {
    if (bytes.empty()) return 0;
    return kind_ == Kind::opus ? opus_granules(bytes) : vorbis_granules(bytes[0]);
}

std::string OggCodec::first_packet_within() const {
    std::string packet = first_packet_;
    if (kind_ == Kind::opus) packet.replace(10, 2, 2, '\0');
    return packet;
}

} // namespace lull
