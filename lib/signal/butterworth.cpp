// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/butterworth.hpp"

#include "error.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

using Complex = std::complex<double>;
constexpr int largest_order = 8;

void check(int order, double low_hz, double high_hz, double rate_hz) {
    if (order < 1 || order > largest_order)
        throw_usage(fmt::format("filter order {} is not possible", order),
                    fmt::format("give 1 to {}", largest_order));
    if (!(low_hz > 0.0 && low_hz < high_hz && high_hz < rate_hz / 2.0))
        throw_usage(fmt::format("a filter band of {:g}-{:g} Hz does not fit a rate of {:g} Hz",
                                low_hz, high_hz, rate_hz),
                    fmt::format("give LO-HI with 0 < LO < HI < {:g}", rate_hz / 2.0));
}

double warped(double frequency_hz, double rate_hz) {
    return std::tan(std::numbers::pi * frequency_hz / rate_hz);
}

/// Poles of the analogue low-pass of corner 1: those with positive imaginary part, and the real
/// one.
std::vector<Complex> prototype(int order) {
    std::vector<Complex> poles;
    for (int k = 0; k < (order + 1) / 2; ++k)
        poles.push_back(
            std::polar(1.0, std::numbers::pi * (0.5 + (2.0 * k + 1.0) / (2.0 * order))));
    if (order % 2 == 1) poles.back() = -1.0;
    return poles;
}

bool is_real(Complex pole) {
    return std::abs(pole.imag()) < 1e-14 * std::abs(pole);
}

Complex bilinear(Complex s) {
    return (1.0 + s) / (1.0 - s);
}

/// A section with two given poles and the numerator z^2 + n1 z + n2, scaled to magnitude 1 at `at`.
Section section_of(Complex pole, Complex other, double n1, double n2, Complex at) {
    Section s{1.0, n1, n2, -(pole + other).real(), (pole * other).real()};
    const Complex d = 1.0 / at;
    const Complex h = (s.b0 + d * (s.b1 + d * s.b2)) / (1.0 + d * (s.a1 + d * s.a2));
    const double gain = 1.0 / std::abs(h);
    s.b0 *= gain;
    s.b1 *= gain;
    s.b2 *= gain;
    return s;
}

Section first_order(Complex pole, double n1, Complex at) {
    return section_of(pole, 0.0, n1, 0.0, at);
}

/// Low-pass (zeros at -1) or high-pass (zeros at 1), unit gain at z = at.
Sections one_edge(int order, double corner, bool low, Complex at) {
    Sections sections;
    const double n1 = low ? 2.0 : -2.0;
    for (const Complex p : prototype(order)) {
        const Complex pole = bilinear(low ? p * corner : corner / p);
        sections.push_back(is_real(p) ? first_order(pole.real(), n1 / 2.0, at)
                                      : section_of(pole, std::conj(pole), n1, 1.0, at));
    }
    return sections;
}

} // namespace

Sections butterworth_lowpass(int order, double corner_hz, double rate_hz) {
    check(order, corner_hz / 2.0, corner_hz, rate_hz);
    return one_edge(order, warped(corner_hz, rate_hz), true, 1.0);
}

Sections butterworth_highpass(int order, double corner_hz, double rate_hz) {
    check(order, corner_hz / 2.0, corner_hz, rate_hz);
    return one_edge(order, warped(corner_hz, rate_hz), false, -1.0);
}

Sections butterworth_bandpass(int order, Band band, double rate_hz) {
    check(order, band.low_hz, band.high_hz, rate_hz);
    const double low = warped(band.low_hz, rate_hz), high = warped(band.high_hz, rate_hz);
    const double width = high - low, centre_squared = low * high;
    // Each section is scaled to 1 at the band's geometric centre, where the whole is exactly 1.
    const Complex at = std::polar(1.0, 2.0 * std::atan(std::sqrt(centre_squared)));
    Sections sections;
    for (const Complex p : prototype(order)) {
        const Complex half = p * width / 2.0;
        const Complex root = std::sqrt(half * half - centre_squared);
        const Complex one = bilinear(half + root), two = bilinear(half - root);
        if (is_real(p)) {
            sections.push_back(section_of(one, two, 0.0, -1.0, at));
            continue;
        }
        // The poles of the lower edge get zeros at 0 Hz, those of the upper edge zeros at half the
        // rate. With one zero at each end, the gain of a wide band's sections would vary over many
        // powers of ten between the edges, and so would rounding errors.
        const bool first_is_lower = std::abs(half + root) < std::abs(half - root);
        sections.push_back(section_of(one, std::conj(one), first_is_lower ? -2.0 : 2.0, 1.0, at));
        sections.push_back(section_of(two, std::conj(two), first_is_lower ? 2.0 : -2.0, 1.0, at));
    }
    // The poles nearest the unit circle come last, since earlier sections then reduce the peaks.
    std::ranges::stable_sort(sections, {}, [](const Section& s) { return s.a2; });
    return sections;
}

} // namespace lull
