// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/section_filter.hpp"

#include "clones.hpp"
#include "signal/internal/transpose.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

namespace lull {
namespace {

constexpr int tile_frames = 64;
constexpr int lane_count = 8;

/// Half the lanes: as much as a register of AVX2 holds. Of wider vectors the compiler makes
/// detours through memory.
constexpr int half_count = 4;
using Lanes = double __attribute__((vector_size(half_count * sizeof(double))));
using Floats = float __attribute__((vector_size(half_count * sizeof(float))));

/// Runs `count` sections over a tile of frames, half the lanes, in transposed direct form II.
/// Sections run together, since each waits for its own last result.
template <int count>
inline __attribute__((always_inline)) void run_half(const Section* sections, Lanes* values,
                                                    int frames, Lanes* state) {
    Lanes z1[count], z2[count];
    for (int s = 0; s < count; ++s) {
        z1[s] = state[4 * s];
        z2[s] = state[4 * s + 2];
    }
    for (int n = 0; n < frames; ++n) {
        Lanes x = values[2 * n];
        for (int s = 0; s < count; ++s) {
            const Section& q = sections[s];
            const Lanes y = q.b0 * x + z1[s];
            z1[s] = q.b1 * x - q.a1 * y + z2[s];
            z2[s] = q.b2 * x - q.a2 * y;
            x = y;
        }
        values[2 * n] = x;
    }
    for (int s = 0; s < count; ++s) {
        state[4 * s] = z1[s];
        state[4 * s + 2] = z2[s];
    }
}

template <int count>
inline __attribute__((always_inline)) void run_together(const Section* sections, double* tile,
                                                        int frames, double* states) {
    auto* values = reinterpret_cast<Lanes*>(tile);
    auto* state = reinterpret_cast<Lanes*>(states);
    for (int half = 0; half < 2; ++half)
        run_half<count>(sections, values + half, frames, state + half);
}

LULL_CLONES void run_four(const Section* sections, double* tile, int frames, double* states) {
    run_together<4>(sections, tile, frames, states);
}
LULL_CLONES void run_one(const Section* sections, double* tile, int frames, double* states) {
    run_together<1>(sections, tile, frames, states);
}

/// Puts `frames` of the channels from `at` on side by side. A lane without a channel is 0.
LULL_CLONES void to_lanes(float* const* channels, int used, Frame at, int frames, double* tile) {
    int n = 0;
    for (; n + lane_count <= frames; n += lane_count) {
        FloatLanes rows[lane_count];
        for (int l = 0; l < lane_count; ++l) { // all of them, so that rows stay in registers
            rows[l] = FloatLanes{};
            if (l < used) std::memcpy(&rows[l], channels[l] + at + n, sizeof rows[l]);
        }
        transpose(rows);
        auto* values = reinterpret_cast<Lanes*>(tile + n * lane_count);
        for (const FloatLanes& row : rows) {
            const Floats low = __builtin_shufflevector(row, row, 0, 1, 2, 3);
            const Floats high = __builtin_shufflevector(row, row, 4, 5, 6, 7);
            *values++ = __builtin_convertvector(low, Lanes);
            *values++ = __builtin_convertvector(high, Lanes);
        }
    }
    for (; n < frames; ++n)
        for (int l = 0; l < used; ++l)
            tile[n * lane_count + l] = static_cast<double>(channels[l][at + n]);
}

LULL_CLONES void from_lanes(const double* tile, int used, Frame at, int frames,
                            float* const* channels) {
    int n = 0;
    for (; n + lane_count <= frames; n += lane_count) {
        FloatLanes rows[lane_count];
        const auto* values = reinterpret_cast<const Lanes*>(tile + n * lane_count);
        for (FloatLanes& row : rows) {
            const Floats low = __builtin_convertvector(*values++, Floats);
            const Floats high = __builtin_convertvector(*values++, Floats);
            row = __builtin_shufflevector(low, high, 0, 1, 2, 3, 4, 5, 6, 7);
        }
        transpose(rows);
        for (int l = 0; l < used; ++l)
            std::memcpy(channels[l] + at + n, &rows[l], sizeof rows[l]);
    }
    for (; n < frames; ++n)
        for (int l = 0; l < used; ++l)
            channels[l][at + n] = static_cast<float>(tile[n * lane_count + l]);
}

/// Smaller states are set to exactly zero, since denormal arithmetic is slow.
constexpr double silence = 1e-30;

} // namespace

SectionFilter::SectionFilter(Sections sections, int channels)
    : sections_(std::move(sections)), channels_(channels),
      states_(static_cast<std::size_t>((channels + lanes - 1) / lanes) * sections_.size()) {}

void SectionFilter::push_lanes(std::span<float* const> channels, Frame frames, State* states) {
    alignas(2 * sizeof(Lanes)) double tile[tile_frames * lanes] = {};
    const int used = static_cast<int>(channels.size());
    // Tiles lie on a raster from the stream's first frame, since states are checked for silence at
    // their ends. So all block sizes give the same bytes.
    Frame into_tile = at_ % tile_frames;
    for (Frame at = 0; at < frames;) {
        const int count = static_cast<int>(std::min<Frame>(tile_frames - into_tile, frames - at));
        to_lanes(channels.data(), used, at, count, tile);
        std::size_t s = 0;
        for (; s + 4 <= sections_.size(); s += 4)
            run_four(&sections_[s], tile, count, states[s].one.data());
        for (; s < sections_.size(); ++s)
            run_one(&sections_[s], tile, count, states[s].one.data());
        from_lanes(tile, used, at, count, channels.data());
        at += count;
        into_tile = (into_tile + count) % tile_frames;
        if (into_tile != 0) continue;
        for (s = 0; s < sections_.size(); ++s)
            for (int l = 0; l < lanes; ++l) {
                double& one = states[s].one[static_cast<std::size_t>(l)];
                double& two = states[s].two[static_cast<std::size_t>(l)];
                if (std::abs(one) < silence && std::abs(two) < silence) one = two = 0.0;
            }
    }
}

void SectionFilter::push(Block& block) {
    if (sections_.empty()) return; // passes everything
    for (int first = 0; first < channels_; first += lanes) {
        std::array<float*, lanes> pointers{};
        const int used = std::min(lanes, channels_ - first);
        for (int l = 0; l < used; ++l)
            pointers[static_cast<std::size_t>(l)] = block.channel(first + l).data();
        push_lanes({pointers.data(), static_cast<std::size_t>(used)}, block.frames,
                   &states_[static_cast<std::size_t>(first / lanes) * sections_.size()]);
    }
    at_ += block.frames;
}

void SectionFilter::push(std::span<float> samples) {
    if (sections_.empty()) return; // passes everything
    float* const pointer = samples.data();
    push_lanes({&pointer, 1}, static_cast<Frame>(samples.size()), states_.data());
    at_ += static_cast<Frame>(samples.size());
}

void SectionFilter::prime(const Block& block) {
    if (sections_.empty()) return; // passes everything
    if (block.frames == 0) return;
    for (int c = 0; c < channels_; ++c) {
        double value = block.channel(c)[0];
        State* states = &states_[static_cast<std::size_t>(c / lanes) * sections_.size()];
        const auto lane = static_cast<std::size_t>(c % lanes);
        for (std::size_t s = 0; s < sections_.size(); ++s) {
            const Section& q = sections_[s];
            // Steady state of the transposed form for a constant input.
            const double out = value * (q.b0 + q.b1 + q.b2) / (1.0 + q.a1 + q.a2);
            states[s].two[lane] = q.b2 * value - q.a2 * out;
            states[s].one[lane] = out - q.b0 * value;
            value = out;
        }
    }
}

void SectionFilter::prime(double first_value) {
    Block block;
    block.frames = 1;
    block.channels = 1;
    block.samples = {static_cast<float>(first_value)};
    prime(block);
}

std::vector<float> zero_phase(const Sections& sections, std::span<const float> samples,
                              std::size_t pad_frames) {
    if (samples.empty()) return {};
    const std::size_t pad = std::min(pad_frames, samples.size() - 1);
    std::vector<float> extended;
    extended.reserve(samples.size() + 2 * pad);
    for (std::size_t i = pad; i > 0; --i)
        extended.push_back(2.0F * samples.front() - samples[i]);
    extended.insert(extended.end(), samples.begin(), samples.end());
    for (std::size_t i = 1; i <= pad; ++i)
        extended.push_back(2.0F * samples.back() - samples[samples.size() - 1 - i]);
    for (int direction = 0; direction < 2; ++direction) {
        SectionFilter filter(sections, 1);
        filter.prime(extended.front());
        filter.push(extended);
        std::ranges::reverse(extended);
    }
    return {extended.begin() + static_cast<std::ptrdiff_t>(pad),
            extended.end() - static_cast<std::ptrdiff_t>(pad)};
}

} // namespace lull
