// SPDX-License-Identifier: GPL-3.0-or-later
//
// Detection time per original sample: on quiet noise (cheap tests), and with a group of knocks and
// a voice every twenty seconds (costly analysis).
#include "../detect/listening.hpp"
#include "../detect/sounds.hpp"

#include <benchmark/benchmark.h>

namespace {

constexpr double seconds = 60.0;

std::vector<float> scene(bool busy) {
    std::vector<float> x = lull::test::white(1, seconds, 0.01);
    for (double t = 5.0; busy && t < seconds - 10.0; t += 20.0) {
        for (int i = 0; i < 4; ++i)
            lull::test::add(x, lull::test::knock(), t + 0.6 * i, 0.02);
        lull::test::add(x, lull::test::sung(180.0, 2.0), t + 6.0, 0.02);
    }
    return x;
}

void search(benchmark::State& state, bool busy) {
    const std::vector<float> x = scene(busy);
    lull::test::Listening listening({x}, lull::test::rate_hz);
    for (auto _ : state)
        benchmark::DoNotOptimize(listening.arrivals());
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(x.size()));
    state.counters["per_sample"] =
        benchmark::Counter(static_cast<double>(state.iterations()) * static_cast<double>(x.size()),
                           benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}

BENCHMARK_CAPTURE(search, quiet, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(search, busy, true)->Unit(benchmark::kMillisecond);

} // namespace
