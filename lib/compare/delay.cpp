// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/delay.hpp"

#include "clones.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <functional>
#include <numbers>
#include <numeric>

namespace lull {
namespace {

using Spectrum = std::vector<std::complex<float>>;
constexpr double two_pi = 2.0 * std::numbers::pi;
/// Log likelihood by which the maximum must lead any other: odds of e^8, about 3000 to 1.
constexpr double least_lead = 8.0;
/// Least information, as the sum of g over the bins: below it outliers rule, and no estimator
/// follows the bound (threshold effect).
constexpr double least_information = 12.0;
constexpr double settled_s = 1e-10;    ///< a maximum that moves by less is found
constexpr std::size_t most_maxima = 6; ///< that are refined
constexpr double smooth_hz = 40.0;     ///< spectra are averaged over this, about

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

constexpr std::size_t lanes = 8; ///< bins whose phases turn side by side

/// Value and derivatives of a sum of phases.
struct PhaseValue {
    double level = 0.0, slope = 0.0, bend = 0.0;
};

/// Phases of `lanes` neighbouring bins, and how far they turn to the next `lanes`.
struct Phases {
    std::array<double, lanes> cosine{}, sine{}, omega{};
    std::complex<double> step;
    double omega_step = 0.0;
};

LULL_CLONES PhaseValue sum_phases(const double* real, const double* imaginary, std::size_t count,
                                  const Phases& from) {
    Phases now = from;
    std::array<double, lanes> level{}, slope{}, bend{};
    const double step_cosine = from.step.real(), step_sine = from.step.imag();
    for (std::size_t at = 0; at < count; at += lanes)
        for (std::size_t i = 0; i < lanes; ++i) {
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

/// The sum over bins k of the real part of w[k] exp(2 pi i f_k delay), and its derivatives by the
/// delay.
class PhaseSum {
  public:
    PhaseSum(double bin_omega, std::size_t first_bin, std::size_t bins)
        : bin_omega_(bin_omega), first_bin_(first_bin), real_((bins + lanes - 1) / lanes * lanes),
          imaginary_(real_.size()) {}

    void set(std::size_t bin, std::complex<double> w) {
        real_[bin - first_bin_] = w.real();
        imaginary_[bin - first_bin_] = w.imag();
    }
    [[nodiscard]] std::complex<double> operator[](std::size_t bin) const {
        return {real_[bin - first_bin_], imaginary_[bin - first_bin_]};
    }

    [[nodiscard]] PhaseValue at(double delay_s) const {
        // The phase turns by the same step from bin to bin.
        Phases phases;
        phases.omega_step = bin_omega_ * lanes;
        phases.step = std::polar(1.0, phases.omega_step * delay_s);
        for (std::size_t i = 0; i < lanes; ++i) {
            phases.omega[i] = bin_omega_ * static_cast<double>(first_bin_ + i);
            phases.cosine[i] = std::cos(phases.omega[i] * delay_s);
            phases.sine[i] = std::sin(phases.omega[i] * delay_s);
        }
        return sum_phases(real_.data(), imaginary_.data(), real_.size(), phases);
    }

  private:
    double bin_omega_; ///< angular frequency of one bin [rad/s]
    std::size_t first_bin_;
    std::vector<double> real_, imaginary_;
};

/// The bins of a transform within the band: [first, end).
struct Bins {
    std::size_t first, end;
};

Bins bins_of(const HeardSpectrum& heard, Band band) {
    const double bin_hz = heard.rate_hz / static_cast<double>(heard.size);
    return {static_cast<std::size_t>(std::max(1.0, std::ceil(band.low_hz / bin_hz))),
            std::min(heard.spectrum.size(), static_cast<std::size_t>(band.high_hz / bin_hz) + 1)};
}

double bin_omega_of(const HeardSpectrum& heard) {
    return two_pi * heard.rate_hz / static_cast<double>(heard.size);
}

/// The likelihood of a delay between two channels.
struct Likelihood {
    PhaseSum sum;
    double information = 0.0; ///< sum of g
    double curvature = 0.0;   ///< 2 sum omega^2 g
};

Likelihood likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Bins bins) {
    // Zero padding makes neighbouring bins tell the same: each counts for its share of the stretch.
    const double independent = static_cast<double>(a.frames) / static_cast<double>(a.size);
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
        result.curvature += 2.0 * independent * g * omega * omega;
    }
    return result;
}

/// Maxima of the likelihood on a grid of at most an eighth of the shortest period, best first,
/// refined between the points; out to twice the longest delay, so that a better one beyond it is
/// seen.
std::vector<std::pair<double, double>> maxima(const PhaseSum& likelihood, Bins bins, double rate_hz,
                                              double longest_delay_s, std::size_t size) {
    const std::size_t points = shared_size(std::max(8 * bins.end, size / 2));
    const RealFft fft(points);
    Spectrum spectrum(fft.bins());
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

HeardSpectrum heard_spectrum(std::span<const float> event, std::span<const float> noise,
                             double rate_hz, double longest_delay_s) {
    HeardSpectrum heard;
    heard.rate_hz = rate_hz;
    heard.frames = event.size();
    // Room for the delays that are looked at, out to twice the longest, without wrapping round.
    heard.size = shared_size(
        event.size() + 2 * static_cast<std::size_t>(std::ceil(longest_delay_s * rate_hz)) + 2);
    const auto half_width =
        static_cast<std::size_t>(smooth_hz / 2.0 / (rate_hz / static_cast<double>(heard.size)));
    heard.spectrum = transform(event, heard.size);
    std::vector<double> energy(heard.spectrum.size());
    add_energy(heard.spectrum, energy);
    heard.energy = smoothed(energy, half_width);
    heard.snr =
        snr_of(heard.energy, smoothed(noise_energy(noise, event.size(), heard.size), half_width));
    heard.weighted = weighted_spectrum(heard);
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
    const Bins bins = bins_of(a, band);
    const Likelihood likelihood = likelihood_of(a, b, bins);
    auto found = maxima(likelihood.sum, bins, a.rate_hz, longest_delay_s, a.size);
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
