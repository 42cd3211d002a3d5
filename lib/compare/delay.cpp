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
constexpr double settled_s = 1e-10; ///< a maximum that moves by less is found
constexpr double smooth_hz = 40.0;  ///< spectra are averaged over this, about

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
/// \param total  the event's smoothed energy
std::vector<double> snr_of(const std::vector<double>& total, std::span<const float> noise,
                           std::size_t event_frames, std::size_t size, std::size_t half_width) {
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
    double bin_omega = 0.0;                     ///< angular frequency of one bin [rad/s]
    std::size_t first_bin = 0;                  ///< of weighted[0]
    std::vector<std::complex<double>> weighted; ///< conj(A) B, weighted; bin after bin
    double information = 0.0;                   ///< sum of g
    double curvature = 0.0;                     ///< 2 sum omega^2 g

    struct Value {
        double level, slope, bend;
    };
    /// The phase turns by the same step from bin to bin.
    [[nodiscard]] Value at(double delay_s) const {
        Value value{0.0, 0.0, 0.0};
        const std::complex<double> step = std::polar(1.0, bin_omega * delay_s);
        double omega = bin_omega * static_cast<double>(first_bin);
        std::complex<double> phase = std::polar(1.0, omega * delay_s);
        for (const std::complex<double>& w : weighted) {
            const double real = w.real() * phase.real() - w.imag() * phase.imag();
            const double imaginary = w.real() * phase.imag() + w.imag() * phase.real();
            value.level += real;
            value.slope -= omega * imaginary;
            value.bend -= omega * omega * real;
            phase = {phase.real() * step.real() - phase.imag() * step.imag(),
                     phase.real() * step.imag() + phase.imag() * step.real()};
            omega += bin_omega;
        }
        return value;
    }
};

Likelihood likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Band band) {
    // Zero padding makes neighbouring bins tell the same: each counts for its share of the stretch.
    const double independent = static_cast<double>(a.frames) / static_cast<double>(a.size);
    const double bin_hz = a.rate_hz / static_cast<double>(a.size);
    Likelihood result;
    result.bin_omega = two_pi * bin_hz;
    result.first_bin = static_cast<std::size_t>(std::max(1.0, std::ceil(band.low_hz / bin_hz)));
    const std::size_t end =
        std::min(a.spectrum.size(), static_cast<std::size_t>(band.high_hz / bin_hz) + 1);
    for (std::size_t k = result.first_bin; k < end; ++k) {
        result.weighted.emplace_back(0.0);
        const double snr_a = a.snr[k], snr_b = b.snr[k];
        const double g = snr_a * snr_b / (1.0 + snr_a + snr_b);
        const double size_of = std::sqrt(a.energy[k] * b.energy[k]);
        if (!(g > 0.0) || !(size_of > 0.0)) continue;
        const std::complex<double> cross =
            std::conj(std::complex<double>(a.spectrum[k])) * std::complex<double>(b.spectrum[k]);
        // E|cross| is the signal's share of the energy: put it back, so that a clear event counts
        // g.
        const double share = std::sqrt(snr_a / (1.0 + snr_a) * snr_b / (1.0 + snr_b));
        const double omega = result.bin_omega * static_cast<double>(k);
        result.weighted.back() = 2.0 * independent * g / (size_of * share) * cross;
        result.information += independent * g;
        result.curvature += 2.0 * independent * g * omega * omega;
    }
    return result;
}

/// Maxima of the likelihood on a grid of half samples, best first, refined between the points; out
/// to twice the longest delay, so that a better one beyond it is seen.
std::vector<std::pair<double, double>> maxima(const Likelihood& likelihood, double rate_hz,
                                              double longest_delay_s, std::size_t size) {
    // By one inverse transform of twice the size; the bins are those of the likelihood.
    const std::size_t fine = 2 * size;
    const RealFft fft(fine);
    Spectrum spectrum(fft.bins());
    for (std::size_t i = 0; i < likelihood.weighted.size(); ++i)
        spectrum[likelihood.first_bin + i] = std::complex<float>(likelihood.weighted[i] * 0.5);
    std::vector<float> values(fine);
    fft.inverse(spectrum, values); // value at +n is the likelihood of a delay of n/2 samples
    const double step_s = 0.5 / rate_hz;
    const auto reach =
        std::min<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(2.0 * longest_delay_s / step_s) + 1,
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
            const double move_s = std::clamp(-here.slope / here.bend, -step_s, step_s);
            delay += move_s;
            if (std::abs(move_s) < settled_s) break;
        }
    }
    std::ranges::stable_sort(found, [](const auto& x, const auto& y) { return x.first > y.first; });
    return found;
}

double correlation_at(const HeardSpectrum& a, const HeardSpectrum& b, double delay_s, Band band) {
    Likelihood plain; // the same sum, unweighted
    const double bin_hz = a.rate_hz / static_cast<double>(a.size);
    plain.bin_omega = two_pi * bin_hz;
    plain.first_bin = static_cast<std::size_t>(std::max(1.0, std::ceil(band.low_hz / bin_hz)));
    const std::size_t end =
        std::min(a.spectrum.size(), static_cast<std::size_t>(band.high_hz / bin_hz) + 1);
    double aa = 0.0, bb = 0.0;
    for (std::size_t k = plain.first_bin; k < end; ++k) {
        plain.weighted.push_back(std::conj(std::complex<double>(a.spectrum[k])) *
                                 std::complex<double>(b.spectrum[k]));
        aa += static_cast<double>(std::norm(a.spectrum[k]));
        bb += static_cast<double>(std::norm(b.spectrum[k]));
    }
    return aa > 0.0 && bb > 0.0 ? plain.at(delay_s).level / std::sqrt(aa * bb) : 0.0;
}

} // namespace

HeardSpectrum heard_spectrum(std::span<const float> event, std::span<const float> noise,
                             double rate_hz, double longest_delay_s) {
    HeardSpectrum heard;
    heard.rate_hz = rate_hz;
    heard.frames = event.size();
    // Room for the delays that are looked at, out to twice the longest, without wrapping round.
    heard.size = fast_size(event.size() +
                           2 * static_cast<std::size_t>(std::ceil(longest_delay_s * rate_hz)) + 2);
    const auto half_width =
        static_cast<std::size_t>(smooth_hz / 2.0 / (rate_hz / static_cast<double>(heard.size)));
    heard.spectrum = transform(event, heard.size);
    heard.energy = smoothed_energy(heard.spectrum, half_width);
    heard.snr = snr_of(heard.energy, noise, event.size(), heard.size, half_width);
    return heard;
}

DelayEstimate delay_between(const DelayInput& input) {
    return delay_between(
        heard_spectrum(input.a, input.noise_a, input.rate_hz, input.longest_delay_s),
        heard_spectrum(input.b, input.noise_b, input.rate_hz, input.longest_delay_s), input.band,
        input.longest_delay_s);
}

DelayEstimate delay_between(const HeardSpectrum& a, const HeardSpectrum& b, Band band,
                            double longest_delay_s) {
    DelayEstimate estimate;
    const Likelihood likelihood = likelihood_of(a, b, band);
    auto found = maxima(likelihood, a.rate_hz, longest_delay_s, a.size);
    const auto beyond = [&](const auto& maximum) {
        return std::abs(maximum.second) >= longest_delay_s;
    };
    const bool better_beyond = !found.empty() && beyond(found.front());
    if (!std::ranges::all_of(found, beyond)) std::erase_if(found, beyond);
    if (found.empty() || !(likelihood.curvature > 0.0)) {
        estimate.reason = "nothing above the noise on both channels";
        return estimate;
    }
    estimate.delay_s = found.front().second;
    estimate.sigma_s = 1.0 / std::sqrt(likelihood.curvature);
    estimate.correlation = correlation_at(a, b, estimate.delay_s, band);
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
