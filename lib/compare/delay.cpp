// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/delay.hpp"

#include "clones.hpp"
#include "compare/internal/delay_likelihood.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <complex>

namespace lull {
namespace {

using Spectrum = std::vector<std::complex<float>>;
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

/// Adds the energy of each bin.
LULL_CLONES void add_energy(const Spectrum& spectrum, std::vector<double>& energy) {
    const auto* parts =
        reinterpret_cast<const float*>(spectrum.data()); // [complex.numbers.general]
    double* sum = energy.data();
    for (std::size_t k = 0, bins = energy.size(); k < bins; ++k)
        sum[k] +=
            static_cast<double>(parts[2 * k] * parts[2 * k] + parts[2 * k + 1] * parts[2 * k + 1]);
}

/// Averaged over neighbours [bins].
std::vector<double> smoothed(const std::vector<double>& energy, std::size_t half_width) {
    std::vector<double> sums(energy.size() + 1);
    for (std::size_t k = 0; k < energy.size(); ++k)
        sums[k + 1] = sums[k] + energy[k];
    std::vector<double> mean(energy.size());
    for (std::size_t k = 0; k < energy.size(); ++k) {
        const std::size_t low = k > half_width ? k - half_width : 0;
        const std::size_t high = std::min(energy.size(), k + half_width + 1);
        mean[k] = (sums[high] - sums[low]) / static_cast<double>(high - low);
    }
    return mean;
}

std::size_t half_width_of(double rate_hz, std::size_t size) {
    return static_cast<std::size_t>(smooth_hz / 2.0 / (rate_hz / static_cast<double>(size)));
}

/// Energy of as much noise as the event's stretch is long.
std::vector<double> noise_energy(std::span<const float> noise, std::size_t event_frames,
                                 std::size_t size) {
    std::vector<double> energy(size / 2 + 1);
    const std::size_t whole = noise.size() / std::max<std::size_t>(1, event_frames);
    // No whole stretch of noise: scale what there is.
    const std::size_t pieces = std::max<std::size_t>(1, whole),
                      length = std::min(event_frames, noise.size());
    if (length == 0) return energy;
    for (std::size_t p = 0; p < pieces; ++p)
        add_energy(transform(noise.subspan(p * length, length), size), energy);
    const double scale = static_cast<double>(event_frames) / static_cast<double>(pieces * length);
    for (double& bin : energy)
        bin *= scale;
    return energy;
}

/// SNR of each bin: energy of the event's stretch over that of as much noise, both smoothed.
std::vector<double> snr_of(const std::vector<double>& total, const std::vector<double>& floor) {
    std::vector<double> snr(total.size());
    for (std::size_t k = 0; k < snr.size(); ++k)
        snr[k] = floor[k] > 0.0 ? std::max(0.0, total[k] / floor[k] - 1.0)
                                : (total[k] > 0.0 ? 1e6 : 0.0);
    return snr;
}

double correlation_at(const HeardSpectrum& a, const HeardSpectrum& b, double delay_s, Bins bins) {
    PhaseSum cross(bin_omega_of(a), bins.first, bins.end - bins.first);
    double aa = 0.0, bb = 0.0;
    for (std::size_t k = bins.first; k < bins.end; ++k) {
        cross.set(k, std::conj(std::complex<double>(a.spectrum[k])) *
                         std::complex<double>(b.spectrum[k]));
        aa += static_cast<double>(std::norm(a.spectrum[k]));
        bb += static_cast<double>(std::norm(b.spectrum[k]));
    }
    return aa > 0.0 && bb > 0.0 ? cross.at(delay_s).level / std::sqrt(aa * bb) : 0.0;
}

/// The spectrum over its own size, weighted so that conj(A) B / (1 + r_a + r_b) of two channels is
/// g exp(-i phase) where the event is clear: E|conj(A) B| holds the signals' share of the energies,
/// which is put back.
Spectrum weighted_spectrum(const HeardSpectrum& heard) {
    Spectrum weighted(heard.spectrum.size());
    for (std::size_t k = 0; k < weighted.size(); ++k)
        if (heard.energy[k] > 0.0)
            weighted[k] = heard.spectrum[k] *
                          static_cast<float>(
                              std::sqrt(heard.snr[k] * (1.0 + heard.snr[k]) / heard.energy[k]));
    return weighted;
}

} // namespace

HeardSpectrum spectrum_over_floor(std::span<const float> windowed, double frames,
                                  std::vector<double> floor, double rate_hz, std::size_t size) {
    HeardSpectrum heard{rate_hz, frames, size, transform(windowed, size), {}, {}, {}, {}};
    std::vector<double> energy(heard.spectrum.size());
    add_energy(heard.spectrum, energy);
    heard.energy = smoothed(energy, half_width_of(rate_hz, size));
    heard.floor = std::move(floor);
    heard.snr = snr_of(heard.energy, heard.floor);
    heard.weighted = weighted_spectrum(heard);
    return heard;
}

HeardSpectrum heard_spectrum(std::span<const float> event, std::span<const float> noise,
                             double rate_hz, double longest_delay_s) {
    // Room for the delays that are looked at, out to twice the longest, without wrapping round.
    const std::size_t size = shared_size(
        event.size() + 2 * static_cast<std::size_t>(std::ceil(longest_delay_s * rate_hz)) + 2);
    return spectrum_over_floor(
        event, static_cast<double>(event.size()),
        smoothed(noise_energy(noise, event.size(), size), half_width_of(rate_hz, size)), rate_hz,
        size);
}

DelayEstimate delay_between(const DelayInput& input) {
    return delay_between(
        heard_spectrum(input.a, input.noise_a, input.rate_hz, input.longest_delay_s),
        heard_spectrum(input.b, input.noise_b, input.rate_hz, input.longest_delay_s), input.band,
        input.longest_delay_s);
}

DelayEstimate delay_between(const HeardSpectrum& a, const HeardSpectrum& b, Band band,
                            double longest_delay_s) {
    const Bins bins = bins_of(a, band);
    const Likelihood likelihood = likelihood_of(a, b, bins);
    return likeliest_delay(a, b, bins, longest_delay_s, likelihood,
                           maxima(likelihood.sum, bins, a.rate_hz, longest_delay_s, a.size));
}

DelayEstimate likeliest_delay(const HeardSpectrum& a, const HeardSpectrum& b, Bins bins,
                              double longest_delay_s, const Likelihood& likelihood,
                              std::vector<std::pair<double, double>> found) {
    DelayEstimate estimate;
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
    estimate.correlation = correlation_at(a, b, estimate.delay_s, bins);
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
