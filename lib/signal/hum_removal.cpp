// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/hum_removal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

namespace lull {
namespace {

using Complex = std::complex<double>;

constexpr double hop_s = 1.0;
constexpr double block_hop_s = 0.1; // whole periods of 50 and of 60 Hz; blocks are twice as long
constexpr int most_harmonics = 32;
constexpr double highest_share = 0.45; // of the rate
constexpr std::size_t least_blocks = 5;
constexpr double least_steadiness = 0.7;
constexpr double drift_steadiness = 0.95; // below it the drift is too noisy to use
constexpr double most_off_hz = 1.0, most_drift_hz_s = 0.1;
constexpr double loud = 1.5;         // times the usual amplitude: not hum alone
constexpr double standing_out = 4.0; // standard errors of a harmonic's amplitude

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// The fundamental in a segment: its frequency in the segment's middle and how fast that changes.
struct Mains {
    double frequency_hz = 0.0, drift_hz_s = 0.0;

    /// Turns of the fundamental since the middle.
    [[nodiscard]] double turns(double t) const { return t * (frequency_hz + 0.5 * drift_hz_s * t); }
};

/// One channel's segment, looked at in blocks.
class Segment {
  public:
    /// \param middle  index in samples (it may lie outside) that time 0 stands for
    Segment(std::span<const float> samples, double middle, double rate_hz)
        : samples_(samples), middle_(middle), rate_hz_(rate_hz),
          hop_(std::max<std::size_t>(
              1, static_cast<std::size_t>(std::llround(block_hop_s * rate_hz)))) {
        for (std::size_t i = 0; i < 2 * hop_; ++i)
            window_.push_back((1.0 - std::cos(std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                              static_cast<double>(hop_))) /
                              (2.0 * static_cast<double>(hop_)));
    }

    [[nodiscard]] std::size_t blocks() const {
        return samples_.size() < 2 * hop_ ? 0 : samples_.size() / hop_ - 1;
    }

    /// Amplitude of a harmonic in every block against the phase that `mains` predicts.
    [[nodiscard]] std::vector<Complex> amplitudes(const Mains& mains, int harmonic) const {
        std::vector<Complex> z(blocks());
        for (std::size_t b = 0; b < z.size(); ++b) {
            const double t = time(b * hop_), step_s = 1.0 / rate_hz_;
            // Within a block the frequency is that of its middle.
            const double hz =
                harmonic *
                (mains.frequency_hz + mains.drift_hz_s * (t + static_cast<double>(hop_) * step_s));
            Complex turn = std::polar(1.0, -2.0 * std::numbers::pi * harmonic * mains.turns(t));
            const Complex step = std::polar(1.0, -2.0 * std::numbers::pi * hz * step_s);
            Complex sum;
            for (std::size_t i = 0; i < 2 * hop_; ++i) {
                sum += window_[i] * static_cast<double>(samples_[b * hop_ + i]) * turn;
                turn = {turn.real() * step.real() - turn.imag() * step.imag(),
                        turn.real() * step.imag() + turn.imag() * step.real()};
            }
            z[b] = 2.0 * sum;
        }
        return z;
    }

    [[nodiscard]] double time(std::size_t i) const {
        return (static_cast<double>(i) - middle_) / rate_hz_;
    }
    [[nodiscard]] std::size_t size() const { return samples_.size(); }

  private:
    std::span<const float> samples_;
    double middle_, rate_hz_;
    std::size_t hop_;
    std::vector<double> window_;
};

/// How a harmonic's phase turns from block to block.
struct Turning {
    double off_hz = 0.0, drift_hz_s = 0.0; ///< against the prediction, of the harmonic
    double steadiness = 0.0;               ///< 0..1
    double amplitude = 0.0;                ///< median over the blocks
};

Turning turning_of(std::vector<Complex> z) {
    std::vector<double> size;
    for (const Complex& one : z)
        size.push_back(std::abs(one));
    const double usual = median(size);
    for (Complex& one : z) // a knock is louder than the hum and says nothing of its phase
        if (std::abs(one) > loud * usual) one = 0.0;
    std::array<Complex, 2> half;
    double sum = 0.0;
    for (std::size_t b = 1; b < z.size(); ++b) {
        half[2 * b > z.size() ? 1 : 0] += z[b] * std::conj(z[b - 1]);
        sum += std::abs(z[b]) * std::abs(z[b - 1]);
    }
    const auto hz = [](Complex product) {
        return std::arg(product) / (2.0 * std::numbers::pi * block_hop_s);
    };
    Turning turning;
    turning.off_hz = hz(half[0] + half[1]);
    turning.drift_hz_s =
        hz(half[1] * std::conj(half[0])) / (0.5 * block_hop_s * static_cast<double>(z.size()));
    turning.steadiness = sum > 0.0 ? std::abs(half[0] + half[1]) / sum : 0.0;
    turning.amplitude = usual;
    return turning;
}

/// The mains near a nominal frequency, with the strength of what it was found by (0: none). The
/// phase of low harmonics turns too little between blocks to be ambiguous.
std::pair<Mains, double> find_mains(const Segment& segment, double nominal_hz) {
    Mains mains{nominal_hz, 0.0};
    double strength = 0.0;
    for (int pass = 0; pass < 3; ++pass) {
        Turning best;
        int harmonic = 0;
        const int last = pass == 0 ? 3 : 8;
        for (int h = 1; h <= last; ++h) {
            const Turning turning = turning_of(segment.amplitudes(mains, h));
            if (turning.steadiness < least_steadiness ||
                turning.amplitude * (pass ? h : 1) < best.amplitude * (pass ? harmonic : 1))
                continue;
            best = turning;
            harmonic = h;
        }
        if (harmonic == 0) return {mains, strength};
        strength = best.amplitude;
        mains.frequency_hz += best.off_hz / harmonic;
        if (pass > 0 && best.steadiness > drift_steadiness)
            mains.drift_hz_s = std::clamp(mains.drift_hz_s + best.drift_hz_s / harmonic,
                                          -most_drift_hz_s, most_drift_hz_s);
    }
    if (std::fabs(mains.frequency_hz - nominal_hz) > most_off_hz) strength = 0.0;
    return {mains, strength};
}

/// Median amplitude of a harmonic over the blocks; 0 when it does not stand out.
Complex steady_amplitude(const std::vector<Complex>& z) {
    std::vector<double> real, imaginary, off;
    for (const Complex& one : z) {
        real.push_back(one.real());
        imaginary.push_back(one.imag());
    }
    const Complex amplitude{median(real), median(imaginary)};
    for (const Complex& one : z)
        off.push_back(std::abs(one - amplitude));
    // A median of |noise| is 1.18 standard deviations of one component; a median's own error is
    // 1.25 times a mean's; neighbouring blocks overlap by half.
    const double error = 1.25 / 1.18 * median(off) * std::sqrt(1.5 / static_cast<double>(z.size()));
    return std::abs(amplitude) > standing_out * error ? amplitude : Complex{};
}

/// Adds a segment's hum, faded in and out, to `hum`.
void add_segment(const Segment& segment, double rate_hz, std::optional<double> mains_hz,
                 std::span<double> hum) {
    if (segment.blocks() < least_blocks) return;
    std::pair<Mains, double> found{{}, 0.0};
    for (const double nominal_hz : {mains_hz.value_or(50.0), mains_hz.value_or(60.0)}) {
        const auto one = find_mains(segment, nominal_hz);
        if (one.second > found.second) found = one;
        if (mains_hz) break;
    }
    const auto& [mains, strength] = found;
    if (strength == 0.0) return;
    std::vector<std::pair<int, Complex>> lines;
    for (int h = 1; h <= most_harmonics && h * mains.frequency_hz < highest_share * rate_hz; ++h) {
        const Complex amplitude = steady_amplitude(segment.amplitudes(mains, h));
        if (std::abs(amplitude) > 0.0) lines.emplace_back(h, amplitude);
    }
    for (std::size_t i = 0; i < segment.size(); ++i) {
        const double t = segment.time(i);
        const double fade = 0.5 + 0.5 * std::cos(std::numbers::pi * t / hop_s);
        const Complex fundamental = std::polar(1.0, 2.0 * std::numbers::pi * mains.turns(t));
        Complex turn{1.0, 0.0};
        double sum = 0.0;
        int at = 0;
        for (const auto& [h, amplitude] : lines) {
            for (; at < h; ++at)
                turn = {turn.real() * fundamental.real() - turn.imag() * fundamental.imag(),
                        turn.real() * fundamental.imag() + turn.imag() * fundamental.real()};
            sum += amplitude.real() * turn.real() - amplitude.imag() * turn.imag();
        }
        hum[i] += fade * sum;
    }
}

} // namespace

Frame hum_hop(double rate_hz) {
    return std::max<Frame>(1, std::llround(hop_s * rate_hz));
}

std::vector<float> hum_in(std::span<const float> samples, Frame first, Frame from, Frame count,
                          double rate_hz, std::optional<double> mains_hz) {
    const Frame hop = hum_hop(rate_hz), end = first + static_cast<Frame>(samples.size());
    std::vector<double> sum(samples.size(), 0.0);
    for (Frame begin = first / hop * hop - hop; begin < end; begin += hop) {
        const Frame low = std::max(begin, first), high = std::min(begin + 2 * hop, end);
        if (low >= high || begin + 2 * hop <= from || begin >= from + count) continue;
        const auto at = static_cast<std::size_t>(low - first),
                   size = static_cast<std::size_t>(high - low);
        const Segment segment(samples.subspan(at, size), static_cast<double>(begin + hop - low),
                              rate_hz);
        add_segment(segment, rate_hz, mains_hz, std::span(sum).subspan(at, size));
    }
    std::vector<float> hum(static_cast<std::size_t>(std::max<Frame>(0, count)), 0.0F);
    for (Frame i = 0; i < count && from + i < end; ++i)
        hum[static_cast<std::size_t>(i)] =
            static_cast<float>(sum[static_cast<std::size_t>(from + i - first)]);
    return hum;
}

} // namespace lull
