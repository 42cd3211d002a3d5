// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/internal/third_octave_band.hpp"

#include "clones.hpp"
#include "signal/butterworth.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr int sections = ThirdOctaveBand::sections;
/// smaller states are set to 0, since denormal arithmetic is slow
constexpr float silence = 1e-20F;

void quieten(float (&state)[sections][float_lanes]) {
    for (auto& lanes : state)
        for (float& value : lanes)
            if (std::fabs(value) < silence) value = 0.0F;
}

/// Transposed direct form II of (1 - z^-2) / (1 + a1 z^-1 + a2 z^-2), with the state's sign
/// inverted. Runs `count` bands together: each waits for its own last result, and the others fill
/// the gaps.
template <int count>
inline __attribute__((always_inline)) void run_together(ThirdOctaveBand* bands, const float* tile,
                                                        int frames) {
    FloatLanes z1[count][sections], z2[count][sections], squares[count] = {};
    for (int b = 0; b < count; ++b)
        for (int s = 0; s < sections; ++s) {
            z1[b][s] = *reinterpret_cast<const FloatLanes*>(bands[b].one[s]);
            z2[b][s] = *reinterpret_cast<const FloatLanes*>(bands[b].two[s]);
        }
    const auto* in = reinterpret_cast<const FloatLanes*>(tile);
    for (int n = 0; n < frames; ++n)
        for (int b = 0; b < count; ++b) {
            FloatLanes x = bands[b].gain * in[n];
            for (int s = 0; s < sections; ++s) {
                const FloatLanes y = x - z1[b][s];
                z1[b][s] = z2[b][s] + bands[b].a1[s] * y;
                z2[b][s] = x + bands[b].a2[s] * y;
                x = y;
            }
            squares[b] += x * x;
        }
    for (int b = 0; b < count; ++b) {
        for (int s = 0; s < sections; ++s) {
            *reinterpret_cast<FloatLanes*>(bands[b].one[s]) = z1[b][s];
            *reinterpret_cast<FloatLanes*>(bands[b].two[s]) = z2[b][s];
        }
        for (int l = 0; l < float_lanes; ++l)
            bands[b].sums[l] += static_cast<double>(squares[b][l]);
    }
}

LULL_CLONES void run_two(ThirdOctaveBand* bands, const float* tile, int frames) {
    run_together<2>(bands, tile, frames);
}
LULL_CLONES void run_one(ThirdOctaveBand* bands, const float* tile, int frames) {
    run_together<1>(bands, tile, frames);
}

} // namespace

ThirdOctaveBand::ThirdOctaveBand(std::size_t band_index, double mid_hz, double rate_hz)
    : band(band_index) {
    const double edge = std::pow(10.0, 0.05);
    const Sections design = butterworth_bandpass(sections, {mid_hz / edge, mid_hz * edge}, rate_hz);
    double product = 1.0;
    for (std::size_t s = 0; s < design.size(); ++s) {
        product *= design[s].b0;
        a1[s] = static_cast<float>(design[s].a1);
        a2[s] = static_cast<float>(design[s].a2);
    }
    gain = static_cast<float>(product);
}

void run_bands(std::span<ThirdOctaveBand> bands, const float* tile, int frames) {
    std::size_t b = 0;
    for (; b + 2 <= bands.size(); b += 2)
        run_two(&bands[b], tile, frames);
    for (; b < bands.size(); ++b)
        run_one(&bands[b], tile, frames);
    for (ThirdOctaveBand& band : bands) {
        quieten(band.one);
        quieten(band.two);
    }
}

} // namespace lull
