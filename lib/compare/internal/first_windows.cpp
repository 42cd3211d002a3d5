// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/internal/first_windows.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double before_s = 0.002, rise_s = 0.001; ///< of a window: its start before the onset

/// The next of equally spaced values of a cosine.
class Cosine {
  public:
    Cosine(double phase, double step)
        : twice_(2.0 * std::cos(step)), now_(std::cos(phase)), before_(std::cos(phase - step)) {}
    double next() {
        const double value = now_;
        now_ = twice_ * value - before_;
        before_ = value;
        return value;
    }

  private:
    double twice_, now_, before_;
};

/// The window's values: rising from -before_s on for rise_s, 1 from there, fading over its second
/// half. \param first  index of the first sample taken \returns the sum of their squares
double fill_window(double onset, std::ptrdiff_t first, double length_s, double rate_hz,
                   std::span<float> window) {
    const double begin = static_cast<double>(first) - onset; // samples from the onset
    const double up = -before_s * rate_hz, rise = rise_s * rate_hz, down = 0.5 * length_s * rate_hz;
    const auto index_of = [&](double at) {
        return std::min(window.size(),
                        static_cast<std::size_t>(std::max(0.0, std::ceil(at - begin))));
    };
    const std::size_t rises = index_of(up), full = index_of(up + rise), fades = index_of(down),
                      ends = index_of(2.0 * down);
    std::fill(window.begin(), window.end(), 0.0F);
    Cosine rising(std::numbers::pi * (begin + static_cast<double>(rises) - up) / rise,
                  std::numbers::pi / rise);
    Cosine fading(std::numbers::pi * (begin + static_cast<double>(fades) - down) / down,
                  std::numbers::pi / down);
    double squares = static_cast<double>(std::max(full, fades) - full);
    const auto set = [&](std::size_t i, double value) {
        window[i] = static_cast<float>(value);
        squares += value * value;
    };
    for (std::size_t i = rises; i < full; ++i)
        set(i, 0.5 - 0.5 * rising.next());
    for (std::size_t i = full; i < fades; ++i)
        window[i] = 1.0F;
    for (std::size_t i = fades; i < ends; ++i)
        set(i, 0.5 + 0.5 * fading.next());
    return squares;
}

std::size_t window_size(const FirstWindow& kind, double rate_hz) {
    return shared_size(static_cast<std::size_t>(
        (kind.length_s + before_s + rise_s + 4.0 * window_search_s + 0.02) * rate_hz));
}

} // namespace

std::ptrdiff_t first_of_window(double onset, double rate_hz) {
    return static_cast<std::ptrdiff_t>(std::floor(onset)) -
           static_cast<std::ptrdiff_t>(before_s * rate_hz) - 1;
}

void hear_window(HeardSpectrum& heard, std::span<const float> samples, const NoiseSpectrum& noise,
                 double onset, const FirstWindow& kind, double rate_hz, Band band,
                 TransformRoom& room) {
    const std::size_t size = window_size(kind, rate_hz);
    const std::ptrdiff_t first = first_of_window(onset, rate_hz);
    room.samples.assign(size, 0.0F);
    const auto count =
        std::min(size, static_cast<std::size_t>((kind.length_s + before_s + rise_s) * rate_hz) + 2);
    const std::span<float> window = std::span(room.samples).first(count);
    const double frames = fill_window(onset, first, kind.length_s, rate_hz, window);
    const auto end = static_cast<std::ptrdiff_t>(samples.size());
    const auto from =
        static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(-first, 0, std::ssize(window)));
    const auto to = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(
        end - first, static_cast<std::ptrdiff_t>(from), std::ssize(window)));
    std::fill_n(window.begin(), from, 0.0F);
    std::fill(window.begin() + static_cast<std::ptrdiff_t>(to), window.end(), 0.0F);
    const float* stretch = samples.data() + first;
    for (std::size_t i = from; i < to; ++i)
        window[i] *= stretch[i];
    hear_spectrum(heard, room, frames, noise, rate_hz, band);
}

} // namespace lull
