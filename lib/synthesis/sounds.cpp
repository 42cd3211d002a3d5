// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/sounds.hpp"

#include "error.hpp"
#include "recording/recording.hpp"
#include "synthesis/internal/textures.hpp"
#include "synthesis/resample.hpp"
#include "synthesis/strike.hpp"
#include "synthesis/voice.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double longest_speech_s = 20.0;

Emission knock_group(const DrawnEvent& event, double rate_hz) {
    Random random = event.shape;
    const Struck struck = draw_struck(event.material, random);
    Emission emission;
    double at_s = 0.0;
    for (int i = 0; i < event.count; ++i) {
        add_to(emission.samples, strike(struck, random, rate_hz), std::round(at_s * rate_hz));
        emission.strikes_s.push_back(std::round(at_s * rate_hz) / rate_hz);
        at_s += event.interval_s * std::max(0.3, 1.0 + event.unevenness * random.normal());
    }
    return emission;
}

std::vector<float> spoken(const DrawnEvent& event, double rate_hz) {
    const auto recording = open_recording(event.file, {});
    if (recording->duration_s() > longest_speech_s || recording->frames == 0) {
        throw_input(event.file, "", "too long or empty for one event", "speech of at most 20 s");
    }
    Block block;
    recording->open()->read(0, recording->frames, block);
    const auto first = block.channel(0);
    auto samples = resample(first, recording->rate_hz, rate_hz);
    const auto [begin, end] = extent(samples, rate_hz, 40.0);
    return {samples.begin() + static_cast<std::ptrdiff_t>(begin),
            samples.begin() + static_cast<std::ptrdiff_t>(end)};
}

} // namespace

bool sounds_in_air(Sound sound) {
    return sound != Sound::knocks && sound != Sound::scratching && sound != Sound::movement;
}

EventKind kind_of(Sound sound) {
    switch (sound) {
    case Sound::knocks:
        return EventKind::tapping;
    case Sound::scratching:
    case Sound::movement:
        return EventKind::other;
    case Sound::horn:
    case Sound::whistle:
        return EventKind::horn;
    default:
        return EventKind::voice_like;
    }
}

LevelRule level_rule_of(Sound sound) {
    return kind_of(sound) == EventKind::voice_like ? LevelRule::louder_half
                                                   : LevelRule::peak_energy;
}

Emission emit(const DrawnEvent& event, double rate_hz) {
    Random random = event.shape;
    switch (event.sound) {
    case Sound::knocks:
        return knock_group(event, rate_hz);
    case Sound::scratching:
        return {scratching(event.duration_s, random, rate_hz), {}};
    case Sound::movement:
        return {movement(event.duration_s, random, rate_hz), {}};
    case Sound::speech:
        return {spoken(event, rate_hz), {}};
    case Sound::horn:
        return {horn_blast(event.duration_s, random, rate_hz), {}};
    case Sound::whistle:
        return {whistle_blast(event.duration_s, random, rate_hz), {}};
    default:
        return {utter(event.sound, event.duration_s, random, rate_hz), {}};
    }
}

bool site_sounds_in_air(LayerKind kind) {
    return kind == LayerKind::radio;
}

std::vector<float> site_sound(LayerKind kind, Random random, double rate_hz) {
    switch (kind) {
    case LayerKind::drips:
        return drip(random, rate_hz);
    case LayerKind::clock:
        return tick(random, rate_hz);
    case LayerKind::footsteps:
        return footstep(random, rate_hz);
    case LayerKind::radio:
        return radio_message(random, rate_hz);
    case LayerKind::debris:
        return slide(random, rate_hz);
    default: {
        const Struck struck =
            draw_struck(random.uniform() < 0.5 ? Material::concrete : Material::brick, random);
        return strike(struck, random, rate_hz);
    }
    }
}

} // namespace lull
