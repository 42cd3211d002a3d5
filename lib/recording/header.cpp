// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/header.hpp"

#include <algorithm>
#include <cstring>
#include <string_view>

namespace lull {
namespace {

constexpr int most_chunks = 10000; ///< a file with more is hostile
constexpr std::uint64_t most_frame_bytes = 1024 * 8;

struct Bytes {
    const ReadAt* read;
    std::int64_t size;

    bool get(std::int64_t at, std::span<unsigned char> into) const {
        return at >= 0 && (*read)(at, into) == into.size();
    }
    std::optional<std::uint64_t> number(std::int64_t at, std::size_t count, bool big) const {
        unsigned char raw[8] = {};
        if (!get(at, {raw, count})) return std::nullopt;
        std::uint64_t value = 0;
        for (std::size_t i = 0; i < count; ++i)
            value |= std::uint64_t{raw[big ? count - 1 - i : i]} << (8 * i);
        return value;
    }
    bool is(std::int64_t at, std::string_view tag) const {
        unsigned char raw[16] = {};
        return tag.size() <= sizeof raw && get(at, {raw, tag.size()}) &&
               std::memcmp(raw, tag.data(), tag.size()) == 0;
    }
};

/// The promise of a data chunk whose samples begin at `data_at`.
/// \param field    position of the size; field.right is what the size counts besides the samples
HeaderPromise of_data(const Bytes& file, std::int64_t data_at, std::uint64_t data_bytes,
                      std::uint64_t frame_bytes, bool unknown, SizeField field) {
    HeaderPromise promise;
    promise.open_ended = unknown;
    promise.bytes_missing =
        !unknown &&
        data_bytes > static_cast<std::uint64_t>(std::max<std::int64_t>(0, file.size - data_at));
    if (frame_bytes == 0 || frame_bytes > most_frame_bytes) return promise;
    promise.data_at = data_at;
    promise.frame_bytes = static_cast<int>(frame_bytes);
    const auto there = static_cast<std::uint64_t>(std::max<std::int64_t>(0, file.size - data_at));
    if (unknown || data_bytes > there) {
        promise.wrong_size = field;
        promise.wrong_size.right += static_cast<std::int64_t>(there - there % frame_bytes);
    }
    promise.mid_frame = (unknown ? there : std::min(there, data_bytes)) % frame_bytes != 0;
    if (!unknown && data_bytes / frame_bytes < std::uint64_t{1} << 62U)
        promise.frames = static_cast<Frame>(data_bytes / frame_bytes);
    return promise;
}

/// The fields of a `fmt ` chunk. They are the same in RIFF, RF64 and W64.
struct WaveFormat {
    std::uint64_t tag = 0, tracks = 0, align = 0, bits = 0;

    WaveFormat() = default;
    WaveFormat(const Bytes& file, std::int64_t at, bool big) {
        tag = file.number(at, 2, big).value_or(0);
        tracks = file.number(at + 2, 2, big).value_or(0);
        align = file.number(at + 12, 2, big).value_or(0);
        bits = file.number(at + 14, 2, big).value_or(0);
        if (tag == 0xFFFE)
            tag = file.number(at + 24, 2, big).value_or(0); // its GUID begins with the tag
    }
    /// Bytes of a frame where all frames have the same size, so that a byte count gives a frame
    /// count; else 0.
    [[nodiscard]] std::uint64_t frame_bytes() const {
        return tag == 1 || tag == 3 || tag == 6 || tag == 7 ? align : 0;
    }
    [[nodiscard]] int plain_pcm_bytes(bool big) const {
        const bool plain =
            tag == 1 && !big && (bits == 16 || bits == 24) && align == tracks * bits / 8;
        return plain ? static_cast<int>(bits / 8) : 0;
    }
};

HeaderPromise of_riff(const Bytes& file, bool big) {
    WaveFormat format;
    std::optional<std::uint64_t> data64;
    std::int64_t data64_at = 0;
    std::int64_t at = 12;
    for (int chunk = 0; chunk < most_chunks && at + 8 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 4, big);
        if (!size) break;
        if (file.is(at, "ds64")) {
            data64_at = at + 16;
            data64 = file.number(data64_at, 8, false);
        }
        if (file.is(at, "fmt ")) format = WaveFormat(file, at + 8, big);
        if (file.is(at, "data")) {
            const bool wide =
                *size == 0xFFFFFFFF && data64.value_or(0) != 0 && *data64 != ~std::uint64_t{0};
            const bool unknown =
                !wide && (*size == 0xFFFFFFFF || (*size == 0 && at + 8 < file.size));
            const bool far = data64_at != 0 && *size == 0xFFFFFFFF;
            const SizeField field =
                far ? SizeField{data64_at, 8, false, 0} : SizeField{at + 4, 4, big, 0};
            HeaderPromise promise =
                of_data(file, at + 8, wide ? *data64 : *size, format.frame_bytes(), unknown, field);
            promise.plain_pcm_bytes = format.plain_pcm_bytes(big);
            return promise;
        }
        at += 8 + static_cast<std::int64_t>(*size + (*size & 1U));
    }
    return {};
}

HeaderPromise of_w64(const Bytes& file) {
    WaveFormat format;
    std::int64_t at = 40;
    for (int chunk = 0; chunk < most_chunks && at + 24 <= file.size; ++chunk) {
        const auto size = file.number(at + 16, 8, false);
        if (!size || *size > std::uint64_t{1} << 62U) {
            return file.is(at, "data") ? of_data(file, at + 24, 0, format.frame_bytes(), true,
                                                 {at + 16, 8, false, 24})
                                       : HeaderPromise{};
        }
        if (file.is(at, "fmt ")) format = WaveFormat(file, at + 24, false);
        if (file.is(at, "data")) {
            const bool unknown = *size <= 24 && at + 24 < file.size;
            HeaderPromise promise = of_data(file, at + 24, *size < 24 ? 0 : *size - 24,
                                            format.frame_bytes(), unknown, {at + 16, 8, false, 24});
            promise.plain_pcm_bytes = format.plain_pcm_bytes(false);
            return promise;
        }
        if (*size < 24) break;
        at += static_cast<std::int64_t>((*size + 7) & ~std::uint64_t{7});
    }
    return {};
}

/// Whether an AIFC compression type has one sample a channel in each frame.
bool has_plain_samples(const Bytes& file, std::int64_t at) {
    constexpr std::string_view types[] = {"NONE", "sowt", "twos", "raw ", "fl32", "FL32", "fl64",
                                          "FL64", "in24", "in32", "ulaw", "ULAW", "alaw", "ALAW"};
    return std::ranges::any_of(types, [&](std::string_view type) { return file.is(at, type); });
}

HeaderPromise of_aiff(const Bytes& file) {
    HeaderPromise promise;
    std::int64_t at = 12;
    for (int chunk = 0; chunk < most_chunks && at + 8 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 4, true);
        if (!size) break;
        if (file.is(at, "COMM")) {
            const auto frames = file.number(at + 10, 4, true);
            if (!frames) return {};
            promise.open_ended = *frames == 0xFFFFFFFF || *frames == 0;
            const bool counts_packets = file.is(8, "AIFC") && !has_plain_samples(file, at + 26);
            if (!promise.open_ended && !counts_packets)
                promise.frames = static_cast<Frame>(*frames);
        }
        if (file.is(at, "SSND"))
            promise.bytes_missing = at + 8 + static_cast<std::int64_t>(*size) > file.size;
        at += 8 + static_cast<std::int64_t>(*size + (*size & 1U));
    }
    return promise;
}

HeaderPromise of_au(const Bytes& file, bool big) {
    const auto size = file.number(8, 4, big), encoding = file.number(12, 4, big),
               channels = file.number(20, 4, big);
    if (!size || !encoding || !channels) return {};
    std::uint64_t bytes = 0;
    switch (*encoding) { // sample sizes of the encodings that have one
    case 1:
    case 2:
    case 27:
        bytes = 1;
        break;
    case 3:
        bytes = 2;
        break;
    case 4:
        bytes = 3;
        break;
    case 5:
    case 6:
        bytes = 4;
        break;
    case 7:
        bytes = 8;
        break;
    default:
        return {};
    }
    const std::int64_t data_at = static_cast<std::int64_t>(file.number(4, 4, big).value_or(0));
    const bool unknown = *size == 0xFFFFFFFF || (*size == 0 && data_at < file.size);
    return of_data(file, data_at, *size, bytes * *channels, unknown, {8, 4, big, 0});
}

HeaderPromise of_caf(const Bytes& file) {
    std::uint64_t packet = 0, packet_frames = 0;
    std::int64_t at = 8;
    for (int chunk = 0; chunk < most_chunks && at + 12 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 8, true);
        if (!size) break;
        if (file.is(at, "desc")) {
            packet = file.number(at + 28, 4, true).value_or(0);
            packet_frames = file.number(at + 32, 4, true).value_or(0);
        }
        if (file.is(at, "data")) { // four bytes of edit count precede the samples
            const bool unknown = *size == ~std::uint64_t{0} || (*size <= 4 && at + 16 < file.size);
            const std::uint64_t frame_bytes = packet_frames == 1 ? packet : 0;
            return of_data(file, at + 16, *size < 4 ? 0 : *size - 4, frame_bytes, unknown,
                           {at + 4, 8, true, 4});
        }
        if (*size > std::uint64_t{1} << 62U) break;
        at += 12 + static_cast<std::int64_t>(*size);
    }
    return {};
}

HeaderPromise of_flac(const Bytes& file) {
    const auto packed = file.number(18, 8, true); // rate 20 bits, channels 3, bits 5, samples 36
    if (!packed) return {};
    const auto frames = static_cast<Frame>(*packed & ((std::uint64_t{1} << 36U) - 1));
    HeaderPromise promise;
    promise.open_ended = frames == 0;
    if (frames != 0) promise.frames = frames;
    return promise;
}

} // namespace

HeaderPromise header_promise(const ReadAt& read, std::int64_t bytes) {
    const Bytes file{&read, bytes};
    if (file.is(0, "RIFX")) return of_riff(file, true);
    if (file.is(0, "RIFF") || file.is(0, "RF64") || file.is(0, "BW64")) return of_riff(file, false);
    if (file.is(0, "riff")) return of_w64(file);
    if (file.is(0, "FORM")) return of_aiff(file);
    if (file.is(0, ".snd")) return of_au(file, true);
    if (file.is(0, "dns.")) return of_au(file, false);
    if (file.is(0, "caff")) return of_caf(file);
    if (file.is(0, "fLaC")) return of_flac(file);
    return {};
}

} // namespace lull
