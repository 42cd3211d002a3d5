// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/place_match.hpp"

#include "clones.hpp"
#include "conventions.hpp"
#include "detect/internal/imprint.hpp"
#include "signal/tracks.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>

namespace lull {

namespace {

constexpr double apart_s = 10.0;     ///< from which on impulses tell of chance
constexpr std::size_t each_side = 8; ///< of them
constexpr int lags_each_side = 8;    ///< of 0.25 ms
constexpr double lag_step_s = 0.00025;

using Bins = std::array<float, most_imprint_bins>;

/// What is gathered over channels, bin by bin.
struct Sums {
    Bins phase_re{}, phase_im{}; ///< weighted unit phasors of one over the other
    Bins weight{}, squares{}, fourths{};
    Bins cross_re{}, cross_im{}; ///< cross spectra, each over its norms
};

/// Adds one channel. \param a, b  real and imaginary parts in turn
LULL_CLONES void add_channel(const std::int8_t* a, const std::int8_t* b, const float* weight,
                             float scale, std::size_t count, Sums& sums) {
    for (std::size_t k = 0; k < count; ++k) {
        const auto ar = static_cast<float>(a[2 * k]), ai = static_cast<float>(a[2 * k + 1]);
        const auto br = static_cast<float>(b[2 * k]), bi = static_cast<float>(b[2 * k + 1]);
        const float re = ar * br + ai * bi;
        const float im = ai * br - ar * bi;
        const float size = std::sqrt(re * re + im * im);
        const float w = size > 0.0F ? weight[k] : 0.0F;
        const float part = w / std::max(size, 1.0F);
        const float square = w * w;
        sums.phase_re[k] += part * re;
        sums.phase_im[k] += part * im;
        sums.weight[k] += w;
        sums.squares[k] += square;
        sums.fourths[k] += square * square;
        sums.cross_re[k] += scale * re;
        sums.cross_im[k] += scale * im;
    }
}

/// How far each bin stands over the floor, 0..1, on the one of two arrivals where it stands less.
void weigh(const Shape& a, const Shape& b, std::size_t count, Bins& weight) {
    const std::size_t bands = std::min(a.band_db.size(), b.band_db.size());
    weight.fill(0.0F);
    if (bands == 0) return;
    const double spacing_hz = static_cast<double>(a.imprint.spacing_hz);
    const double first = std::ceil(imprint_from_hz / spacing_hz);
    std::size_t band = 0;
    for (std::size_t k = 0; k < count; ++k) {
        const double at_hz = (first + static_cast<double>(k)) * spacing_hz;
        while (band + 1 < bands && at_hz >= spectrum_edges_hz[band + 1])
            ++band;
        const double over_db = static_cast<double>(std::min(a.band_db[band], b.band_db[band]));
        weight[k] = static_cast<float>(1.0 - db_to_power(-over_db));
    }
}

/// Largest real part of the cross spectrum over lags around `lag_s`, which is b's onset less a's.
double best_correlation(const Sums& sums, std::size_t count, double spacing_hz, double lag_s) {
    const double first_hz = spacing_hz * std::ceil(imprint_from_hz / spacing_hz);
    double best = -1.0;
    for (int step = -lags_each_side; step <= lags_each_side; ++step) {
        const double at_s = -(lag_s + step * lag_step_s);
        const auto turn = [&](double hz) {
            return std::polar(1.0, 2.0 * std::numbers::pi * std::fmod(hz * at_s, 1.0));
        };
        std::complex<double> phasor = turn(first_hz);
        const std::complex<double> next = turn(spacing_hz);
        double sum = 0.0;
        for (std::size_t k = 0; k < count; ++k) {
            sum += static_cast<double>(sums.cross_re[k]) * phasor.real() -
                   static_cast<double>(sums.cross_im[k]) * phasor.imag();
            phasor *= next;
        }
        best = std::max(best, sum);
    }
    return best;
}

/// A channel on which both have an imprint.
struct Shared {
    const Arrival* a = nullptr;
    const Arrival* b = nullptr;
    [[nodiscard]] double expected() const {
        return std::sqrt(static_cast<double>(a->shape.imprint.signal_share) *
                         static_cast<double>(b->shape.imprint.signal_share));
    }
};

std::vector<Shared> shared_channels(const Event& a, const Event& b) {
    std::vector<Shared> shared;
    for (const Arrival& x : a.arrivals)
        for (const Arrival& y : b.arrivals)
            if (x.channel == y.channel && !x.shape.imprint.bins.empty() &&
                x.shape.imprint.bins.size() == y.shape.imprint.bins.size() &&
                (shared.empty() ||
                 x.shape.imprint.bins.size() == shared.front().a->shape.imprint.bins.size()))
                shared.push_back({&x, &y}); // what comes from a file may be of several lengths
    return shared;
}

/// The phases between channels alone.
void add_agreement(const Sums& sums, std::size_t count, PlaceMatch& match) {
    double agreement = 0.0;
    double possible = 0.0;
    double variance = 0.0;
    for (std::size_t k = 0; k < count; ++k) {
        const auto square = [](float v) { return static_cast<double>(v) * static_cast<double>(v); };
        const auto own = static_cast<double>(sums.squares[k]);
        agreement += 0.5 * (square(sums.phase_re[k]) + square(sums.phase_im[k]) - own);
        possible += 0.5 * (square(sums.weight[k]) - own);
        variance += 0.25 * (own * own - static_cast<double>(sums.fourths[k]));
    }
    if (match.channels < 2 || !(variance > 0.0)) return;
    match.agreement = agreement / std::sqrt(variance);
    match.coherence = agreement / possible;
}

} // namespace

PlaceMatch match_places(const Event& a, const Event& b) {
    const std::vector<Shared> shared = shared_channels(a, b);
    PlaceMatch match;
    match.channels = static_cast<int>(shared.size());
    if (shared.empty()) return match;
    Sums sums;
    Bins weight;
    double all = 0.0;
    const Shared* surest = &shared.front();
    for (const Shared& one : shared) {
        all += one.expected();
        if (one.expected() > surest->expected()) surest = &one;
    }
    const Imprint& any = surest->a->shape.imprint;
    const std::size_t count = any.bins.size() / 2;
    for (const Shared& one : shared) {
        const Imprint& x = one.a->shape.imprint;
        const Imprint& y = one.b->shape.imprint;
        weigh(one.a->shape, one.b->shape, count, weight);
        const double share = one.expected() / all;
        add_channel(x.bins.data(), y.bins.data(), weight.data(),
                    static_cast<float>(share / (static_cast<double>(x.norm) * y.norm)), count,
                    sums);
        match.expected += share * one.expected();
    }
    add_agreement(sums, count, match);
    match.correlation = best_correlation(sums, count, static_cast<double>(any.spacing_hz),
                                         surest->b->onset_s - surest->a->onset_s);
    return match;
}

} // namespace lull
