// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/thinner.hpp"

#include "clones.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

namespace lull {
namespace {

constexpr std::size_t length = 16; ///< samples of the decimated stream
constexpr double beta = 6.0;

constexpr std::size_t lanes = 16;       ///< partial sums of an output
constexpr std::size_t wide = 8;         ///< outputs computed side by side: a register of AVX2
constexpr std::size_t tile = 32 * wide; ///< outputs whose input stays in the first-level cache
constexpr std::size_t row = tile + length;
using Wide = float __attribute__((vector_size(wide * sizeof(float))));

/// Sorts samples by their index modulo factor, one row each, so that the samples that one tap needs
/// for neighbouring outputs lie side by side.
LULL_CLONES void to_rows(const float* in, std::size_t count, std::size_t factor, float* rows) {
    for (std::size_t place = 0; place < factor; ++place) {
        float* out = rows + place * row;
        for (std::size_t i = place; i < count; i += factor)
            *out++ = in[i];
    }
}

/// `wide` outputs. \param places  for the first output: of each tap's sample in the rows
LULL_CLONES void filter(const float* rows, std::size_t taps, const float* tap,
                        const std::uint32_t* places, float* out) {
    Wide quarters[lanes / 4];
    for (std::size_t j = 0; j < lanes / 4; ++j) {
        // Taps that are 16 apart go to one partial sum; the sums are folded in halves.
        Wide sums[4] = {}, x;
        for (std::size_t i = j; i < taps; i += lanes)
            for (std::size_t k = 0; k < 4; ++k) {
                std::memcpy(&x, rows + places[i + 4 * k], sizeof x);
                sums[k] += tap[i + 4 * k] * x;
            }
        quarters[j] = (sums[0] + sums[2]) + (sums[1] + sums[3]);
    }
    const Wide all = (quarters[0] + quarters[2]) + (quarters[1] + quarters[3]);
    std::memcpy(out, &all, sizeof all);
}

} // namespace

Thinner::Thinner(double rate_hz)
    : factor_(static_cast<std::size_t>(std::max(1.0, std::floor(rate_hz / thin_rate_hz)))),
      rate_hz_(rate_hz / static_cast<double>(factor_)) {
    if (factor_ == 1) return;
    const std::size_t count = length * factor_;
    const double middle = static_cast<double>(count / 2 - 1);
    const double corner = 0.5 / static_cast<double>(factor_);
    double sum = 0.0;
    std::vector<double> taps(count, 0.0);
    for (std::size_t i = 0; i + 1 < count; ++i) {
        const double t = static_cast<double>(i) - middle;
        const double share = t / (middle + 1.0);
        const double sinc =
            t == 0.0 ? 2.0 * corner
                     : std::sin(2.0 * std::numbers::pi * corner * t) / (std::numbers::pi * t);
        sum += taps[i] = sinc * std::cyl_bessel_i(0.0, beta * std::sqrt(1.0 - share * share));
    }
    for (std::size_t i = 0; i < count; ++i) {
        taps_.push_back(static_cast<float>(taps[i] / sum));
        places_.push_back(static_cast<std::uint32_t>(i % factor_ * row + i / factor_));
    }
}

void Thinner::thin(std::span<const float> in, std::span<float> out) const {
    if (factor_ == 1) {
        std::copy_n(in.begin(), out.size(), out.begin());
        return;
    }
    std::vector<float> rows(factor_ * row);
    for (std::size_t done = 0; done < out.size(); done += tile) {
        const std::size_t now = std::min(tile, out.size() - done);
        to_rows(in.data() + done * factor_, (now - 1) * factor_ + taps_.size(), factor_,
                rows.data());
        for (std::size_t m = 0; m < now; m += wide) {
            float outputs[wide]; // those past the last are made from old samples and dropped
            filter(rows.data() + m, taps_.size(), taps_.data(), places_.data(), outputs);
            std::copy_n(outputs, std::min(wide, now - m), out.data() + done + m);
        }
    }
}

} // namespace lull
