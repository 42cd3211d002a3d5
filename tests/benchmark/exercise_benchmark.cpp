// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/scene.hpp"

#include <benchmark/benchmark.h>

#include <fmt/format.h>

namespace {

/// Six channels at 16 kHz over a busy site with an event every 20 s. Measures seconds of scene per
/// second.
void scene_of_six_channels(benchmark::State& state) {
    lull::Plan plan;
    plan.duration_s = 600.0;
    for (int c = 0; c < 6; ++c) {
        lull::PlanChannel channel;
        channel.name = fmt::format("corner-{}", c + 1);
        channel.position_m = {3.0 * c, 5.0 * (c % 2), 0.0};
        plan.channels.push_back(channel);
    }
    for (const auto kind :
         {lull::LayerKind::ambient, lull::LayerKind::generator, lull::LayerKind::rain,
          lull::LayerKind::drips, lull::LayerKind::footsteps, lull::LayerKind::hand_tools}) {
        lull::SiteLayer layer;
        layer.kind = kind;
        plan.site.push_back(layer);
    }
    lull::PlanEvent event;
    event.kinds = {lull::Sound::knocks, lull::Sound::call};
    event.repeat = 30;
    event.time_s = lull::Range(2.0, 590.0);
    plan.events = {event};
    for (auto _ : state) {
        lull::Scene scene(plan, 1);
        lull::Block block;
        for (lull::Frame first = 0; first < scene.frames(); first += 64000)
            scene.render(first, 64000, block);
        benchmark::DoNotOptimize(block.samples.data());
    }
    state.counters["times_real_time"] =
        benchmark::Counter(plan.duration_s, benchmark::Counter::kIsIterationInvariantRate);
}

BENCHMARK(scene_of_six_channels)->Unit(benchmark::kMillisecond);

} // namespace
