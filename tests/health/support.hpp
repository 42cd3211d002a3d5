// SPDX-License-Identifier: GPL-3.0-or-later
//
// Test channels, made here from a seed or by SoX at test time.
#pragma once

#include "health/health.hpp"

#include <gtest/gtest.h>
#include <sndfile.h>

#include <algorithm>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

namespace lull::test {

/// A healthy channel as a 16-bit recorder stores it: coloured noise, knocks, a slow drift of level.
inline std::vector<float> healthy_channel(std::uint64_t seed, double rate_hz, double length_s,
                                          double rms = 0.01) {
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> uniform;
    const auto frames = static_cast<std::size_t>(rate_hz * length_s);
    const double pole = 0.2 + 0.75 * uniform(random);
    std::vector<float> samples(frames);
    double state = 0.0;
    const double gain = rms * std::sqrt(1.0 - pole * pole);
    for (float& sample : samples)
        sample = static_cast<float>(state = pole * state + gain * normal(random));
    for (int knock = 0; knock < 6; ++knock) {
        const auto at = static_cast<std::size_t>(uniform(random) * static_cast<double>(frames));
        const double hz = 100.0 + 400.0 * uniform(random), decay_s = 0.02, peak = 20.0 * rms;
        for (std::size_t i = 0; i < static_cast<std::size_t>(0.2 * rate_hz) && at + i < frames;
             ++i) {
            const double t = static_cast<double>(i) / rate_hz;
            samples[at + i] +=
                static_cast<float>(peak * std::exp(-t / decay_s) * std::sin(6.2832 * hz * t));
        }
    }
    for (float& sample : samples)
        sample = std::round(std::clamp(sample, -1.0F, 0.99996F) * 32768.0F) / 32768.0F;
    return samples;
}

/// Measures one channel in blocks and units of the given lengths, joined as a review does it.
inline ChannelHealth measure(const std::vector<float>& samples, double rate_hz, Frame block = 4096,
                             Frame unit = 1 << 30, std::vector<Run> missing = {},
                             std::vector<Run> lost = {}) {
    ChannelHealth whole;
    const auto frames = static_cast<Frame>(samples.size());
    for (Frame begin = 0; begin < frames; begin += unit) {
        HealthMeter meter(1, rate_hz);
        const Frame end = std::min(frames, begin + unit);
        // Units read more than their core, which the meter must leave out.
        for (Frame at = std::max<Frame>(0, begin - 1000); at < std::min(frames, end + 1000);
             at += block) {
            Block part;
            part.first = at;
            part.frames = std::min(block, frames - at);
            part.channels = 1;
            part.samples.assign(samples.begin() + at, samples.begin() + at + part.frames);
            part.missing = missing;
            part.lost = lost;
            meter.push(part, begin, end);
        }
        whole.append(meter.finish().front());
    }
    return whole;
}

inline std::vector<Finding> judge(const ChannelHealth& health, double rate_hz) {
    return findings(std::span(&health, 1), rate_hz);
}

inline bool has(const std::vector<Finding>& all, const std::string& kind) {
    return std::any_of(all.begin(), all.end(), [&](const Finding& f) { return f.finding == kind; });
}

/// The output of SoX for its arguments (up to "OUT"), as samples; empty without SoX.
inline std::vector<float> sox(const std::string& before, const std::string& after) {
    if (std::system("sox --version > /dev/null 2>&1") != 0) return {};
    const std::string file = testing::TempDir() + "lull-health-" +
                             testing::UnitTest::GetInstance()->current_test_info()->name() + ".wav";
    if (std::system(("sox " + before + " " + file + " " + after + " 2> /dev/null").c_str()) != 0)
        return {};
    SF_INFO info{};
    SNDFILE* handle = sf_open(file.c_str(), SFM_READ, &info);
    if (!handle) return {};
    std::vector<float> samples(static_cast<std::size_t>(info.frames * info.channels));
    sf_readf_float(handle, samples.data(), info.frames);
    sf_close(handle);
    std::remove(file.c_str());
    return samples;
}

} // namespace lull::test
