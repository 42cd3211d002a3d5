// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/internal/textures.hpp"

#include "synthesis/strike.hpp"
#include "synthesis/voice.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

using std::numbers::pi;

std::size_t frames_of(double seconds, double rate_hz) {
    return static_cast<std::size_t>(std::max(1.0, seconds * rate_hz));
}

/// An envelope: 0 at both ends, 1 between, with raised-cosine edges.
double swell(std::size_t n, std::size_t count, double edge_frames) {
    const double from_end =
        std::min(static_cast<double>(n) + 0.5, static_cast<double>(count - n) - 0.5);
    return from_end >= edge_frames ? 1.0 : 0.5 - 0.5 * std::cos(pi * from_end / edge_frames);
}

/// Noise through one resonance with drawn centre and bandwidth, granular like rough surfaces.
std::vector<float> scrape(double seconds, double middle_hz, Random& random, double rate_hz) {
    const std::size_t count = frames_of(seconds, rate_hz);
    std::vector<float> out(count);
    const double middle = std::min(middle_hz, 0.4 * rate_hz),
                 radius = std::exp(-pi * 0.6 * middle / rate_hz);
    const double b = 2.0 * radius * std::cos(2.0 * pi * middle / rate_hz), c = -radius * radius;
    double y1 = 0.0, y2 = 0.0, grain = 0.0;
    const double hold = std::exp(-1.0 / (0.004 * rate_hz));
    for (std::size_t n = 0; n < count; ++n) {
        if (random.uniform() < 90.0 / rate_hz) grain = random.between(0.4, 1.0);
        grain *= hold;
        const double y = (0.25 + grain) * random.normal() + b * y1 + c * y2;
        y2 = y1;
        y1 = y;
        out[n] = static_cast<float>((1.0 - radius) * y *
                                    swell(n, count, 0.25 * static_cast<double>(count)));
    }
    return out;
}

Struck one_mode(double frequency_hz, double decay_s, double contact_s, double crunch) {
    Struck struck;
    struck.modes = {{frequency_hz, decay_s, 1.0}, {frequency_hz * 1.83, 0.6 * decay_s, 0.4}};
    struck.contact_s = contact_s;
    struck.crunch = crunch;
    return struck;
}

} // namespace

void add_to(std::vector<float>& out, const std::vector<float>& sound, double at_frame,
            double gain) {
    const auto first = static_cast<std::size_t>(at_frame);
    out.resize(std::max(out.size(), first + sound.size()), 0.0F);
    for (std::size_t n = 0; n < sound.size(); ++n)
        out[first + n] += static_cast<float>(gain) * sound[n];
}

std::vector<float> scratching(double duration_s, Random random, double rate_hz) {
    const double length_s = duration_s > 0.0 ? duration_s : random.between(1.5, 4.0);
    const double middle_hz = random.between_log(400.0, 1600.0),
                 stroke_s = random.between(0.12, 0.35);
    std::vector<float> out;
    for (double at = 0.0; at < length_s; at += stroke_s * random.between(1.2, 2.0)) {
        const double gain = random.between(0.5, 1.0),
                     own_middle_hz = middle_hz * random.between(0.8, 1.25),
                     own_stroke_s = stroke_s * random.between(0.7, 1.2);
        add_to(out, scrape(own_stroke_s, own_middle_hz, random, rate_hz), at * rate_hz, gain);
    }
    return out;
}

std::vector<float> movement(double duration_s, Random random, double rate_hz) {
    const double length_s = duration_s > 0.0 ? duration_s : random.between(1.0, 3.5);
    std::vector<float> out;
    for (double at = 0.0; at < length_s; at += random.between(0.15, 0.7)) {
        if (random.uniform() < 0.5) {
            const double gain = random.between(0.3, 1.0), decay_s = random.between(0.08, 0.25),
                         mode_hz = random.between(60, 180);
            add_to(out, strike(one_mode(mode_hz, decay_s, 0.006, 0.1), random, rate_hz),
                   at * rate_hz, gain);
        } else {
            const double gain = random.between(0.2, 0.8), middle_hz = random.between_log(150, 900),
                         scrape_s = random.between(0.1, 0.5);
            add_to(out, scrape(scrape_s, middle_hz, random, rate_hz), at * rate_hz, gain);
        }
    }
    return out;
}

std::vector<float> horn_blast(double duration_s, Random random, double rate_hz) {
    const std::size_t count =
        frames_of(duration_s > 0.0 ? duration_s : random.between(2.6, 3.4), rate_hz);
    const double first_hz = random.between(280.0, 480.0),
                 second_hz = first_hz * random.between(1.15, 1.3);
    std::vector<float> out(count, 0.0F);
    for (const double tone_hz : {first_hz, second_hz}) {
        for (int h = 1; h <= 8 && h * tone_hz < 0.45 * rate_hz; ++h) {
            const double strength = random.between(0.5, 1.0) / h,
                         start = random.between(0.0, 2.0 * pi);
            for (std::size_t n = 0; n < count; ++n) {
                const double time_s = static_cast<double>(n) / rate_hz;
                const double settle =
                    0.15 * tone_hz * 0.03 * std::exp(-time_s / 0.03); // pressure builds up
                out[n] += static_cast<float>(
                    strength * std::sin(start + 2.0 * pi * h * (tone_hz * time_s + settle)));
            }
        }
    }
    for (std::size_t n = 0; n < count; ++n)
        out[n] *= static_cast<float>(swell(n, count, 0.04 * rate_hz));
    return out;
}

std::vector<float> whistle_blast(double duration_s, Random random, double rate_hz) {
    const std::size_t count =
        frames_of(duration_s > 0.0 ? duration_s : random.between(0.8, 1.4), rate_hz);
    const double tone_hz = std::min(random.between(1700.0, 2900.0), 0.4 * rate_hz);
    const double warble_hz = random.between(25.0, 45.0);
    std::vector<float> out(count);
    double phase = 0.0;
    for (std::size_t n = 0; n < count; ++n) {
        const double warble = std::sin(2.0 * pi * warble_hz * static_cast<double>(n) / rate_hz);
        phase += 2.0 * pi * tone_hz * (1.0 + 0.02 * warble) / rate_hz;
        const double breath = 0.05 * random.normal();
        out[n] = static_cast<float>(((1.0 + 0.4 * warble) * std::sin(phase) + breath) *
                                    swell(n, count, 0.02 * rate_hz));
    }
    return out;
}

std::vector<float> drip(Random random, double rate_hz) {
    const double decay_s = random.between(0.03, 0.09), mode_hz = random.between_log(350, 1500);
    Struck struck = one_mode(mode_hz, decay_s, 0.0008, 0.15);
    struck.force_spread_db = 1.0;
    return strike(struck, random, rate_hz);
}

std::vector<float> tick(Random random, double rate_hz) {
    Struck struck = one_mode(random.between_log(900, 1700), 0.02, 0.0003, 0.3);
    struck.force_spread_db = 0.2;
    return strike(struck, random, rate_hz);
}

std::vector<float> footstep(Random random, double rate_hz) {
    const double decay_s = random.between(0.08, 0.18), mode_hz = random.between(60, 130);
    std::vector<float> out = strike(one_mode(mode_hz, decay_s, 0.008, 0.05), random, rate_hz);
    const double middle_hz = random.between_log(300, 1200), scrape_s = random.between(0.05, 0.12);
    add_to(out, scrape(scrape_s, middle_hz, random, rate_hz), 0.03 * rate_hz, 0.5);
    return out;
}

std::vector<float> radio_message(Random random, double rate_hz) {
    std::vector<float> voice = utter(Sound::murmur, random.between(1.2, 3.0), random, rate_hz);
    // A small loudspeaker: little below 500 Hz, and the squelch tail after the last word.
    const double keep = std::exp(-2.0 * pi * 500.0 / rate_hz);
    double last = 0.0, out = 0.0, largest = 1e-9;
    for (float& sample : voice) {
        out = keep * (out + static_cast<double>(sample) - last);
        last = static_cast<double>(sample);
        sample = static_cast<float>(out);
        largest = std::max(largest, std::abs(out));
    }
    std::vector<float> squelch(frames_of(random.between(0.08, 0.25), rate_hz));
    for (float& sample : squelch)
        sample = static_cast<float>(0.25 * largest * random.normal());
    add_to(voice, squelch, static_cast<double>(voice.size()));
    return voice;
}

std::vector<float> slide(Random random, double rate_hz) {
    const double length_s = random.between(0.3, 2.0);
    std::vector<float> out;
    const int grains = random.whole(8, 50);
    for (int i = 0; i < grains; ++i) {
        double when = length_s * random.uniform();
        when *= random.uniform(); // most of it comes first
        const double decay_s = random.between(0.01, 0.05), mode_hz = random.between_log(250, 2000);
        const double gain = std::pow(10.0, random.between(-1.5, 0.0));
        add_to(out, strike(one_mode(mode_hz, decay_s, 0.0008, 0.5), random, rate_hz),
               when * rate_hz, gain);
    }
    return out;
}

} // namespace lull
