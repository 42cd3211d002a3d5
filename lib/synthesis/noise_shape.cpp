// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/noise_shape.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

struct Point {
    double frequency_hz, density_db;
};

/// Interpolates in log frequency; beyond the ends with the given slopes per octave.
double density_at(std::span<const Point> points, double frequency_hz, double below_db,
                  double above_db) {
    if (frequency_hz <= points.front().frequency_hz) {
        return points.front().density_db -
               below_db * std::log2(points.front().frequency_hz / frequency_hz);
    }
    if (frequency_hz >= points.back().frequency_hz) {
        return points.back().density_db -
               above_db * std::log2(frequency_hz / points.back().frequency_hz);
    }
    const auto after = std::find_if(points.begin(), points.end(),
                                    [&](const Point& p) { return p.frequency_hz >= frequency_hz; });
    const auto before = after - 1;
    const double part = std::log(frequency_hz / before->frequency_hz) /
                        std::log(after->frequency_hz / before->frequency_hz);
    return before->density_db + part * (after->density_db - before->density_db);
}

/// Typical density spectra of sites, dB at 31, 63, 125, 250, 500, 1000, 2000, 4000 Hz [practice].
using Shape = std::array<double, 8>;

Shape shape_of(LayerKind kind, bool air) {
    switch (kind) {
    case LayerKind::traffic:
        return air ? Shape{6, 8, 4, 0, -4, -8, -14, -22} : Shape{10, 8, 0, -8, -18, -28, -38, -46};
    case LayerKind::rain:
        return air ? Shape{-14, -12, -9, -6, -3, 0, 2, 2} : Shape{-8, -5, -2, 0, 0, -3, -8, -15};
    case LayerKind::wind:
        return air ? Shape{12, 6, 0, -7, -14, -20, -27, -34}
                   : Shape{8, 2, -4, -10, -16, -22, -28, -34};
    case LayerKind::generator:
        return air ? Shape{2, 6, 5, 2, -2, -6, -12, -18} : Shape{4, 8, 5, 0, -8, -16, -26, -36};
    default:
        return air ? Shape{8, 4, 0, -4, -8, -12, -17, -22}
                   : Shape{10, 5, 0, -5, -10, -14, -18, -22};
    }
}

std::vector<float> power_of(std::span<const Point> points, std::size_t size, double rate_hz,
                            double below_db, double above_db) {
    std::vector<float> power(size / 2 + 1, 0.0F);
    const double step_hz = rate_hz / static_cast<double>(size);
    for (std::size_t k = 1; k + 1 < power.size(); ++k) {
        const double density_db =
            density_at(points, static_cast<double>(k) * step_hz, below_db, above_db);
        power[k] = static_cast<float>(std::pow(10.0, density_db / 10.0) * step_hz);
    }
    return power;
}

} // namespace

std::vector<float> third_octave_power(std::span<const std::array<double, 2>> third_octaves,
                                      std::size_t size, double rate_hz) {
    std::vector<Point> points;
    for (const auto& [nominal_hz, level_db] : third_octaves) {
        const double middle_hz =
            1000.0 * std::pow(10.0, std::round(10.0 * std::log10(nominal_hz / 1000.0)) / 10.0);
        points.push_back({middle_hz, level_db});
    }
    const double low = std::pow(10.0, -0.05), high = std::pow(10.0, 0.05);
    std::vector<Point> density = points;
    for (Point& point : density)
        point.density_db -= 10.0 * std::log10(point.frequency_hz * (high - low));
    std::vector<float> power = power_of(density, size, rate_hz, 24.0, 12.0);
    const double step_hz = rate_hz / static_cast<double>(size);
    for (const Point& point : points) {
        // A bin belongs to the band that holds its centre.
        const auto first = static_cast<std::size_t>(std::ceil(point.frequency_hz * low / step_hz));
        const auto last = std::min(
            power.size(), static_cast<std::size_t>(std::ceil(point.frequency_hz * high / step_hz)));
        double sum = 0.0;
        for (std::size_t k = first; k < last; ++k)
            sum += static_cast<double>(power[k]);
        if (sum <= 0.0) continue;
        const double wanted = std::pow(10.0, point.density_db / 10.0);
        for (std::size_t k = first; k < last; ++k)
            power[k] *= static_cast<float>(wanted / sum);
    }
    return power;
}

std::vector<float> layer_power(LayerKind kind, bool on_microphone, double tilt_db_octave,
                               std::span<const float> band_weights, std::size_t size,
                               double rate_hz) {
    const Shape shape = shape_of(kind, on_microphone);
    std::vector<Point> points;
    for (std::size_t i = 0; i < shape.size(); ++i) {
        const double octave = static_cast<double>(i);
        points.push_back(
            {31.25 * std::pow(2.0, octave), shape[i] + tilt_db_octave * (octave - 3.0)});
    }
    std::vector<float> power = power_of(points, size, rate_hz, 6.0, 6.0);
    const auto scale = static_cast<float>(1.0 / weighted_power(power, band_weights));
    for (float& value : power)
        value *= scale;
    return power;
}

double weighted_power(std::span<const float> power, std::span<const float> weights) {
    double sum = 0.0;
    for (std::size_t k = 0; k < power.size(); ++k)
        sum += static_cast<double>(power[k]) * static_cast<double>(weights[k]);
    return sum;
}

} // namespace lull
