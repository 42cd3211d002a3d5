// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/window.hpp"

#include <cmath>
#include <complex>
#include <numbers>

namespace lull {
namespace {

double at(WindowKind kind, double phase) {
    switch (kind) {
    case WindowKind::hann:
        return 0.5 - 0.5 * std::cos(phase);
    case WindowKind::hamming:
        return 0.54 - 0.46 * std::cos(phase);
    case WindowKind::blackman:
        return 0.42 - 0.5 * std::cos(phase) + 0.08 * std::cos(2.0 * phase);
    }
    return 1.0;
}

double sum(std::span<const float> window) {
    double total = 0.0;
    for (const float w : window)
        total += w;
    return total;
}

} // namespace

std::vector<float> periodic_window(WindowKind kind, std::size_t n) {
    std::vector<float> window(n);
    for (std::size_t i = 0; i < n; ++i)
        window[i] = static_cast<float>(
            at(kind, 2.0 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(n)));
    return window;
}

double equivalent_noise_bandwidth(std::span<const float> window) {
    double squares = 0.0;
    for (const float w : window)
        squares += static_cast<double>(w) * w;
    const double total = sum(window);
    return static_cast<double>(window.size()) * squares / (total * total);
}

double coherent_gain(std::span<const float> window) {
    return sum(window) / static_cast<double>(window.size());
}

double scallop_loss_db(std::span<const float> window) {
    std::complex<double> half_bin = 0.0;
    const double step = std::numbers::pi / static_cast<double>(window.size());
    for (std::size_t i = 0; i < window.size(); ++i)
        half_bin += std::polar(static_cast<double>(window[i]), -step * static_cast<double>(i));
    return -20.0 * std::log10(std::abs(half_bin) / sum(window));
}

} // namespace lull
