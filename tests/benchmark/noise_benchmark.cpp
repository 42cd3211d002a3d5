// SPDX-License-Identifier: GPL-3.0-or-later
//
// Speed of noise floor and channel health, in samples a second.
#include "health/health.hpp"
#include "noise/floor.hpp"
#include "signal/third_octave.hpp"

#include <benchmark/benchmark.h>

#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr double length_s = 300.0;
constexpr std::size_t spectrum_bands = 10;

/// The level track and ten spectrum bands of one unit of work of one channel.
void floors_of_a_unit(benchmark::State& state) {
    std::mt19937_64 random(1);
    std::gamma_distribution<float> power(2.0F, 0.5F);
    LevelTrack level;
    level.hop = static_cast<Frame>(level_hop_s * rate_hz);
    level.power.resize(static_cast<std::size_t>(length_s / level_hop_s));
    for (float& p : level.power)
        p = power(random);
    SpectrumTrack spectrum;
    spectrum.hop = static_cast<Frame>(spectrum_hop_s * rate_hz);
    for (std::size_t b = 0; b <= spectrum_bands; ++b)
        spectrum.edges_hz.push_back(200.0 * static_cast<double>(b));
    spectrum.power.resize(static_cast<std::size_t>(length_s / spectrum_hop_s) * spectrum_bands);
    for (float& p : spectrum.power)
        p = power(random);
    for (auto _ : state) {
        benchmark::DoNotOptimize(noise_floor(level, rate_hz));
        benchmark::DoNotOptimize(band_floors(spectrum, rate_hz));
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(length_s * rate_hz));
}
BENCHMARK(floors_of_a_unit)->Unit(benchmark::kMillisecond);

/// The third octaves of one unit of work of one channel, a tenth of the time 20 dB higher.
void floors_of_third_octaves(benchmark::State& state) {
    std::mt19937_64 random(1);
    const auto hop = static_cast<Frame>(third_octave_step_s * rate_hz);
    const std::vector<double> centres = third_octave_centres(25.0, 0.4 * rate_hz);
    std::vector<std::vector<float>> bands;
    for (const double mid_hz : centres) {
        std::gamma_distribution<float> power(static_cast<float>(0.023 * mid_hz), 1.0F);
        std::vector<float>& band = bands.emplace_back();
        for (int i = 0; i < static_cast<int>(length_s / third_octave_step_s); ++i)
            band.push_back(power(random) * (i % 40 < 4 ? 100.0F : 1.0F));
    }
    for (auto _ : state)
        for (std::size_t b = 0; b < bands.size(); ++b)
            benchmark::DoNotOptimize(
                noise_floor(bands[b], 0, hop, rate_hz, {}, 0.2307 * centres[b]));
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(length_s * rate_hz));
}
BENCHMARK(floors_of_third_octaves)->Unit(benchmark::kMillisecond);

void health_of_a_channel(benchmark::State& state) {
    std::mt19937_64 random(1);
    std::normal_distribution<float> normal(0.0F, 0.01F);
    Block block;
    block.frames = 16384;
    block.channels = 1;
    for (Frame i = 0; i < block.frames; ++i)
        block.samples.push_back(normal(random));
    HealthMeter meter(1, rate_hz);
    for (auto _ : state) {
        meter.push(block, 0, block.first + block.frames);
        block.first += block.frames;
    }
    state.SetItemsProcessed(state.iterations() * block.frames);
}
BENCHMARK(health_of_a_channel)->Unit(benchmark::kMicrosecond);

} // namespace
} // namespace lull
