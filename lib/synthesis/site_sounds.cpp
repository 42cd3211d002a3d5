// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/site_sounds.hpp"

#include "synthesis/course.hpp"
#include "synthesis/sounds.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

bool is_single(LayerKind kind) {
    switch (kind) {
    case LayerKind::drips:
    case LayerKind::clock:
    case LayerKind::footsteps:
    case LayerKind::hand_tools:
    case LayerKind::breaker:
    case LayerKind::radio:
    case LayerKind::debris:
        return true;
    default:
        return false;
    }
}

/// Draws a place, away from the middle of the sensors, when the plan gives none.
Position place_near(const Plan& plan, Random& random, double least_m, double most_m) {
    Position middle{};
    for (const PlanChannel& channel : plan.channels) {
        for (std::size_t axis = 0; axis < 3; ++axis)
            middle[axis] += channel.position_m[axis] / static_cast<double>(plan.channels.size());
    }
    const double bearing = random.between(0.0, 2.0 * std::numbers::pi),
                 away_m = random.between(least_m, most_m);
    return {middle[0] + away_m * std::cos(bearing), middle[1] + away_m * std::sin(bearing),
            middle[2]};
}

} // namespace

SiteSounds::Rhythm SiteSounds::rhythm_of(const SiteLayer& site) {
    switch (site.kind) {
    case LayerKind::drips:
        return {site.interval_s.value_or(1.4), 0.15, 0.96, 0.0, 1.0, 5, 1.5};
    case LayerKind::clock:
        return {site.interval_s.value_or(1.0), 0.003, 1.0, 0.0, 1.0, 2, 0.3};
    case LayerKind::footsteps:
        return {0.56, 0.2, 1.0, 7.0, 0.4, 8, 2.0};
    case LayerKind::hand_tools:
        return {0.55, 0.4, 0.9, 9.0, 0.5, 6, 2.5};
    case LayerKind::breaker:
        return {1.0 / 18.0, 0.2, 1.0, 6.0, 0.6, 4, 1.0};
    case LayerKind::radio:
        return {site.interval_s.value_or(14.0), 0.7, 0.6, 0.0, 1.0, 4, 2.0};
    default:
        return {site.interval_s.value_or(9.0), 0.9, 0.6, 0.0, 1.0, 6, 4.0};
    }
}

SiteSounds::SiteSounds(const Plan& plan, const Layout& layout, Random random) : plan_(plan) {
    for (std::size_t i = 0; i < plan.site.size(); ++i) {
        if (is_single(plan.site[i].kind)) add_layer(plan.site[i], layout, random.child(i));
    }
}

void SiteSounds::add_layer(const SiteLayer& site, const Layout& layout, Random random) {
    Layer layer;
    layer.site = &site;
    layer.rhythm = rhythm_of(site);
    layer.random = random;
    Random drawn = random.child("drawn");
    const bool far = site.kind == LayerKind::breaker || site.kind == LayerKind::hand_tools;
    const Position base = site.position_m
                              ? *site.position_m
                              : place_near(plan_, drawn, far ? 20.0 : 4.0, far ? 50.0 : 12.0);
    const double walk = drawn.between(0.0, 2.0 * std::numbers::pi);
    const bool in_air = site_sounds_in_air(site.kind);
    for (int v = 0; v < layer.rhythm.variants; ++v) {
        Position place = base;
        if (site.kind == LayerKind::footsteps) {
            place[0] += 0.7 * v * std::cos(walk);
            place[1] += 0.7 * v * std::sin(walk);
        }
        // The object stays the same, except where each sound has its own.
        const bool changes = site.kind == LayerKind::radio || site.kind == LayerKind::debris ||
                             site.kind == LayerKind::footsteps;
        const Random shape =
            changes ? drawn.child(static_cast<std::uint64_t>(v)) : drawn.child("object");
        std::vector<Path> paths;
        for (std::size_t c = 0; c < plan_.channels.size(); ++c)
            paths.push_back(path_between(plan_, layout, place, in_air, c));
        layer.variants.push_back(
            travel(site_sound(site.kind, shape, plan_.rate_hz), 0.0, paths, plan_.rate_hz));
        layer.places.push_back(place);
    }
    bring_to_level(layer, drawn.between(site.level_db.low, site.level_db.high));
    layers_.push_back(std::move(layer));
}

void SiteSounds::bring_to_level(Layer& layer, double level_db) const {
    const Band band = default_band(plan_.rate_hz);
    layer.energy.assign(plan_.channels.size(), 0.0);
    std::vector<double> peak(plan_.channels.size(), 0.0);
    for (auto& variant : layer.variants) {
        for (std::size_t c = 0; c < variant.size(); ++c) {
            const auto& names = layer.site->channels;
            const bool heard = names.empty() || std::find(names.begin(), names.end(),
                                                          plan_.channels[c].name) != names.end();
            if (!heard) std::fill(variant[c].samples.begin(), variant[c].samples.end(), 0.0F);
            const auto banded = in_band(variant[c].samples, plan_.rate_hz, band);
            peak[c] += level_power(banded, plan_.rate_hz, LevelRule::peak_energy);
            for (const float value : banded)
                layer.energy[c] += static_cast<double>(value) * static_cast<double>(value);
            layer.longest = std::max(
                layer.longest, variant[c].first + static_cast<Frame>(variant[c].samples.size()));
        }
    }
    layer.loudest =
        static_cast<std::size_t>(std::max_element(peak.begin(), peak.end()) - peak.begin());
    const double count = static_cast<double>(layer.variants.size());
    const double scale =
        peak[layer.loudest] > 0.0 ? db_to_power(level_db) * count / peak[layer.loudest] : 0.0;
    for (double& energy : layer.energy)
        energy *= scale / count;
    for (auto& variant : layer.variants) {
        for (Heard& heard : variant) {
            for (float& value : heard.samples)
                value *= static_cast<float>(std::sqrt(scale));
        }
    }
}

bool SiteSounds::active(const Layer& layer, double time_s) const {
    const SiteLayer& site = *layer.site;
    if (time_s < site.from_s || time_s >= site.to_s || silenced(plan_, site, time_s)) return false;
    if (layer.rhythm.bout_s <= 0.0) return true;
    const auto bout = static_cast<std::uint64_t>(time_s / layer.rhythm.bout_s);
    return layer.random.child("bout").child(bout).uniform() < layer.rhythm.duty;
}

bool SiteSounds::draw(const Layer& layer, std::int64_t slot, Occurrence& occurrence) const {
    if (slot < 0) return false;
    Random random = layer.random.child("slot").child(static_cast<std::uint64_t>(slot));
    const Rhythm& rhythm = layer.rhythm;
    const double time_s =
        (static_cast<double>(slot) + 0.5 + rhythm.jitter * (random.uniform() - 0.5)) *
        rhythm.slot_s;
    const bool happens = random.uniform() < rhythm.chance;
    occurrence.start = static_cast<Frame>(std::floor(time_s * plan_.rate_hz));
    // Walking uses the variants in turn; other layers draw them.
    const auto variants = static_cast<std::int64_t>(layer.variants.size());
    const int any = random.whole(0, static_cast<int>(variants) - 1);
    occurrence.variant = layer.site->kind == LayerKind::footsteps
                             ? static_cast<std::size_t>(slot % variants)
                             : static_cast<std::size_t>(any);
    occurrence.gain = static_cast<float>(db_to_amplitude(rhythm.spread_db * random.normal()));
    return happens && active(layer, time_s);
}

void SiteSounds::add(Frame first, std::size_t channel, std::span<float> out,
                     bool dense_only) const {
    const auto end = first + static_cast<Frame>(out.size());
    for (const Layer& layer : layers_) {
        if (dense_only && !layer.dense()) continue;
        const double slot_frames = layer.rhythm.slot_s * plan_.rate_hz;
        const auto from =
            static_cast<std::int64_t>(static_cast<double>(first - layer.longest) / slot_frames) - 1;
        const auto to = static_cast<std::int64_t>(static_cast<double>(end) / slot_frames) + 1;
        for (std::int64_t slot = from; slot <= to; ++slot) {
            Occurrence occurrence;
            if (!draw(layer, slot, occurrence)) continue;
            const Heard& heard = layer.variants[occurrence.variant][channel];
            const Frame begin = occurrence.start + heard.first;
            const Frame low = std::max(first, begin),
                        high = std::min(end, begin + static_cast<Frame>(heard.samples.size()));
            for (Frame n = low; n < high; ++n) {
                out[static_cast<std::size_t>(n - first)] +=
                    occurrence.gain * heard.samples[static_cast<std::size_t>(n - begin)];
            }
        }
    }
}

double SiteSounds::floor_power(std::size_t channel, Frame frame) const {
    double power = 0.0;
    for (const Layer& layer : layers_) {
        if (!layer.dense() || !active(layer, static_cast<double>(frame) / plan_.rate_hz)) continue;
        power +=
            layer.energy[channel] * layer.rhythm.chance / (layer.rhythm.slot_s * plan_.rate_hz);
    }
    return power;
}

void SiteSounds::list(double from_s, double to_s,
                      const std::function<void(const SiteSound&)>& each) const {
    for (const Layer& layer : layers_) {
        const double step_s = layer.dense() ? layer.rhythm.bout_s : layer.rhythm.slot_s;
        // What began before from_s may still be heard after it.
        const double reach_s = static_cast<double>(layer.longest) / plan_.rate_hz;
        const auto first = static_cast<std::int64_t>(std::max(0.0, from_s - reach_s) / step_s);
        const auto to = static_cast<std::int64_t>(to_s / step_s);
        for (auto slot = first; slot <= to; ++slot) {
            SiteSound sound{static_cast<double>(slot) * step_s, 0.0, layer.site->kind,
                            layer.loudest, layer.places[0]};
            Occurrence occurrence;
            if (layer.dense()) {
                if (!active(layer, sound.time_s + 1e-6)) continue;
                sound.end_s = sound.time_s + step_s;
            } else {
                if (!draw(layer, slot, occurrence)) continue;
                const Heard& heard = layer.variants[occurrence.variant][layer.loudest];
                const auto [begin, end] = extent(heard.samples, plan_.rate_hz, 20.0);
                const double start = static_cast<double>(occurrence.start + heard.first);
                sound.time_s = (start + static_cast<double>(begin)) / plan_.rate_hz;
                sound.end_s = (start + static_cast<double>(end)) / plan_.rate_hz;
                sound.position_m = layer.places[occurrence.variant];
            }
            if (sound.time_s >= from_s && sound.time_s < to_s) each(sound);
        }
    }
}

} // namespace lull
