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
#include <cstring>
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

using BandEnds = std::array<std::size_t, spectrum_edges_hz.size() - 1>;

/// One past the last bin in each band of a spectrum track.
BandEnds band_ends(std::size_t count, double spacing_hz) {
    const double first = std::ceil(imprint_from_hz / spacing_hz);
    BandEnds ends{};
    std::size_t k = 0;
    for (std::size_t band = 0; band < ends.size(); ++band) {
        while (k < count &&
               (first + static_cast<double>(k)) * spacing_hz < spectrum_edges_hz[band + 1])
            ++k;
        ends[band] = k;
    }
    return ends;
}

/// How far each bin stands over the floor, 0..1, on the one of two arrivals where it stands less.
void weigh(const Shape& a, const Shape& b, const BandEnds& ends, std::size_t count, Bins& weight) {
    const std::size_t bands = std::min({a.band_db.size(), b.band_db.size(), ends.size()});
    if (bands == 0) weight.fill(0.0F);
    std::size_t begin = 0;
    for (std::size_t band = 0; band < bands; ++band) {
        const double over_db = static_cast<double>(std::min(a.band_db[band], b.band_db[band]));
        const std::size_t end = band + 1 < bands ? ends[band] : count;
        std::fill(weight.begin() + begin, weight.begin() + end,
                  static_cast<float>(1.0 - db_to_power(-over_db)));
        begin = end;
    }
}

constexpr std::size_t lag_lanes = 4, lag_vectors = 5;
constexpr std::size_t lags = 2 * lags_each_side + 1;
static_assert(lags <= lag_lanes * lag_vectors);
using LagLanes = double __attribute__((vector_size(lag_lanes * sizeof(double))));

using Lags = std::array<double, lag_lanes * lag_vectors>; ///< a number for each lag

/// For each lag the real part of the cross spectrum, its bins turned back.
/// \param re, im  phasors of the first bin \param step_re, step_im  from each bin to the next
LULL_CLONES void sum_turned(const float* cross_re, const float* cross_im, std::size_t count,
                            const Lags& first_re, const Lags& first_im, const Lags& next_re,
                            const Lags& next_im, Lags& sums) {
    LagLanes re[lag_vectors], im[lag_vectors], step_re[lag_vectors], step_im[lag_vectors];
    LagLanes sum[lag_vectors] = {};
    std::memcpy(re, first_re.data(), sizeof(re));
    std::memcpy(im, first_im.data(), sizeof(im));
    std::memcpy(step_re, next_re.data(), sizeof(step_re));
    std::memcpy(step_im, next_im.data(), sizeof(step_im));
    for (std::size_t k = 0; k < count; ++k) {
        const auto x = static_cast<double>(cross_re[k]), y = static_cast<double>(cross_im[k]);
        for (std::size_t v = 0; v < lag_vectors; ++v) {
            sum[v] += x * re[v] - y * im[v];
            const LagLanes turned = re[v] * step_re[v] - im[v] * step_im[v];
            im[v] = re[v] * step_im[v] + im[v] * step_re[v];
            re[v] = turned;
        }
    }
    std::memcpy(sums.data(), sum, sizeof(sum));
}

/// Largest real part of the cross spectrum over lags around `lag_s`, which is b's onset less a's.
double best_correlation(const Sums& cross, std::size_t count, double spacing_hz, double lag_s) {
    const double first_hz = spacing_hz * std::ceil(imprint_from_hz / spacing_hz);
    Lags re{}, im{}, step_re{}, step_im{}, sums{};
    for (std::size_t lag = 0; lag < lags; ++lag) {
        const double at_s = -(lag_s + (static_cast<int>(lag) - lags_each_side) * lag_step_s);
        const auto turn = [&](double hz) {
            return std::polar(1.0, 2.0 * std::numbers::pi * std::fmod(hz * at_s, 1.0));
        };
        const std::complex<double> first = turn(first_hz), step = turn(spacing_hz);
        re[lag] = first.real(), im[lag] = first.imag();
        step_re[lag] = step.real(), step_im[lag] = step.imag();
    }
    sum_turned(cross.cross_re.data(), cross.cross_im.data(), count, re, im, step_re, step_im, sums);
    double best = -1.0;
    for (std::size_t lag = 0; lag < lags; ++lag)
        best = std::max(best, sums[lag]);
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
    const BandEnds ends = band_ends(count, static_cast<double>(any.spacing_hz));
    for (const Shared& one : shared) {
        const Imprint& x = one.a->shape.imprint;
        const Imprint& y = one.b->shape.imprint;
        weigh(one.a->shape, one.b->shape, ends, count, weight);
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
