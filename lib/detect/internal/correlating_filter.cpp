// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/correlating_filter.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>

namespace lull {

std::vector<float> correlating_filter(const TapTemplate& from, int channel, std::size_t margin,
                                      const Sections& band_pass, double full_rate_hz) {
    const std::size_t own = static_cast<std::size_t>(channel) * from.bins();
    std::vector<std::complex<float>> spectrum(from.bins());
    for (std::size_t k = 0; k < from.bins(); ++k) {
        const float weight = from.weight[own + k];
        if (weight <= 0.0F) continue;
        const double f = static_cast<double>(k) * from.rate_hz / static_cast<double>(from.size);
        // The product is one of filtered windows; the filter is moved to the template's side.
        const std::complex<float> passed(response(band_pass, f, full_rate_hz));
        spectrum[k] = weight * from.mean[own + k] * std::conj(passed);
    }
    const RealFft fft(from.size);
    std::vector<float> circular(from.size);
    fft.inverse(spectrum, circular);
    std::vector<float> filter(from.length + 2 * margin);
    double sum = 0.0;
    for (std::size_t i = 0; i < filter.size(); ++i) {
        filter[i] = circular[(i + from.size - margin) % from.size];
        const std::size_t edge = std::min(i, filter.size() - 1 - i);
        if (edge < margin) {
            const double share = (static_cast<double>(edge) + 0.5) / static_cast<double>(margin);
            filter[i] *= static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * share));
        }
        sum += static_cast<double>(filter[i]);
    }
    for (float& value : filter) // an offset says nothing
        value -= static_cast<float>(sum / static_cast<double>(filter.size()));
    return filter;
}

} // namespace lull
