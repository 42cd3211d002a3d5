// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/internal/delay_likelihood.hpp"

#include "clones.hpp"
#include "signal/fft.hpp"
#include "signal/internal/lanes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstring>
#include <numbers>
#include <numeric>

namespace lull {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double settled_s = 1e-9;     ///< a maximum that moves by less is found
constexpr std::size_t most_maxima = 6; ///< that are looked at
/// Maxima whose parabola reaches less than this share of the best one's are not refined.
constexpr float rival_share = 0.8F;
constexpr std::size_t points_a_period = 4; ///< of the grid, at the highest frequency
constexpr int most_steps = 6;              ///< of Newton's, to a maximum

double sum_of(const auto& lanes) {
    return std::accumulate(lanes.begin(), lanes.end(), 0.0);
}

/// Phases of `bin_lanes` neighbouring bins, and how far they turn to the next `bin_lanes`.
struct Phases {
    std::array<double, bin_lanes> cosine{}, sine{}, omega{};
    std::complex<double> step;
    double omega_step = 0.0;
};

LULL_CLONES PhaseValue sum_phases(const float* real, const float* imaginary, std::size_t count,
                                  const Phases& from) {
    Phases now = from;
    std::array<double, bin_lanes> level{}, slope{}, bend{};
    const double step_cosine = from.step.real(), step_sine = from.step.imag();
    for (std::size_t at = 0; at < count; at += bin_lanes)
        for (std::size_t i = 0; i < bin_lanes; ++i) {
            const double re = real[at + i], im = imaginary[at + i];
            const double x = re * now.cosine[i] - im * now.sine[i];
            const double y = re * now.sine[i] + im * now.cosine[i];
            level[i] += x;
            slope[i] -= now.omega[i] * y;
            bend[i] -= now.omega[i] * now.omega[i] * x;
            const double turned = now.cosine[i] * step_cosine - now.sine[i] * step_sine;
            now.sine[i] = now.cosine[i] * step_sine + now.sine[i] * step_cosine;
            now.cosine[i] = turned;
            now.omega[i] += from.omega_step;
        }
    return {sum_of(level), sum_of(slope), sum_of(bend)};
}

/// Of lanes of bins: the sums of a likelihood.
struct Sums {
    std::array<float, bin_lanes> information{}, told{}, curvature{};
};

static_assert(bin_lanes == float_lanes);

inline __attribute__((always_inline)) void load(FloatLanes& lanes, const float* from) {
    std::memcpy(&lanes, from, sizeof lanes);
}

/// \param share  of an independent bin that each bin is; the curvature is in bins squared
LULL_CLONES void multiply(const HeardSpectrum& a, const HeardSpectrum& b, float share, float* real,
                          float* imaginary, Sums& sums) {
    const std::size_t count = a.snr.size();
    FloatLanes bin, information = {}, told = {}, curvature = {};
    for (std::size_t i = 0; i < bin_lanes; ++i)
        bin[i] = static_cast<float>(a.bins.first + i);
    for (std::size_t at = 0; at < count; at += bin_lanes) {
        FloatLanes ra, rb, wa, wb, ar, ai, br, bi;
        load(ra, &a.snr[at]), load(rb, &b.snr[at]);
        load(wa, &a.weight[at]), load(wb, &b.weight[at]);
        load(ar, &a.real[at]), load(ai, &a.imaginary[at]);
        load(br, &b.real[at]), load(bi, &b.imaginary[at]);
        const FloatLanes both = 1.0F + ra + rb;
        const FloatLanes g = ra * rb / both;
        const FloatLanes weight = 2.0F * share * (wa * wb) / both;
        const FloatLanes along = weight * (ar * br + ai * bi);
        const FloatLanes across = weight * (ar * bi - ai * br);
        std::memcpy(real + at, &along, sizeof along);
        std::memcpy(imaginary + at, &across, sizeof across);
        information += g;
        told += g / (1.0F + g);
        curvature += g * bin * bin;
        bin += static_cast<float>(bin_lanes);
    }
    std::memcpy(sums.information.data(), &information, sizeof information);
    std::memcpy(sums.told.data(), &told, sizeof told);
    std::memcpy(sums.curvature.data(), &curvature, sizeof curvature);
}

/// From a point of a grid that is over both its neighbours.
Maximum by_parabola(double before, double middle, double after) {
    const double bend = before - 2.0 * middle + after;
    const double at = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
    return {middle - 0.25 * (before - after) * at, at};
}

void refine(Maximum& maximum, const PhaseSum& likelihood, double step_s) {
    for (int step = 0; step < most_steps; ++step) {
        const PhaseValue here = likelihood.at(maximum.delay_s);
        maximum.level = here.level;
        if (!(here.bend < 0.0)) break;
        const double move_s = std::clamp(-here.slope / here.bend, -step_s, step_s);
        maximum.delay_s += move_s;
        if (std::abs(move_s) < settled_s) break;
    }
}

} // namespace

PhaseValue PhaseSum::at(double delay_s) const {
    // The phase turns by the same step from bin to bin.
    Phases phases;
    phases.omega_step = bin_omega * static_cast<double>(bin_lanes);
    phases.step = std::polar(1.0, phases.omega_step * delay_s);
    const std::complex<double> next = std::polar(1.0, bin_omega * delay_s);
    std::complex<double> phase =
        std::polar(1.0, bin_omega * static_cast<double>(bins.first) * delay_s);
    for (std::size_t i = 0; i < bin_lanes; ++i) {
        phases.omega[i] = bin_omega * static_cast<double>(bins.first + i);
        phases.cosine[i] = phase.real();
        phases.sine[i] = phase.imag();
        phase = {phase.real() * next.real() - phase.imag() * next.imag(),
                 phase.real() * next.imag() + phase.imag() * next.real()};
    }
    return sum_phases(real.data(), imaginary.data(), real.size(), phases);
}

double bin_omega_of(const HeardSpectrum& heard) {
    return two_pi * heard.rate_hz / static_cast<double>(heard.size);
}

void likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Likelihood& result) {
    // Zero padding makes neighbouring bins tell the same: each counts for its share of the stretch.
    const double share = a.frames / static_cast<double>(a.size);
    result.sum.bin_omega = bin_omega_of(a);
    result.sum.bins = a.bins;
    result.sum.real.resize(a.snr.size());
    result.sum.imaginary.resize(a.snr.size());
    Sums sums;
    multiply(a, b, static_cast<float>(share), result.sum.real.data(), result.sum.imaginary.data(),
             sums);
    result.information = share * sum_of(sums.information);
    result.told_bins = share * sum_of(sums.told);
    result.curvature =
        2.0 * share * result.sum.bin_omega * result.sum.bin_omega * sum_of(sums.curvature);
}

std::vector<Maximum> maxima(const PhaseSum& likelihood, double rate_hz, double longest_delay_s,
                            std::size_t size, TransformRoom& room) {
    const Bins bins = likelihood.bins;
    const std::size_t points = shared_size(std::max(points_a_period * bins.end, size / 2));
    const RealFft fft(points);
    room.bins.assign(fft.bins(), {});
    for (std::size_t i = 0; i < bins.count(); ++i)
        room.bins[bins.first + i] = {0.5F * likelihood.real[i], 0.5F * likelihood.imaginary[i]};
    room.samples.resize(points);
    fft.inverse(room.bins, room.samples); // at +n: the likelihood of a delay of n steps
    const double step_s = static_cast<double>(size) / (rate_hz * static_cast<double>(points));
    const auto reach =
        std::min<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(2.0 * longest_delay_s / step_s) + 1,
                                 static_cast<std::ptrdiff_t>(points / 2) - 2);
    const float* values = room.samples.data();
    const auto value = [&](std::ptrdiff_t n) {
        return values[n < 0 ? n + static_cast<std::ptrdiff_t>(points) : n];
    };
    std::vector<Maximum> found;
    float before = value(-reach - 1), here = value(-reach);
    for (std::ptrdiff_t n = -reach; n <= reach; ++n) {
        const float after = value(n + 1);
        if (here > 0.0F && here >= before && here > after) {
            Maximum maximum = by_parabola(before, here, after);
            maximum.delay_s = (static_cast<double>(n) + maximum.delay_s) * step_s;
            found.push_back(maximum);
        }
        before = here;
        here = after;
    }
    const auto better = [](const Maximum& x, const Maximum& y) { return x.level > y.level; };
    const std::size_t kept = std::min(most_maxima, found.size());
    std::ranges::partial_sort(found, found.begin() + static_cast<std::ptrdiff_t>(kept), better);
    found.resize(kept);
    if (found.empty()) return found;
    const double least = rival_share * found.front().level;
    for (Maximum& maximum : found)
        if (maximum.level >= least) refine(maximum, likelihood, step_s);
    std::ranges::sort(found, better);
    // Two points can lead to one maximum.
    const auto same = [step_s](const Maximum& x, const Maximum& y) {
        return std::abs(x.delay_s - y.delay_s) < 0.1 * step_s;
    };
    found.erase(std::unique(found.begin(), found.end(), same), found.end());
    return found;
}

} // namespace lull
