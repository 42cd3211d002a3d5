// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/plain_pcm.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>

namespace lull {
namespace {

// A block of interleaved bytes that stays in the first-level cache while the tracks are extracted
// one by one.
constexpr Frame cached_bytes = 16384;

std::uint32_t little_endian(const unsigned char* bytes) {
    if constexpr (std::endian::native == std::endian::little) {
        std::uint32_t word = 0;
        std::memcpy(&word, bytes, sizeof word);
        return word;
    } else {
        return bytes[0] | bytes[1] << 8U | bytes[2] << 16U |
               static_cast<std::uint32_t>(bytes[3]) << 24U;
    }
}

/// Shifts a sample's bits to the top of a word, which gives its sign, and scales the word by 2^-31.
/// The word that is read extends beyond the sample; the shift removes the other bytes.
template <int sample_bytes>
void decode_track(const unsigned char* in, Frame frames, Frame stride, float scale, float* out) {
    for (Frame n = 0; n < frames; ++n, in += stride) {
        std::uint32_t word = 0;
        if constexpr (sample_bytes == 3)
            word = little_endian(in) << 8U;
        else
            word = (static_cast<std::uint32_t>(in[0]) | static_cast<std::uint32_t>(in[1]) << 8U)
                   << 16U;
        out[n] = scale * static_cast<float>(static_cast<std::int32_t>(word));
    }
}

void copy_track(const unsigned char* in, Frame frames, Frame stride, float sign, float* out) {
    for (Frame n = 0; n < frames; ++n, in += stride) {
        float sample = 0.0F;
        std::memcpy(&sample, in, sizeof sample);
        out[n] = sign * sample;
    }
}

} // namespace

void decode_plain_pcm(const unsigned char* bytes, Frame frames, int tracks, int sample_bytes,
                      std::span<const TrackTarget> targets) {
    constexpr float unit = 1.0F / 2147483648.0F;
    const Frame stride = Frame{tracks} * sample_bytes;
    const Frame step = std::max<Frame>(1, cached_bytes / stride);
    for (Frame first = 0; first < frames; first += step) {
        const Frame count = std::min(step, frames - first);
        for (const TrackTarget& target : targets) {
            const unsigned char* in = bytes + first * stride + target.track * sample_bytes;
            if (sample_bytes == 4)
                copy_track(in, count, stride, target.sign, target.samples + first);
            else if (sample_bytes == 3)
                decode_track<3>(in, count, stride, target.sign * unit, target.samples + first);
            else
                decode_track<2>(in, count, stride, target.sign * unit, target.samples + first);
        }
    }
}

void deinterleave(const float* interleaved, Frame frames, int tracks,
                  std::span<const TrackTarget> targets) {
    for (const TrackTarget& target : targets) {
        const float* in = interleaved + target.track;
        for (Frame n = 0; n < frames; ++n, in += tracks)
            target.samples[n] = target.sign * *in;
    }
}

} // namespace lull
