// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/delay.hpp"

#include "compare/internal/delay_likelihood.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <utility>

namespace lull {
namespace {

/// Log likelihood by which the maximum must lead any other: odds of e^8, about 3000 to 1.
constexpr double least_lead = 8.0;
/// Least information, as the sum of g over the bins: below it outliers rule, and no estimator
/// follows the bound (threshold effect).
constexpr double least_information = 12.0;

double correlation_at(const HeardSpectrum& a, const HeardSpectrum& b, double delay_s) {
    PhaseSum cross{bin_omega_of(a), a.bins, std::vector<float>(a.real.size()),
                   std::vector<float>(a.real.size())};
    double aa = 0.0, bb = 0.0;
    for (std::size_t i = 0; i < a.real.size(); ++i) {
        const std::complex<float> of_a(a.real[i], a.imaginary[i]), of_b(b.real[i], b.imaginary[i]);
        cross.real[i] = of_a.real() * of_b.real() + of_a.imag() * of_b.imag();
        cross.imaginary[i] = of_a.real() * of_b.imag() - of_a.imag() * of_b.real();
        aa += static_cast<double>(std::norm(of_a));
        bb += static_cast<double>(std::norm(of_b));
    }
    return aa > 0.0 && bb > 0.0 ? cross.at(delay_s).level / std::sqrt(aa * bb) : 0.0;
}

} // namespace

const char* name_of(DelayMethod method) {
    return method == DelayMethod::waveform ? "waveform" : "envelope";
}

HeardSpectrum spectrum_of_event(std::span<const float> event, const NoiseSpectrum& noise,
                                double rate_hz, Band band, double longest_delay_s,
                                TransformRoom& room) {
    // Without wrapping round.
    const std::size_t size = shared_size(
        event.size() + 2 * static_cast<std::size_t>(std::ceil(longest_delay_s * rate_hz)) + 2);
    room.samples.assign(size, 0.0F);
    std::ranges::copy(event, room.samples.begin());
    HeardSpectrum heard;
    hear_spectrum(heard, room, static_cast<double>(event.size()), noise, rate_hz, band);
    return heard;
}

DelayEstimate delay_between(const DelayInput& input) {
    TransformRoom room;
    const auto heard = [&](std::span<const float> event, std::span<const float> noise) {
        return spectrum_of_event(
            event,
            noise_spectrum(noise, std::max<std::size_t>(1, event.size()), input.rate_hz, room),
            input.rate_hz, input.band, input.longest_delay_s, room);
    };
    const HeardSpectrum a = heard(input.a, input.noise_a), b = heard(input.b, input.noise_b);
    Likelihood likelihood;
    likelihood_of(a, b, likelihood);
    return likeliest_delay(
        a, b, input.longest_delay_s, likelihood,
        maxima(likelihood.sum, input.rate_hz, input.longest_delay_s, a.size, room));
}

DelayEstimate likeliest_delay(const HeardSpectrum& a, const HeardSpectrum& b,
                              double longest_delay_s, const Likelihood& likelihood,
                              std::vector<Maximum> found) {
    DelayEstimate estimate;
    const auto beyond = [&](const Maximum& maximum) {
        return std::abs(maximum.delay_s) >= longest_delay_s;
    };
    const bool better_beyond = !found.empty() && beyond(found.front());
    if (!std::ranges::all_of(found, beyond)) std::erase_if(found, beyond);
    if (found.empty() || !(likelihood.curvature > 0.0)) {
        estimate.reason = "nothing above the noise on both channels";
        return estimate;
    }
    estimate.delay_s = found.front().delay_s;
    estimate.sigma_s = 1.0 / std::sqrt(likelihood.curvature);
    estimate.correlation = correlation_at(a, b, estimate.delay_s);
    if (likelihood.information < least_information)
        estimate.reason = "too little above the noise";
    else if (found.front().level < least_lead * 2.0)
        estimate.reason = "the channels are not alike";
    else if (better_beyond)
        estimate.reason = "a delay longer than is possible is more likely";
    else if (found.size() > 1 && found[0].level - found[1].level < least_lead)
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
