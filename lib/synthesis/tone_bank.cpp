// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/tone_bank.hpp"

#include <cmath>
#include <numbers>

namespace lull {

namespace {

using std::numbers::pi;
constexpr std::size_t table_size =
    4096; ///< linear interpolation has an error of -90 dB at the 20th harmonic
constexpr std::size_t stride = 64; ///< frames over which pitch and mix change linearly

} // namespace

ToneBank::ToneBank(double fundamental_hz, double drift, const Random& random, std::uint64_t channel,
                   double delay_s, double highest_hz)
    : fundamental_hz_(fundamental_hz), drift_(drift), delay_s_(delay_s) {
    Random machine = random.child("machine");
    Random sensor = random.child("sensor").child(channel);
    for (auto& [share, speed, phase] : wander_) {
        share = machine.between(0.15, 0.4);
        speed = 2.0 * pi / machine.between_log(4.0, 90.0);
        phase = machine.between(0.0, 2.0 * pi);
    }
    mix_speed_ = 2.0 * pi / sensor.between(8.0, 30.0);
    mix_phase_ = sensor.between(0.0, 2.0 * pi);
    const int harmonics = static_cast<int>(std::min(60.0, highest_hz / (1.05 * fundamental_hz)));
    for (int side = 0; side < 2; ++side) {
        tables_[side].assign(table_size + 1, 0.0F);
        for (int h = 1; h <= harmonics; ++h) {
            const double amplitude =
                std::pow(h, -0.7) * machine.between(0.2, 1.0) * sensor.between(0.5, 1.0);
            const double start =
                machine.between(0.0, 2.0 * pi) - 2.0 * pi * h * fundamental_hz * delay_s_;
            amplitudes_[side].push_back(amplitude);
            for (std::size_t i = 0; i <= table_size; ++i) {
                const double angle = start + 2.0 * pi * h * static_cast<double>(i) / table_size;
                tables_[side][i] += static_cast<float>(amplitude * std::sin(angle));
            }
        }
    }
}

double ToneBank::turns(double time_s) const {
    // The integral of fundamental * (1 + drift * sum share * sin(speed t + phase)) in closed form,
    // so that any time can be computed by itself.
    double wandered_s = 0.0;
    for (const auto& [share, speed, phase] : wander_) {
        wandered_s += share / speed * (std::cos(phase) - std::cos(speed * time_s + phase));
    }
    return fundamental_hz_ * (time_s + drift_ * wandered_s);
}

void ToneBank::add(Frame first, double rate_hz, double from_gain, double to_gain,
                   std::span<float> out) const {
    const auto slope = static_cast<float>((to_gain - from_gain) / static_cast<double>(out.size()));
    for (std::size_t begin = 0; begin < out.size(); begin += stride) {
        const std::size_t count = std::min(stride, out.size() - begin);
        const double from_s = static_cast<double>(first + static_cast<Frame>(begin)) / rate_hz;
        const double from = turns(from_s),
                     to = turns(from_s + static_cast<double>(count) / rate_hz);
        double at = (from - std::floor(from)) * table_size;
        const double step = (to - from) * table_size / static_cast<double>(count);
        const double mix = mix_phase_ + mix_speed_ * from_s;
        const auto a = static_cast<float>(std::cos(mix)), b = static_cast<float>(std::sin(mix));
        for (std::size_t n = 0; n < count; ++n) {
            const auto index = static_cast<std::size_t>(at);
            const auto part = static_cast<float>(at - static_cast<double>(index));
            const float one =
                tables_[0][index] + part * (tables_[0][index + 1] - tables_[0][index]);
            const float two =
                tables_[1][index] + part * (tables_[1][index + 1] - tables_[1][index]);
            const float gain =
                static_cast<float>(from_gain) + slope * static_cast<float>(begin + n);
            out[begin + n] += gain * (a * one + b * two);
            at += step;
            if (at >= table_size) at -= table_size;
        }
    }
}

double ToneBank::weighted_power(std::span<const float> weights, double rate_hz) const {
    double sum = 0.0;
    const double bins_per_hz = static_cast<double>(2 * weights.size() - 2) / rate_hz;
    for (const auto& amplitudes : amplitudes_) {
        for (std::size_t h = 0; h < amplitudes.size(); ++h) {
            const auto bin = static_cast<std::size_t>(
                std::lround(static_cast<double>(h + 1) * fundamental_hz_ * bins_per_hz));
            if (bin < weights.size())
                sum += 0.25 * amplitudes[h] * amplitudes[h] * static_cast<double>(weights[bin]);
        }
    }
    return sum;
}

void ToneBank::scale(double gain) {
    for (auto& table : tables_) {
        for (float& value : table)
            value *= static_cast<float>(gain);
    }
    for (auto& amplitudes : amplitudes_) {
        for (double& amplitude : amplitudes)
            amplitude *= gain;
    }
}

} // namespace lull
