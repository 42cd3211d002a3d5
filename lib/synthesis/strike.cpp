// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/strike.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

namespace lull {

namespace {

using std::numbers::pi;

struct MaterialRange {
    double lowest_hz[2];
    int modes[2];
    bool bar;           ///< frequency ratios of a free bar; else drawn
    double decay_s[2];  ///< of the lowest mode
    double decay_slope; ///< decay is proportional to (lowest / frequency)^slope
    double contact_s[2];
    double crunch[2];
};

constexpr std::array<MaterialRange, 5> ranges{{
    {{80, 350}, {5, 9}, false, {0.04, 0.16}, 0.5, {0.0004, 0.0020}, {0.15, 0.5}},   // concrete
    {{110, 480}, {7, 12}, false, {0.25, 1.10}, 0.6, {0.0002, 0.0006}, {0.05, 0.2}}, // steel
    {{120, 450}, {4, 7}, true, {0.35, 1.40}, 0.5, {0.0002, 0.0012}, {0.03, 0.15}},  // pipe
    {{90, 320}, {4, 7}, false, {0.06, 0.22}, 0.8, {0.0008, 0.0030}, {0.1, 0.3}},    // timber
    {{250, 900}, {4, 8}, false, {0.02, 0.09}, 0.4, {0.0003, 0.0014}, {0.25, 0.7}},  // brick
}};

/// Adds sin(2 pi f n / rate) * amplitude * decay by a rotating phasor.
void add_mode(const Mode& mode, std::vector<float>& out, double rate_hz) {
    const double fall = std::exp(-3.0 * std::numbers::ln10 / (mode.decay_s * rate_hz));
    const std::complex<double> turn = std::polar(fall, 2.0 * pi * mode.frequency_hz / rate_hz);
    std::complex<double> state(mode.amplitude, 0.0);
    const auto frames = std::min(out.size(), static_cast<std::size_t>(mode.decay_s * rate_hz) + 1);
    for (std::size_t n = 0; n < frames; ++n) {
        out[n] += static_cast<float>(state.imag());
        state *= turn;
    }
}

void add_crunch(const Struck& struck, Random& random, std::vector<float>& out, double rate_hz) {
    const double fall = std::exp(-3.0 * std::numbers::ln10 / (struck.crunch_decay_s * rate_hz));
    double amplitude = struck.crunch;
    const auto frames =
        std::min(out.size(), static_cast<std::size_t>(struck.crunch_decay_s * rate_hz) + 1);
    for (std::size_t n = 0; n < frames; ++n) {
        out[n] += static_cast<float>(amplitude * random.normal());
        amplitude *= fall;
    }
}

/// The response to a force that is a half sine instead of an impulse.
std::vector<float> pushed(const std::vector<float>& response, double contact_s, double rate_hz) {
    const auto length =
        std::max<std::size_t>(2, static_cast<std::size_t>(std::lround(contact_s * rate_hz)));
    std::vector<float> force(length);
    double sum = 0.0;
    for (std::size_t i = 0; i < length; ++i) {
        force[i] = static_cast<float>(
            std::sin(pi * (static_cast<double>(i) + 0.5) / static_cast<double>(length)));
        sum += force[i];
    }
    std::vector<float> out(response.size() + length, 0.0F);
    for (std::size_t i = 0; i < length; ++i) {
        const auto weight = static_cast<float>(force[i] / sum);
        for (std::size_t n = 0; n < response.size(); ++n)
            out[n + i] += weight * response[n];
    }
    return out;
}

} // namespace

Struck draw_struck(Material material, Random& random) {
    static constexpr std::array bar_ratio{1.0,   2.757, 5.404, 8.933, 13.34,
                                          18.64, 24.81, 31.9,  39.8};
    const MaterialRange& range = ranges[static_cast<std::size_t>(material)];
    Struck struck;
    const double lowest_hz = random.between_log(range.lowest_hz[0], range.lowest_hz[1]);
    const double decay_s = random.between_log(range.decay_s[0], range.decay_s[1]);
    const int modes = random.whole(range.modes[0], range.modes[1]);
    const double tilt = random.between(0.1, 0.7);
    double ratio = 1.0;
    for (int m = 0; m < modes; ++m) {
        if (range.bar) ratio = bar_ratio[static_cast<std::size_t>(m)] * random.between(0.97, 1.03);
        Mode mode;
        mode.frequency_hz = lowest_hz * ratio;
        mode.decay_s = decay_s * std::pow(ratio, -range.decay_slope) * random.between(0.7, 1.4);
        mode.amplitude = std::pow(ratio, -tilt) * random.between(0.4, 1.0);
        struck.modes.push_back(mode);
        ratio *= random.between(1.2, 1.9);
    }
    struck.contact_s = random.between_log(range.contact_s[0], range.contact_s[1]);
    struck.crunch = random.between(range.crunch[0], range.crunch[1]);
    struck.crunch_decay_s = random.between(0.006, 0.025);
    struck.force_spread_db = random.between(1.0, 3.0);
    return struck;
}

std::vector<float> strike(const Struck& struck, Random& random, double rate_hz) {
    double longest_s = struck.crunch_decay_s;
    for (const Mode& mode : struck.modes)
        longest_s = std::max(longest_s, 1.1 * mode.decay_s);
    std::vector<float> response(static_cast<std::size_t>(longest_s * rate_hz) + 2, 0.0F);
    for (Mode mode : struck.modes) {
        mode.frequency_hz *= 1.0 + 0.002 * random.normal();
        mode.decay_s *= random.between(0.9, 1.1);
        mode.amplitude *=
            random.between(0.6, 1.4); // the struck point decides how strongly each mode sounds
        if (mode.frequency_hz < 0.45 * rate_hz) add_mode(mode, response, rate_hz);
    }
    add_crunch(struck, random, response, rate_hz);
    auto out = pushed(response, struck.contact_s * random.between(0.75, 1.35), rate_hz);
    const double force = std::pow(10.0, struck.force_spread_db * random.normal() / 20.0);
    for (float& sample : out)
        sample *= static_cast<float>(force);
    return out;
}

} // namespace lull
