// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/header.hpp"

#include <cstring>
#include <string_view>

namespace lull {
namespace {

constexpr int most_chunks = 10000; ///< a file with more is hostile

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
        for (std::size_t i = 0; i < count; ++i) value |= std::uint64_t{raw[big ? count - 1 - i : i]} << (8 * i);
        return value;
    }
    bool is(std::int64_t at, std::string_view tag) const {
        unsigned char raw[16] = {};
        return tag.size() <= sizeof raw && get(at, {raw, tag.size()}) &&
               std::memcmp(raw, tag.data(), tag.size()) == 0;
    }
};

HeaderPromise of_data(std::uint64_t data_bytes, std::uint64_t frame_bytes, bool unknown) {
    if (unknown) return {std::nullopt, true};
    if (frame_bytes == 0 || data_bytes / frame_bytes > std::uint64_t{1} << 62U) return {};
    return {static_cast<Frame>(data_bytes / frame_bytes), false};
}

/// Only where every frame has the same size does a byte count mean a frame count.
bool has_fixed_frames(std::uint64_t format) {
    return format == 1 || format == 3 || format == 6 || format == 7 || format == 0xFFFE;
}

HeaderPromise of_riff(const Bytes& file, bool big) {
    std::uint64_t align = 0, format = 0;
    std::optional<std::uint64_t> data64;
    std::int64_t at = 12;
    for (int chunk = 0; chunk < most_chunks && at + 8 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 4, big);
        if (!size) break;
        if (file.is(at, "ds64")) data64 = file.number(at + 16, 8, false);
        if (file.is(at, "fmt ")) {
            format = file.number(at + 8, 2, big).value_or(0);
            align = file.number(at + 20, 2, big).value_or(0);
        }
        if (file.is(at, "data")) {
            if (!has_fixed_frames(format)) return {};
            const bool wide = *size == 0xFFFFFFFF && data64.value_or(0) != 0 && *data64 != ~std::uint64_t{0};
            const bool unknown = !wide && (*size == 0xFFFFFFFF || (*size == 0 && at + 8 < file.size));
            return of_data(wide ? *data64 : *size, align, unknown);
        }
        at += 8 + static_cast<std::int64_t>(*size + (*size & 1U));
    }
    return {};
}

HeaderPromise of_w64(const Bytes& file) {
    std::uint64_t align = 0, format = 0;
    std::int64_t at = 40;
    for (int chunk = 0; chunk < most_chunks && at + 24 <= file.size; ++chunk) {
        const auto size = file.number(at + 16, 8, false);
        if (!size || *size > std::uint64_t{1} << 62U) {
            return file.is(at, "data") ? HeaderPromise{std::nullopt, true} : HeaderPromise{};
        }
        if (file.is(at, "fmt ")) {
            format = file.number(at + 24, 2, false).value_or(0);
            align = file.number(at + 36, 2, false).value_or(0);
        }
        if (file.is(at, "data")) {
            if (!has_fixed_frames(format)) return {};
            const bool unknown = *size <= 24 && at + 24 < file.size;
            return of_data(*size < 24 ? 0 : *size - 24, align, unknown);
        }
        if (*size < 24) break;
        at += static_cast<std::int64_t>((*size + 7) & ~std::uint64_t{7});
    }
    return {};
}

HeaderPromise of_aiff(const Bytes& file) {
    std::int64_t at = 12;
    for (int chunk = 0; chunk < most_chunks && at + 8 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 4, true);
        if (!size) break;
        if (file.is(at, "COMM")) {
            const auto frames = file.number(at + 10, 4, true);
            if (!frames) return {};
            if (*frames == 0xFFFFFFFF || *frames == 0) return {std::nullopt, true};
            return {static_cast<Frame>(*frames), false};
        }
        at += 8 + static_cast<std::int64_t>(*size + (*size & 1U));
    }
    return {};
}

HeaderPromise of_au(const Bytes& file, bool big) {
    const auto size = file.number(8, 4, big), encoding = file.number(12, 4, big),
               channels = file.number(20, 4, big);
    if (!size || !encoding || !channels) return {};
    std::uint64_t bytes = 0;
    switch (*encoding) { // the sample sizes of the encodings that have one
    case 1: case 2: case 27: bytes = 1; break;
    case 3: bytes = 2; break;
    case 4: bytes = 3; break;
    case 5: case 6: bytes = 4; break;
    case 7: bytes = 8; break;
    default: return {};
    }
    return of_data(*size, bytes * *channels, *size == 0xFFFFFFFF);
}

HeaderPromise of_caf(const Bytes& file) {
    std::uint64_t packet = 0;
    std::int64_t at = 8;
    for (int chunk = 0; chunk < most_chunks && at + 12 <= file.size; ++chunk) {
        const auto size = file.number(at + 4, 8, true);
        if (!size) break;
        if (file.is(at, "desc")) packet = file.number(at + 28, 4, true).value_or(0);
        if (file.is(at, "data")) return of_data(*size < 4 ? 0 : *size - 4, packet, *size == ~std::uint64_t{0});
        if (*size > std::uint64_t{1} << 62U) break;
        at += 12 + static_cast<std::int64_t>(*size);
    }
    return {};
}

HeaderPromise of_flac(const Bytes& file) {
    const auto packed = file.number(18, 8, true); // rate 20 bits, channels 3, bits 5, samples 36
    if (!packed) return {};
    const auto frames = static_cast<Frame>(*packed & ((std::uint64_t{1} << 36U) - 1));
    if (frames == 0) return {std::nullopt, true};
    return {frames, false};
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
