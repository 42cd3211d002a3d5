// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/internal/phase_path.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace lull {
namespace {

constexpr std::size_t period_points = 256;

} // namespace

std::vector<float> PhasePath::fractions(std::size_t count, double sample_s) const {
    std::vector<float> phase(count);
    const std::size_t last = turns.size() - 2; // interval
    const auto knot = [this](std::ptrdiff_t k) {
        const auto n = static_cast<std::ptrdiff_t>(turns.size());
        if (k < 0) return 2.0 * turns[0] - turns[1];
        if (k >= n)
            return 2.0 * turns[static_cast<std::size_t>(n - 1)] -
                   turns[static_cast<std::size_t>(n - 2)];
        return turns[static_cast<std::size_t>(k)];
    };
    std::size_t i = 0;
    for (std::size_t k = 0; k <= last; ++k) {
        const auto at = static_cast<std::ptrdiff_t>(k);
        const double p0 = knot(at - 1), p1 = knot(at), p2 = knot(at + 1), p3 = knot(at + 2);
        const double a = 0.5 * (3.0 * (p1 - p2) + p3 - p0), b = p0 - 2.5 * p1 + 2.0 * p2 - 0.5 * p3,
                     c = 0.5 * (p2 - p0);
        const double begin_s = static_cast<double>(k) * step_s, scale = 1.0 / step_s;
        const auto end = k == last ? count
                                   : std::min(count, static_cast<std::size_t>(std::ceil(
                                                         (begin_s + step_s) / sample_s - 1e-9)));
        for (; i < end; ++i) {
            const double u = (static_cast<double>(i) * sample_s - begin_s) * scale;
            const double value =
                u > 1.0 ? p2 + (u - 1.0) * (p2 - p1) : p1 + u * (c + u * (b + u * a));
            const double rest = value - static_cast<double>(static_cast<std::int64_t>(value));
            const auto fraction = static_cast<float>(rest < 0.0 ? rest + 1.0 : rest);
            phase[i] = fraction < 1.0F ? fraction : 0.0F;
        }
    }
    return phase;
}

double PhasePath::mean_frequency_hz() const {
    return (turns.back() - turns.front()) / (step_s * static_cast<double>(turns.size() - 1));
}

HarmonicBlocks::HarmonicBlocks(std::size_t hop) : hop_(hop), fft_(period_points) {
    for (std::size_t i = 0; i < 2 * hop; ++i)
        window_.push_back(
            static_cast<float>((1.0 - std::cos(std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                               static_cast<double>(hop))) /
                               static_cast<double>(hop)));
}

std::vector<HarmonicBlocks::Amplitudes> HarmonicBlocks::measure(std::span<const float> samples,
                                                                std::span<const float> phase,
                                                                int harmonics) const {
    const std::size_t blocks = samples.size() < 2 * hop_ ? 0 : samples.size() / hop_ - 1;
    std::vector<Amplitudes> all(static_cast<std::size_t>(harmonics), Amplitudes(blocks));
    std::vector<float> period(period_points + 1);
    std::vector<std::complex<float>> spectrum(fft_.bins());
    std::vector<double> restore; // linear interpolation reduces a harmonic by sinc^2
    for (int h = 1; h <= harmonics; ++h) {
        const double x = std::numbers::pi * h / static_cast<double>(period_points);
        restore.push_back(x * x / (std::sin(x) * std::sin(x)));
    }
    for (std::size_t b = 0; b < blocks; ++b) {
        std::ranges::fill(period, 0.0F);
        const float *x = &samples[b * hop_], *turn = &phase[b * hop_];
        for (std::size_t i = 0; i < 2 * hop_; ++i) {
            const float value = window_[i] * x[i], at = turn[i] * period_points;
            const auto point = static_cast<std::size_t>(static_cast<int>(at));
            const float upper = (at - static_cast<float>(static_cast<int>(at))) * value;
            period[point] += value - upper;
            period[point + 1] += upper;
        }
        period[0] += period[period_points];
        fft_.forward(std::span(period).first(period_points), spectrum);
        for (std::size_t h = 0; h < all.size(); ++h)
            all[h][b] = restore[h] * std::complex<double>(spectrum[h + 1]);
    }
    return all;
}

PeriodTable::PeriodTable(std::span<const std::complex<double>> amplitudes) {
    const RealFft fft(points);
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (std::size_t h = 0; h < amplitudes.size(); ++h)
        spectrum[h + 1] = std::complex<float>(0.5 * amplitudes[h]);
    table_.resize(points);
    fft.inverse(spectrum, table_);
    table_.push_back(table_.front());
    for (std::size_t i = 0; i < points; ++i)
        rise_.push_back(table_[i + 1] - table_[i]);
}

} // namespace lull
