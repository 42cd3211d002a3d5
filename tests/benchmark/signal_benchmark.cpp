// SPDX-License-Identifier: GPL-3.0-or-later
//
// The cost of each stage of lib/signal. "per_sample" counts every sample of every channel. Six
// channels at 16 kHz in blocks of 16384 frames unless the name says otherwise.
#include "signal/butterworth.hpp"
#include "signal/hum_removal.hpp"
#include "signal/level_tracker.hpp"
#include "signal/section_filter.hpp"
#include "signal/spectrum_tracker.hpp"
#include "signal/third_octave.hpp"

#include <benchmark/benchmark.h>

#include <cmath>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr Frame block_frames = 16384;

Block noise(int channels) {
    std::mt19937 generator(1);
    std::normal_distribution<float> normal(0.0F, 0.1F);
    Block block;
    block.channels = channels;
    block.frames = block_frames;
    block.samples.resize(static_cast<std::size_t>(channels * block_frames));
    for (float& x : block.samples)
        x = normal(generator);
    return block;
}

void count(benchmark::State& state, const Block& block) {
    const double samples =
        static_cast<double>(state.iterations()) * static_cast<double>(block.samples.size());
    state.counters["per_sample"] =
        benchmark::Counter(samples, benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}

void band_pass(benchmark::State& state) {
    Block block = noise(static_cast<int>(state.range(0)));
    SectionFilter filter(butterworth_bandpass(4, {60.0, 2000.0}, rate_hz), block.channels);
    filter.prime(block);
    for (auto _ : state) {
        filter.push(block);
        benchmark::DoNotOptimize(block.samples.data());
    }
    count(state, block);
}
BENCHMARK(band_pass)->ArgName("channels")->Arg(1)->Arg(3)->Arg(6)->Arg(8)->Arg(12);

/// A tracker that is emptied from time to time, as at the end of every unit of work.
template <class Tracker>
void track(benchmark::State& state) {
    const Block block = noise(static_cast<int>(state.range(0)));
    for (auto _ : state) {
        Tracker tracker(block.channels, rate_hz, 0);
        for (int n = 0; n < 20; ++n)
            tracker.push(block);
        benchmark::DoNotOptimize(tracker.take());
    }
    count(state, block);
    state.counters["per_sample"].value *= 20.0;
}
BENCHMARK(track<LevelTracker>)->ArgName("channels")->Arg(6);
BENCHMARK(track<SpectrumTracker>)->ArgName("channels")->Arg(1)->Arg(6);
BENCHMARK(track<ThirdOctaveBank>)->ArgName("channels")->Arg(1)->Arg(6)->Arg(8);

/// With and without hum.
void hum_removal(benchmark::State& state) {
    Block block = noise(1);
    std::vector<float> samples;
    for (int n = 0; n < 10; ++n)
        samples.insert(samples.end(), block.samples.begin(), block.samples.end());
    for (std::size_t i = 0; i < samples.size(); ++i)
        samples[i] += static_cast<float>(state.range(0)) *
                      std::sin(2.0F * 3.14159265F * 50.03F / 16000.0F * static_cast<float>(i));
    const auto frames = static_cast<Frame>(samples.size());
    for (auto _ : state)
        benchmark::DoNotOptimize(hum_in(samples, 0, 0, frames, rate_hz, std::nullopt));
    count(state, block);
    state.counters["per_sample"].value *= 10.0;
}
BENCHMARK(hum_removal)->ArgName("hum")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);

void real_fft(benchmark::State& state) {
    const Block block = noise(1);
    const RealFft fft(static_cast<std::size_t>(state.range(0)));
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (auto _ : state) {
        fft.forward(std::span(block.samples).first(fft.size()), spectrum);
        benchmark::DoNotOptimize(spectrum.data());
    }
    const double samples =
        static_cast<double>(state.iterations()) * static_cast<double>(fft.size());
    state.counters["per_sample"] =
        benchmark::Counter(samples, benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}
BENCHMARK(real_fft)->ArgName("size")->Arg(256)->Arg(1024)->Arg(16384);

} // namespace
} // namespace lull
