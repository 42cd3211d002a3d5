// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/stft.hpp"

#include "signal/fft.hpp"

namespace lull {

ShortTimeSpectra short_time_spectra(std::span<const float> samples, std::size_t window,
                                    std::size_t hop, WindowKind kind) {
    const RealFft fft(window);
    const std::vector<float> weights = periodic_window(kind, window);
    ShortTimeSpectra spectra;
    spectra.bins = fft.bins();
    std::vector<float> windowed(window);
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (std::size_t first = 0; first + window <= samples.size(); first += hop) {
        for (std::size_t i = 0; i < window; ++i)
            windowed[i] = samples[first + i] * weights[i];
        fft.forward(windowed, spectrum);
        spectra.value.insert(spectra.value.end(), spectrum.begin(), spectrum.end());
    }
    return spectra;
}

} // namespace lull
