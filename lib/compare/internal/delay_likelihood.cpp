// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/internal/delay_likelihood.hpp"

#include "clones.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <numeric>

namespace lull {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double settled_s = 1e-10;    ///< a maximum that moves by less is found
constexpr std::size_t most_maxima = 6; ///< that are refined

/// Phases of `phase_lanes` neighbouring bins, and how far they turn to the next `phase_lanes`.
struct Phases {
    std::array<double, phase_lanes> cosine{}, sine{}, omega{};
    std::complex<double> step;
    double omega_step = 0.0;
};

LULL_CLONES PhaseValue sum_phases(const double* real, const double* imaginary, std::size_t count,
                                  const Phases& from) {
    Phases now = from;
    std::array<double, phase_lanes> level{}, slope{}, bend{};
    const double step_cosine = from.step.real(), step_sine = from.step.imag();
    for (std::size_t at = 0; at < count; at += phase_lanes)
        for (std::size_t i = 0; i < phase_lanes; ++i) {
            const double x = real[at + i] * now.cosine[i] - imaginary[at + i] * now.sine[i];
            const double y = real[at + i] * now.sine[i] + imaginary[at + i] * now.cosine[i];
            level[i] += x;
            slope[i] -= now.omega[i] * y;
            bend[i] -= now.omega[i] * now.omega[i] * x;
            const double turned = now.cosine[i] * step_cosine - now.sine[i] * step_sine;
            now.sine[i] = now.cosine[i] * step_sine + now.sine[i] * step_cosine;
            now.cosine[i] = turned;
            now.omega[i] += from.omega_step;
        }
    const auto sum = [](const auto& all) { return std::accumulate(all.begin(), all.end(), 0.0); };
    return {sum(level), sum(slope), sum(bend)};
}

} // namespace

PhaseValue PhaseSum::at(double delay_s) const {
    // The phase turns by the same step from bin to bin.
    Phases phases;
    phases.omega_step = bin_omega_ * phase_lanes;
    phases.step = std::polar(1.0, phases.omega_step * delay_s);
    for (std::size_t i = 0; i < phase_lanes; ++i) {
        phases.omega[i] = bin_omega_ * static_cast<double>(first_bin_ + i);
        phases.cosine[i] = std::cos(phases.omega[i] * delay_s);
        phases.sine[i] = std::sin(phases.omega[i] * delay_s);
    }
    return sum_phases(real_.data(), imaginary_.data(), real_.size(), phases);
}

Bins bins_of(const HeardSpectrum& heard, Band band) {
    const double bin_hz = heard.rate_hz / static_cast<double>(heard.size);
    return {static_cast<std::size_t>(std::max(1.0, std::ceil(band.low_hz / bin_hz))),
            std::min(heard.spectrum.size(), static_cast<std::size_t>(band.high_hz / bin_hz) + 1)};
}

double bin_omega_of(const HeardSpectrum& heard) {
    return two_pi * heard.rate_hz / static_cast<double>(heard.size);
}

Likelihood likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Bins bins) {
    // Zero padding makes neighbouring bins tell the same: each counts for its share of the stretch.
    const double independent = a.frames / static_cast<double>(a.size);
    const double bin_omega = bin_omega_of(a);
    Likelihood result{PhaseSum(bin_omega, bins.first, bins.end - bins.first)};
    for (std::size_t k = bins.first; k < bins.end; ++k) {
        const double both = 1.0 + a.snr[k] + b.snr[k];
        const double g = a.snr[k] * b.snr[k] / both;
        const double omega = bin_omega * static_cast<double>(k);
        const std::complex<double> cross =
            std::conj(std::complex<double>(a.weighted[k])) * std::complex<double>(b.weighted[k]);
        result.sum.set(k, 2.0 * independent / both * cross);
        result.information += independent * g;
        result.told_bins += independent * g / (1.0 + g);
        result.curvature += 2.0 * independent * g * omega * omega;
    }
    return result;
}

std::vector<std::pair<double, double>> maxima(const PhaseSum& likelihood, Bins bins, double rate_hz,
                                              double longest_delay_s, std::size_t size) {
    const std::size_t points = shared_size(std::max(8 * bins.end, size / 2));
    const RealFft fft(points);
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (std::size_t k = bins.first; k < bins.end; ++k)
        spectrum[k] = std::complex<float>(likelihood[k] * 0.5);
    std::vector<float> values(points);
    fft.inverse(spectrum, values); // value at +n is the likelihood of a delay of n steps
    const double step_s = static_cast<double>(size) / (rate_hz * static_cast<double>(points));
    const auto reach =
        std::min<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(2.0 * longest_delay_s / step_s) + 1,
                                 static_cast<std::ptrdiff_t>(points / 2) - 2);
    const auto value = [&](std::ptrdiff_t n) {
        return values[static_cast<std::size_t>(n < 0 ? n + static_cast<std::ptrdiff_t>(points)
                                                     : n)];
    };
    std::vector<std::pair<double, double>> found;
    for (std::ptrdiff_t n = -reach; n <= reach; ++n)
        if (value(n) > 0.0F && value(n) >= value(n - 1) && value(n) > value(n + 1))
            found.emplace_back(value(n), static_cast<double>(n) * step_s);
    const std::size_t kept = std::min(most_maxima, found.size());
    std::ranges::partial_sort(found, found.begin() + static_cast<std::ptrdiff_t>(kept),
                              std::greater{});
    found.resize(kept);
    for (auto& [level, delay] : found) {
        for (int step = 0; step < 8; ++step) {
            const PhaseValue here = likelihood.at(delay);
            level = here.level;
            if (!(here.bend < 0.0)) break;
            const double move_s = std::clamp(-here.slope / here.bend, -step_s, step_s);
            delay += move_s;
            if (std::abs(move_s) < settled_s) break;
        }
    }
    std::ranges::sort(found, std::greater{});
    // Two points can lead to one maximum.
    const auto [same, end] = std::ranges::unique(found, [step_s](const auto& x, const auto& y) {
        return std::abs(x.second - y.second) < 0.1 * step_s;
    });
    found.erase(same, end);
    return found;
}

} // namespace lull
