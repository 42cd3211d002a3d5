// SPDX-License-Identifier: GPL-3.0-or-later
//
// Seeded sounds for the tests: noise, knocks, periodic sounds, and real speech where installed.
#pragma once

#include "signal/butterworth.hpp"
#include "signal/section_filter.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <random>
#include <sndfile.h>
#include <string>
#include <vector>

namespace lull::test {

inline constexpr double rate_hz = 16000.0;

inline std::vector<float> white(std::uint32_t seed, double seconds, double rms) {
    std::mt19937 generator(seed);
    std::normal_distribution<float> normal(0.0F, static_cast<float>(rms));
    std::vector<float> x(static_cast<std::size_t>(seconds * rate_hz));
    for (float& v : x)
        v = normal(generator);
    return x;
}

/// Falling by 6 dB an octave above 20 Hz.
inline std::vector<float> brown(std::uint32_t seed, double seconds, double rms) {
    std::vector<float> x = white(seed, seconds, 1.0);
    const double keep = std::exp(-2.0 * std::numbers::pi * 20.0 / rate_hz);
    double state = 0.0;
    double power = 0.0;
    for (float& v : x) {
        state = keep * state + v;
        v = static_cast<float>(state);
        power += state * state;
    }
    const auto gain = static_cast<float>(rms / std::sqrt(power / static_cast<double>(x.size())));
    for (float& v : x)
        v *= gain;
    return x;
}

/// Decaying modes from sample 0 on; largest band-passed 50 ms power is 1 before scaling.
inline std::vector<float> knock(std::vector<double> modes_hz = {180.0, 420.0, 760.0},
                                double decay_s = 0.02) {
    std::vector<float> x(static_cast<std::size_t>(std::max(0.3, 5.0 * decay_s) * rate_hz));
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double t = static_cast<double>(i) / rate_hz;
        double sum = 0.0;
        for (const double f : modes_hz)
            sum += std::sin(2.0 * std::numbers::pi * f * t);
        x[i] = static_cast<float>(sum * std::exp(-t / decay_s));
    }
    double most = 0.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        sum += static_cast<double>(x[i]) * x[i];
        if (i >= 800) sum -= static_cast<double>(x[i - 800]) * x[i - 800];
        most = std::max(most, sum / 800.0);
    }
    for (float& v : x)
        v = static_cast<float>(v / std::sqrt(most));
    return x;
}

inline void add(std::vector<float>& to, const std::vector<float>& sound, double at_s, double gain) {
    const auto first = static_cast<std::size_t>(std::llround(at_s * rate_hz));
    for (std::size_t i = 0; i < sound.size() && first + i < to.size(); ++i)
        to[first + i] += static_cast<float>(gain) * sound[i];
}

/// rms, in 60-2000 Hz, of white noise of unit rms.
inline double white_in_band() {
    return std::sqrt(1940.0 / (0.5 * rate_hz));
}

/// Harmonics of a fundamental that glides by `glide` semitones and is loud four times a second.
inline std::vector<float> sung(double fundamental_hz, double seconds, double glide = 3.0,
                               double syllables_hz = 4.0) {
    std::vector<float> x(static_cast<std::size_t>(seconds * rate_hz));
    double phase = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double t = static_cast<double>(i) / rate_hz;
        const double f = fundamental_hz * std::exp2(glide / 12.0 * std::sin(2.0 * t));
        phase += 2.0 * std::numbers::pi * f / rate_hz;
        const double loud = syllables_hz > 0.0
                                ? 0.55 - 0.45 * std::cos(2.0 * std::numbers::pi * syllables_hz * t)
                                : 1.0;
        double sum = 0.0;
        for (int k = 1; k * f < 3000.0; ++k)
            sum += std::sin(k * phase) / k;
        x[i] = static_cast<float>(loud * sum);
    }
    return x;
}

/// A sound file of a Debian package at 16 kHz (from 8 kHz or 48 kHz), its quiet ends cut 30 dB
/// under its peak, with unit power in its louder half; none when it is not installed.
inline std::optional<std::vector<float>> speech(const std::string& path) {
    SF_INFO info{};
    SNDFILE* file = sf_open(path.c_str(), SFM_READ, &info);
    if (!file) return std::nullopt;
    std::vector<float> x(static_cast<std::size_t>(info.frames));
    if (info.channels != 1)
        x.clear();
    else
        x.resize(static_cast<std::size_t>(sf_readf_float(file, x.data(), info.frames)));
    sf_close(file);
    if (x.empty()) return std::nullopt;
    std::vector<float> y;
    if (info.samplerate == 8000) {
        for (const float v : x)
            y.insert(y.end(), {2.0F * v, 0.0F});
        SectionFilter low(butterworth_lowpass(8, 3600.0, rate_hz), 1);
        low.push(y);
    } else if (info.samplerate == 48000) {
        SectionFilter low(butterworth_lowpass(8, 7000.0, 48000.0), 1);
        low.push(x);
        for (std::size_t i = 0; i < x.size(); i += 3)
            y.push_back(x[i]);
    } else {
        return std::nullopt;
    }
    float peak = 0.0F;
    for (const float v : y)
        peak = std::max(peak, std::abs(v));
    const auto loud = [&](float v) { return std::abs(v) > 0.1F * peak; };
    const auto begin = std::find_if(y.begin(), y.end(), loud);
    const auto end = std::find_if(y.rbegin(), y.rend(), loud).base();
    y = std::vector<float>(begin, end);
    std::vector<double> pieces;
    for (std::size_t i = 0; i + 800 <= y.size(); i += 800) {
        double sum = 0.0;
        for (std::size_t k = i; k < i + 800; ++k)
            sum += static_cast<double>(y[k]) * y[k];
        pieces.push_back(sum / 800.0);
    }
    if (pieces.empty()) return std::nullopt;
    std::sort(pieces.begin(), pieces.end());
    double power = 0.0;
    for (std::size_t i = pieces.size() / 2; i < pieces.size(); ++i)
        power += pieces[i];
    power /= static_cast<double>(pieces.size() - pieces.size() / 2);
    for (float& v : y)
        v = static_cast<float>(v / std::sqrt(power));
    return y;
}

} // namespace lull::test
