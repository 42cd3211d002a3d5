// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/log_bands.hpp"

#include "signal/fft.hpp"
#include "signal/window.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <functional>

namespace lull {

namespace {

constexpr std::size_t long_size = 512, short_size = 128;
constexpr std::size_t long_bands = 22, short_bands = 23;
constexpr std::size_t first_long_bin = 4; ///< 62.5 Hz; bands are two bins apart
constexpr std::array<std::size_t, short_bands + 1> short_edges{
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 22, 25, 29, 33, 38, 44, 50, 57, 64};
constexpr float least_power = 1e-12F; ///< under the rounding of 24 bits
constexpr float lowest = -2.5F, highest = 5.0F;
static_assert(log_band_count == long_bands + 2 * short_bands);

/// Power of each bin of one windowed stretch, as a share of the mean square.
class BinPowers {
  public:
    explicit BinPowers(std::size_t size)
        : fft_(size), window_(periodic_window(WindowKind::hann, size)), windowed_(size),
          spectrum_(fft_.bins()), power_(fft_.bins()) {
        double squares = 0.0;
        for (const float w : window_)
            squares += static_cast<double>(w) * static_cast<double>(w);
        const double scale = std::sqrt(2.0 / (static_cast<double>(size) * squares));
        for (float& w : window_)
            w *= static_cast<float>(scale);
    }

    /// \param begin  of the window; samples outside the signal are 0
    const std::vector<float>& at(std::span<const float> samples, std::ptrdiff_t begin) {
        const auto count = static_cast<std::ptrdiff_t>(windowed_.size());
        const auto end = static_cast<std::ptrdiff_t>(samples.size());
        const std::ptrdiff_t from = std::clamp<std::ptrdiff_t>(-begin, 0, count);
        const std::ptrdiff_t to = std::clamp<std::ptrdiff_t>(end - begin, from, count);
        std::fill(windowed_.begin(), windowed_.begin() + from, 0.0F);
        std::fill(windowed_.begin() + to, windowed_.end(), 0.0F);
        std::transform(window_.begin() + from, window_.begin() + to,
                       samples.begin() + (begin + from), windowed_.begin() + from,
                       std::multiplies());
        fft_.forward(windowed_, spectrum_);
        for (std::size_t k = 0; k < power_.size(); ++k)
            power_[k] = std::norm(spectrum_[k]);
        return power_;
    }

  private:
    RealFft fft_;
    std::vector<float> window_, windowed_;
    std::vector<std::complex<float>> spectrum_;
    std::vector<float> power_;
};

float half_log(float power) {
    return 0.5F * std::log(power + least_power);
}

/// Takes the mean around each frame off it.
void refer_to_mean(std::vector<float>& levels, std::size_t frames) {
    std::vector<double> sums(frames + 1);
    std::vector<float> own(frames);
    for (std::size_t band = 0; band < log_band_count; ++band) {
        for (std::size_t i = 0; i < frames; ++i) {
            own[i] = levels[i * log_band_count + band];
            sums[i + 1] = sums[i] + own[i];
        }
        for (std::size_t i = 0; i < frames; ++i) {
            const std::size_t begin = i - std::min(i, log_band_context);
            const std::size_t end = std::min(frames, i + log_band_context + 1);
            const auto mean =
                static_cast<float>((sums[end] - sums[begin]) / static_cast<double>(end - begin));
            levels[i * log_band_count + band] = std::clamp(own[i] - mean, lowest, highest);
        }
    }
}

} // namespace

std::vector<float> log_bands(std::span<const float> samples) {
    const std::size_t frames = samples.size() / log_band_hop;
    std::vector<float> levels(frames * log_band_count);
    BinPowers fine(long_size);
    BinPowers quick(short_size);
    for (std::size_t i = 0; i < frames; ++i) {
        float* level = levels.data() + i * log_band_count;
        const auto begin = static_cast<std::ptrdiff_t>(i * log_band_hop);
        const auto hop = static_cast<std::ptrdiff_t>(log_band_hop);
        const auto half = [](std::size_t size) { return static_cast<std::ptrdiff_t>(size / 2); };
        const std::vector<float>& low = fine.at(samples, begin + hop / 2 - half(long_size));
        for (std::size_t b = 0; b < long_bands; ++b) {
            const std::size_t bin = first_long_bin + 2 * b;
            *level++ = half_log(low[bin] + 0.5F * (low[bin - 1] + low[bin + 1]));
        }
        for (const std::ptrdiff_t centre : {hop / 4, 3 * hop / 4}) {
            const std::vector<float>& high = quick.at(samples, begin + centre - half(short_size));
            for (std::size_t b = 0; b < short_bands; ++b) {
                float sum = 0.0F;
                for (std::size_t bin = short_edges[b]; bin < short_edges[b + 1]; ++bin)
                    sum += high[bin];
                *level++ = half_log(sum);
            }
        }
    }
    refer_to_mean(levels, frames);
    return levels;
}

} // namespace lull
