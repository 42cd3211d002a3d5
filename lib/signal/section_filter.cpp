// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/section_filter.hpp"

#include <algorithm>
#include <utility>

namespace lull {
namespace {

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define LULL_CLONES __attribute__((target_clones("default", "avx2", "avx512f")))
#else
#define LULL_CLONES
#endif

constexpr int tile_frames = 64;
constexpr int lane_count = 8;

/// One section over a tile of frames, all lanes: transposed direct form II.
LULL_CLONES void run_section(const Section& s, double* __restrict tile, int frames,
                             double* __restrict one, double* __restrict two) {
    double z1[lane_count], z2[lane_count];
    for (int l = 0; l < lane_count; ++l) {
        z1[l] = one[l];
        z2[l] = two[l];
    }
    for (int n = 0; n < frames; ++n) {
        double* x = tile + n * lane_count;
        for (int l = 0; l < lane_count; ++l) {
            const double in = x[l];
            const double out = s.b0 * in + z1[l];
            z1[l] = s.b1 * in - s.a1 * out + z2[l];
            z2[l] = s.b2 * in - s.a2 * out;
            x[l] = out;
        }
    }
    for (int l = 0; l < lane_count; ++l) {
        one[l] = z1[l];
        two[l] = z2[l];
    }
}

/// Below this a state is silence: kept exactly zero, since denormal arithmetic is slow.
constexpr double silence = 1e-30;

} // namespace

SectionFilter::SectionFilter(Sections sections, int channels)
    : sections_(std::move(sections)), channels_(channels),
      states_(static_cast<std::size_t>((channels + lanes - 1) / lanes) * sections_.size()) {}

void SectionFilter::push_lanes(std::span<float* const> channels, Frame frames, State* states) {
    double tile[tile_frames * lanes] = {};
    const int used = static_cast<int>(channels.size());
    for (Frame at = 0; at < frames; at += tile_frames) {
        const int count = static_cast<int>(std::min<Frame>(tile_frames, frames - at));
        for (int l = 0; l < used; ++l)
            for (int n = 0; n < count; ++n) tile[n * lanes + l] = channels[static_cast<std::size_t>(l)][at + n];
        for (std::size_t s = 0; s < sections_.size(); ++s)
            run_section(sections_[s], tile, count, states[s].one.data(), states[s].two.data());
        for (int l = 0; l < used; ++l)
            for (int n = 0; n < count; ++n)
                channels[static_cast<std::size_t>(l)][at + n] = static_cast<float>(tile[n * lanes + l]);
        for (std::size_t s = 0; s < sections_.size(); ++s)
            for (int l = 0; l < lanes; ++l) {
                double& one = states[s].one[static_cast<std::size_t>(l)];
                double& two = states[s].two[static_cast<std::size_t>(l)];
                if (std::abs(one) < silence && std::abs(two) < silence) one = two = 0.0;
            }
    }
}

void SectionFilter::push(Block& block) {
    for (int first = 0; first < channels_; first += lanes) {
        std::array<float*, lanes> pointers{};
        const int used = std::min(lanes, channels_ - first);
        for (int l = 0; l < used; ++l) pointers[static_cast<std::size_t>(l)] = block.channel(first + l).data();
        push_lanes({pointers.data(), static_cast<std::size_t>(used)}, block.frames,
                   &states_[static_cast<std::size_t>(first / lanes) * sections_.size()]);
    }
}

void SectionFilter::push(std::span<float> samples) {
    float* const pointer = samples.data();
    push_lanes({&pointer, 1}, static_cast<Frame>(samples.size()), states_.data());
}

void SectionFilter::prime(const Block& block) {
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
    for (std::size_t i = pad; i > 0; --i) extended.push_back(2.0F * samples.front() - samples[i]);
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
