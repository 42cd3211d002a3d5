// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/heard_spectrum.hpp"

#include "clones.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double smooth_hz = 40.0;   ///< spectra are averaged over this, about
constexpr float over_silence = 1e6F; ///< SNR of a sound over no noise at all

void transform(TransformRoom& room) {
    const RealFft fft(room.samples.size());
    room.bins.resize(fft.bins());
    fft.forward(room.samples, room.bins);
}

/// sums[k + 1] = energy of the bins up to k of those from `from` to `to`.
void sum_energies(std::span<const std::complex<float>> bins, std::vector<double>& sums) {
    sums.resize(bins.size() + 1);
    sums[0] = 0.0;
    for (std::size_t k = 0; k < bins.size(); ++k)
        sums[k + 1] = sums[k] + static_cast<double>(std::norm(bins[k]));
}

std::size_t half_width_of(double bin_hz) {
    return static_cast<std::size_t>(smooth_hz / 2.0 / bin_hz);
}

/// Mean energy of the bins within half_width of bin k. \param sums  begin with bin `offset`
float smooth_energy(const std::vector<double>& sums, std::size_t offset, std::size_t k,
                    std::size_t half_width) {
    const std::size_t low = std::max(offset + half_width, k) - half_width - offset;
    const std::size_t high = std::min(sums.size() - 1, k + half_width + 1 - offset);
    return static_cast<float>((sums[high] - sums[low]) / static_cast<double>(high - low));
}

/// From the bins' energies and those of as much noise.
LULL_CLONES void weigh(const float* energy, const float* floor, std::size_t count, float* snr,
                       float* weight) {
    for (std::size_t k = 0; k < count; ++k) {
        const float over = floor[k] > 0.0F ? energy[k] / floor[k] - 1.0F : over_silence;
        const float ratio = energy[k] > 0.0F && over > 0.0F ? over : 0.0F;
        snr[k] = ratio;
        weight[k] = ratio > 0.0F ? std::sqrt(ratio * (1.0F + ratio) / energy[k]) : 0.0F;
    }
}

} // namespace

NoiseSpectrum noise_spectrum(std::span<const float> noise, std::size_t piece_frames, double rate_hz,
                             TransformRoom& room) {
    // No whole piece of noise: what there is.
    const std::size_t length = std::min(piece_frames, noise.size());
    NoiseSpectrum result;
    if (length == 0) return result;
    const std::size_t pieces = noise.size() / length, size = shared_size(length);
    result.bin_hz = rate_hz / static_cast<double>(size);
    std::vector<float> energy(size / 2 + 1);
    for (std::size_t p = 0; p < pieces; ++p) {
        room.samples.assign(size, 0.0F);
        std::ranges::copy(noise.subspan(p * length, length), room.samples.begin());
        transform(room);
        for (std::size_t k = 0; k < energy.size(); ++k)
            energy[k] += std::norm(room.bins[k]);
    }
    room.sums.resize(energy.size() + 1);
    room.sums[0] = 0.0;
    for (std::size_t k = 0; k < energy.size(); ++k)
        room.sums[k + 1] = room.sums[k] + static_cast<double>(energy[k]);
    const auto scale = 1.0F / static_cast<float>(pieces * length);
    const std::size_t half_width = half_width_of(result.bin_hz);
    for (std::size_t k = 0; k < energy.size(); ++k)
        energy[k] = scale * smooth_energy(room.sums, 0, k, half_width);
    result.energy = std::move(energy);
    return result;
}

void hear_spectrum(HeardSpectrum& heard, TransformRoom& room, double frames,
                   const NoiseSpectrum& noise, double rate_hz, Band band) {
    transform(room);
    heard.rate_hz = rate_hz;
    heard.frames = frames;
    heard.size = room.samples.size();
    const double bin_hz = rate_hz / static_cast<double>(heard.size);
    heard.bins.first = static_cast<std::size_t>(std::max(1.0, std::ceil(band.low_hz / bin_hz)));
    heard.bins.end =
        std::max(heard.bins.first,
                 std::min(room.bins.size(), static_cast<std::size_t>(band.high_hz / bin_hz) + 1));
    const std::size_t count = (heard.bins.count() + bin_lanes - 1) / bin_lanes * bin_lanes;
    for (auto* values : {&heard.real, &heard.imaginary, &heard.snr, &heard.weight})
        values->assign(count, 0.0F);
    const std::size_t half_width = half_width_of(bin_hz);
    const std::size_t from = std::max(heard.bins.first, half_width) - half_width;
    const std::size_t to = std::min(room.bins.size(), heard.bins.end + half_width);
    sum_energies(std::span(room.bins).subspan(from, to - from), room.sums);
    std::vector<float> energy(count), floor(count);
    for (std::size_t i = 0; i < heard.bins.count(); ++i) {
        const std::size_t k = heard.bins.first + i;
        heard.real[i] = room.bins[k].real();
        heard.imaginary[i] = room.bins[k].imag();
        energy[i] = smooth_energy(room.sums, from, k, half_width);
        if (noise.energy.empty()) continue;
        const auto at =
            static_cast<std::size_t>(static_cast<double>(k) * bin_hz / noise.bin_hz + 0.5);
        floor[i] = static_cast<float>(frames) * noise.energy[std::min(at, noise.energy.size() - 1)];
    }
    weigh(energy.data(), floor.data(), count, heard.snr.data(), heard.weight.data());
}

} // namespace lull
