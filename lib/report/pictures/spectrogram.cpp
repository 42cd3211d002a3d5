// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/spectrogram.hpp"

#include "clones.hpp"
#include "signal/fft.hpp"
#include "signal/window.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

namespace lull {
namespace {

constexpr std::size_t lighter_shades = 15; ///< than black
constexpr int shade_step = 17;

/// 0 black to 255 white. \param ratio  of the loudest power to this one, >= 1
int grey_of(float ratio, double range_db) {
    const double shade = std::clamp(10.0 * std::log10(ratio) / range_db, 0.0, 1.0);
    return static_cast<int>(255.0 * shade + 0.5);
}

/// The least ratio of each shade except black. Comparing is cheaper than a logarithm for each
/// pixel.
std::array<float, lighter_shades> shade_limits(double range_db) {
    std::array<float, lighter_shades> limits{};
    for (std::size_t shade = 0; shade < limits.size(); ++shade) {
        // Positive numbers have the order of their bits.
        auto low = std::bit_cast<std::uint32_t>(1.0F),
             high = std::bit_cast<std::uint32_t>(std::numeric_limits<float>::infinity());
        while (high - low > 1) {
            const std::uint32_t middle = low + (high - low) / 2;
            const bool reached = grey_of(std::bit_cast<float>(middle), range_db) >=
                                 shade_step * static_cast<int>(shade + 1);
            (reached ? high : low) = middle;
        }
        limits[shade] = std::bit_cast<float>(high);
    }
    return limits;
}

LULL_CLONES void shade(const float* powers, std::size_t count, float loudest,
                       const std::array<float, lighter_shades>& limits, std::int32_t* greys) {
    for (std::size_t i = 0; i < count; ++i) {
        const float ratio = loudest / powers[i];
        std::int32_t lighter = 0;
        for (const float limit : limits)
            lighter += ratio >= limit ? 1 : 0;
        greys[i] = shade_step * lighter;
    }
}

} // namespace

Spectrogram spectrogram(std::span<const float> samples, double rate_hz, double window_s,
                        int columns) {
    const RealFft fft(fast_size(static_cast<std::size_t>(std::max(2.0, window_s * rate_hz))));
    const std::size_t size = fft.size();
    Spectrogram result;
    result.bins = static_cast<int>(fft.bins());
    result.bin_hz = rate_hz / static_cast<double>(size);
    if (samples.size() < size || columns < 1) return result;
    const std::size_t room = samples.size() - size;
    const std::size_t step =
        std::max<std::size_t>(1, room / static_cast<std::size_t>(std::max(1, columns - 1)));
    result.columns = std::min(columns, static_cast<int>(room / step) + 1);
    result.first_s = 0.5 * static_cast<double>(size) / rate_hz;
    result.step_s = static_cast<double>(step) / rate_hz;

    const std::vector<float> window = periodic_window(WindowKind::hann, size);
    // A sine of amplitude a gives |X| = a/2 * size * gain at its bin; its mean square is a^2/2.
    const double sine = coherent_gain(window) * static_cast<double>(size);
    const auto scale = static_cast<float>(2.0 / (sine * sine));
    std::vector<float> windowed(size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    result.power.reserve(static_cast<std::size_t>(result.columns) * fft.bins());
    for (int column = 0; column < result.columns; ++column) {
        const std::size_t first = static_cast<std::size_t>(column) * step;
        for (std::size_t i = 0; i < size; ++i)
            windowed[i] = samples[first + i] * window[i];
        fft.forward(windowed, spectrum);
        for (const auto& bin : spectrum)
            result.power.push_back(scale * std::norm(bin));
    }
    return result;
}

GreyImage picture_of(const Spectrogram& from, double high_hz, int height, double range_db) {
    GreyImage image{from.columns, height, {}};
    image.pixels.assign(static_cast<std::size_t>(from.columns) * static_cast<std::size_t>(height),
                        255);
    if (from.columns == 0) return image;
    const float loudest = *std::ranges::max_element(from.power);
    if (!(loudest > 0.0F)) return image;
    const auto bin_at = [&](int row) {
        const double hertz = high_hz * static_cast<double>(row) / height;
        return std::clamp(static_cast<int>(std::lround(hertz / from.bin_hz)), 0, from.bins - 1);
    };
    std::vector<std::pair<int, int>> bins_of; // of each row, from the bottom
    for (int row = 0; row < height; ++row) {
        const int low = bin_at(row), high = std::max(low + 1, bin_at(row + 1));
        bins_of.emplace_back(low, std::min(high, from.bins));
    }
    const auto limits = shade_limits(range_db);
    std::vector<float> powers(bins_of.size());
    std::vector<std::int32_t> greys(bins_of.size());
    for (int column = 0; column < from.columns; ++column) {
        const float* bins = from.power.data() + static_cast<std::size_t>(column * from.bins);
        std::ranges::transform(bins_of, powers.begin(), [bins](const std::pair<int, int>& own) {
            return *std::max_element(bins + own.first, bins + own.second);
        });
        shade(powers.data(), powers.size(), loudest, limits, greys.data());
        for (int row = 0; row < height; ++row)
            image.pixels[static_cast<std::size_t>((height - 1 - row) * from.columns + column)] =
                static_cast<std::uint8_t>(greys[static_cast<std::size_t>(row)]);
    }
    return image;
}

} // namespace lull
