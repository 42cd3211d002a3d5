// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/delay.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

namespace lull {
namespace {

using Spectrum = std::vector<std::complex<float>>;
constexpr double two_pi = 2.0 * std::numbers::pi;
/// Log likelihood by which the maximum must lead any other: odds of e^8, about 3000 to 1.
constexpr double least_lead = 8.0;
/// Least information, as the sum of g over the bins: below it outliers rule, and no estimator
/// follows the bound (threshold effect).
constexpr double least_information = 12.0;
constexpr double smooth_hz = 40.0; ///< spectra are averaged over this, about

Spectrum transform(std::span<const float> samples, std::size_t size) {
    const RealFft fft(size);
    std::vector<float> padded(size);
    std::ranges::copy(samples, padded.begin());
    Spectrum spectrum(fft.bins());
    fft.forward(padded, spectrum);
    return spectrum;
}

/// Energy per bin, averaged over neighbours [bins].
std::vector<double> smoothed_energy(const Spectrum& spectrum, std::size_t half_width) {
    std::vector<double> sums(spectrum.size() + 1);
    for (std::size_t k = 0; k < spectrum.size(); ++k)
        sums[k + 1] = sums[k] + static_cast<double>(std::norm(spectrum[k]));
    std::vector<double> mean(spectrum.size());
    for (std::size_t k = 0; k < spectrum.size(); ++k) {
        const std::size_t low = k > half_width ? k - half_width : 0;
        const std::size_t high = std::min(spectrum.size(), k + half_width + 1);
        mean[k] = (sums[high] - sums[low]) / static_cast<double>(high - low);
    }
    return mean;
}

/// SNR of each bin: energy of the event's stretch over that of as much noise.
std::vector<double> snr_of(const Spectrum& event, std::span<const float> noise,
                           std::size_t event_frames, std::size_t size, std::size_t half_width) {
    const std::vector<double> total = smoothed_energy(event, half_width);
    std::vector<double> floor(total.size());
    const std::size_t pieces = noise.size() / std::max<std::size_t>(1, event_frames);
    if (pieces == 0) {
        // No whole stretch of noise: scale what there is.
        const std::vector<double> part = smoothed_energy(transform(noise, size), half_width);
        const double scale =
            noise.empty() ? 0.0
                          : static_cast<double>(event_frames) / static_cast<double>(noise.size());
        for (std::size_t k = 0; k < part.size(); ++k)
            floor[k] = part[k] * scale;
    }
    for (std::size_t p = 0; p < pieces; ++p) {
        const std::vector<double> part = smoothed_energy(
            transform(noise.subspan(p * event_frames, event_frames), size), half_width);
        for (std::size_t k = 0; k < part.size(); ++k)
            floor[k] += part[k] / static_cast<double>(pieces);
    }
    std::vector<double> snr(total.size());
    for (std::size_t k = 0; k < snr.size(); ++k)
        snr[k] = floor[k] > 0.0 ? std::max(0.0, total[k] / floor[k] - 1.0)
                                : (total[k] > 0.0 ? 1e6 : 0.0);
    return snr;
}

/// The likelihood of a delay: sum over bins of weight * cos(phase(k) + 2 pi f k delay).
struct Likelihood {
    std::vector<double> omega;                  ///< [rad/s]
    std::vector<std::complex<double>> weighted; ///< conj(A) B, weighted
    double information = 0.0;                   ///< sum of g
    double curvature = 0.0;                     ///< 2 sum omega^2 g

    struct Value {
        double level, slope, bend;
    };
    [[nodiscard]] Value at(double delay_s) const {
        Value value{0.0, 0.0, 0.0};
        for (std::size_t k = 0; k < omega.size(); ++k) {
            const std::complex<double> turned = weighted[k] * std::polar(1.0, omega[k] * delay_s);
            value.level += turned.real();
            value.slope -= omega[k] * turned.imag();
            value.bend -= omega[k] * omega[k] * turned.real();
        }
        return value;
    }
};

Likelihood likelihood_of(const DelayInput& input, const Spectrum& a, const Spectrum& b,
                         std::span<const double> snr_a, std::span<const double> snr_b,
                         std::size_t size, std::size_t half_width) {
    const std::vector<double> energy_a = smoothed_energy(a, half_width),
                              energy_b = smoothed_energy(b, half_width);
    // Zero padding makes neighbouring bins tell the same: each counts for its share of the stretch.
    const double independent = static_cast<double>(input.a.size()) / static_cast<double>(size);
    const double bin_hz = input.rate_hz / static_cast<double>(size);
    Likelihood result;
    for (std::size_t k = 1; k < a.size(); ++k) {
        const double frequency = bin_hz * static_cast<double>(k);
        if (frequency < input.band.low_hz || frequency > input.band.high_hz) continue;
        const double g = snr_a[k] * snr_b[k] / (1.0 + snr_a[k] + snr_b[k]);
        const double size_of = std::sqrt(energy_a[k] * energy_b[k]);
        if (!(g > 0.0) || !(size_of > 0.0)) continue;
        const std::complex<double> cross =
            std::conj(std::complex<double>(a[k])) * std::complex<double>(b[k]);
        // E|cross| is the signal's share of the energy: put it back, so that a clear event counts
        // g.
        const double share = std::sqrt(snr_a[k] / (1.0 + snr_a[k]) * snr_b[k] / (1.0 + snr_b[k]));
        result.omega.push_back(two_pi * frequency);
        result.weighted.push_back(2.0 * independent * g / (size_of * share) * cross);
        result.information += independent * g;
        result.curvature += 2.0 * independent * g * two_pi * frequency * two_pi * frequency;
    }
    return result;
}

/// Maxima of the likelihood on a grid of half samples, best first, refined between the points; out
/// to twice the longest delay, so that a better one beyond it is seen.
std::vector<std::pair<double, double>> maxima(const Likelihood& likelihood, const DelayInput& input,
                                              std::size_t size) {
    // By one inverse transform of twice the size; the bins are those of the likelihood.
    const std::size_t fine = 2 * size;
    const RealFft fft(fine);
    Spectrum spectrum(fft.bins());
    const double bin = two_pi * input.rate_hz / static_cast<double>(size);
    for (std::size_t i = 0; i < likelihood.omega.size(); ++i)
        spectrum[static_cast<std::size_t>(std::llround(likelihood.omega[i] / bin))] =
            std::complex<float>(likelihood.weighted[i] * 0.5);
    std::vector<float> values(fine);
    fft.inverse(spectrum, values); // value at +n is the likelihood of a delay of n/2 samples
    const double step_s = 0.5 / input.rate_hz;
    const auto reach = std::min<std::ptrdiff_t>(
        static_cast<std::ptrdiff_t>(2.0 * input.longest_delay_s / step_s) + 1,
        static_cast<std::ptrdiff_t>(fine / 2) - 2);
    const auto value = [&](std::ptrdiff_t n) {
        return static_cast<double>(values[static_cast<std::size_t>(
            (n + static_cast<std::ptrdiff_t>(fine)) % static_cast<std::ptrdiff_t>(fine))]);
    };
    std::vector<std::pair<double, double>> found;
    for (std::ptrdiff_t n = -reach; n <= reach; ++n)
        if (value(n) > 0.0 && value(n) >= value(n - 1) && value(n) > value(n + 1))
            found.emplace_back(value(n), static_cast<double>(n) * step_s);
    std::ranges::stable_sort(found, [](const auto& x, const auto& y) { return x.first > y.first; });
    if (found.size() > 6) found.resize(6);
    for (auto& [level, delay] : found) {
        for (int step = 0; step < 8; ++step) {
            const Likelihood::Value here = likelihood.at(delay);
            level = here.level;
            if (!(here.bend < 0.0)) break;
            delay += std::clamp(-here.slope / here.bend, -step_s, step_s);
        }
    }
    std::ranges::stable_sort(found, [](const auto& x, const auto& y) { return x.first > y.first; });
    return found;
}

double correlation_at(const Spectrum& a, const Spectrum& b, double delay_s, const DelayInput& input,
                      std::size_t size) {
    double cross = 0.0, aa = 0.0, bb = 0.0;
    for (std::size_t k = 1; k < a.size(); ++k) {
        const double frequency = input.rate_hz * static_cast<double>(k) / static_cast<double>(size);
        if (frequency < input.band.low_hz || frequency > input.band.high_hz) continue;
        cross += (std::conj(std::complex<double>(a[k])) * std::complex<double>(b[k]) *
                  std::polar(1.0, two_pi * frequency * delay_s))
                     .real();
        aa += static_cast<double>(std::norm(a[k]));
        bb += static_cast<double>(std::norm(b[k]));
    }
    return aa > 0.0 && bb > 0.0 ? cross / std::sqrt(aa * bb) : 0.0;
}

} // namespace

DelayEstimate delay_between(const DelayInput& input) {
    DelayEstimate estimate;
    const auto longest = static_cast<std::size_t>(std::ceil(input.longest_delay_s * input.rate_hz));
    const std::size_t size = fast_size(input.a.size() + 2 * longest + 2);
    const auto half_width =
        static_cast<std::size_t>(smooth_hz / 2.0 / (input.rate_hz / static_cast<double>(size)));
    const Spectrum a = transform(input.a, size), b = transform(input.b, size);
    const std::vector<double> snr_a = snr_of(a, input.noise_a, input.a.size(), size, half_width);
    const std::vector<double> snr_b = snr_of(b, input.noise_b, input.b.size(), size, half_width);
    const Likelihood likelihood = likelihood_of(input, a, b, snr_a, snr_b, size, half_width);
    auto found = maxima(likelihood, input, size);
    const auto beyond = [&](const auto& maximum) {
        return std::abs(maximum.second) >= input.longest_delay_s;
    };
    const bool better_beyond = !found.empty() && beyond(found.front());
    if (!std::ranges::all_of(found, beyond)) std::erase_if(found, beyond);
    if (found.empty() || !(likelihood.curvature > 0.0)) {
        estimate.reason = "nothing above the noise on both channels";
        return estimate;
    }
    estimate.delay_s = found.front().second;
    estimate.sigma_s = 1.0 / std::sqrt(likelihood.curvature);
    estimate.correlation = correlation_at(a, b, estimate.delay_s, input, size);
    if (likelihood.information < least_information)
        estimate.reason = "too little above the noise";
    else if (found.front().first < least_lead * 2.0)
        estimate.reason = "the channels are not alike";
    else if (better_beyond)
        estimate.reason = "a delay longer than is possible is more likely";
    else if (found.size() > 1 && found[0].first - found[1].first < least_lead)
        estimate.reason = "a second delay is nearly as likely";
    else
        estimate.usable = true;
    return estimate;
}

Closure closure(const DelayEstimate& ab, const DelayEstimate& bc, const DelayEstimate& ac) {
    return {ab.delay_s + bc.delay_s - ac.delay_s,
            std::sqrt(ab.sigma_s * ab.sigma_s + bc.sigma_s * bc.sigma_s + ac.sigma_s * ac.sigma_s)};
}

} // namespace lull
