// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pitch.hpp"

#include "clones.hpp"
#include "signal/internal/transpose.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <functional>
#include <numbers>

namespace lull {

namespace {

constexpr double least_rate_hz = 8000.0; ///< of the samples correlated: lags fine enough for 1 kHz
constexpr double window_s = 0.064;       ///< four periods at 70 Hz
constexpr double hop_s = 0.02;
constexpr double loud = 1.6;         ///< 2 dB over the noise: below, a frame says nothing
constexpr double loud_share = 0.02;  ///< of the loudest frame: 17 dB
constexpr double voiced = 0.45;      ///< periodicity; noise alone seldom passes 0.35
constexpr double octave_cost = 0.03; ///< per octave of lag: the shorter of two like peaks
constexpr double as_high = 0.85;     ///< a peak at a fraction of the lag this high is the period
constexpr double follow_semitones = 1.5; ///< between neighbouring frames
constexpr std::size_t sums_a_lag = 16;   ///< side by side
constexpr std::size_t silent_tail = 32;  ///< zeros that whole vectors of sums reach into

using Lags = std::vector<double>;

/// Mean over `factor` samples: enough of a low-pass for what the analysis band left.
std::vector<float> thin_out(std::span<const float> x, std::size_t factor) {
    std::vector<float> y(x.size() / factor);
    for (std::size_t i = 0; i < y.size(); ++i) {
        float sum = 0.0F;
        for (std::size_t k = 0; k < factor; ++k)
            sum += x[i * factor + k];
        y[i] = sum / static_cast<float>(factor);
    }
    return y;
}

/// Sixteen sums for each of four lags from `first` on, side by side: each running sum waits for its
/// own last result. Half the lags at a time, so that all sums stay in registers.
inline __attribute__((always_inline)) void
sum_four(const float* x, std::size_t size, std::size_t first, FloatLanes* low, FloatLanes* high) {
    FloatLanes sums_low[4] = {}, sums_high[4] = {};
    for (std::size_t i = 0; i < size; i += sums_a_lag) {
        FloatLanes a_low, a_high, b_low, b_high;
        std::memcpy(&a_low, x + i, sizeof a_low);
        std::memcpy(&a_high, x + i + float_lanes, sizeof a_high);
        for (std::size_t k = 0; k < 4; ++k) {
            std::memcpy(&b_low, x + first + k + i, sizeof b_low);
            std::memcpy(&b_high, x + first + k + i + float_lanes, sizeof b_high);
            sums_low[k] += a_low * b_low;
            sums_high[k] += a_high * b_high;
        }
    }
    for (std::size_t k = 0; k < 4; ++k) {
        low[k] = sums_low[k];
        high[k] = sums_high[k];
    }
}

/// Sums of x[i] x[i + lag] for eight lags from `first` on.
/// \param x  `size` samples and then `silent_tail` zeros
LULL_CLONES void correlate_eight(const float* x, std::size_t size, std::size_t first, double* r) {
    using Floats = float __attribute__((vector_size(4 * sizeof(float))));
    using Doubles = double __attribute__((vector_size(4 * sizeof(double))));
    FloatLanes halves[2][float_lanes];
    for (std::size_t k = 0; k < float_lanes; k += 4)
        sum_four(x, size - std::min(size, first), first + k, halves[0] + k, halves[1] + k);
    Doubles all[2] = {};
    for (auto& half : halves) {
        transpose(half);
        for (const FloatLanes& of_each_lag : half) {
            const Floats low = __builtin_shufflevector(of_each_lag, of_each_lag, 0, 1, 2, 3);
            const Floats high = __builtin_shufflevector(of_each_lag, of_each_lag, 4, 5, 6, 7);
            all[0] += __builtin_convertvector(low, Doubles);
            all[1] += __builtin_convertvector(high, Doubles);
        }
    }
    std::memcpy(r, all, sizeof all);
}

class Correlator {
  public:
    explicit Correlator(double rate_hz)
        : rate_(rate_hz), size_(static_cast<std::size_t>(window_s * rate_hz)),
          hop_(static_cast<std::size_t>(hop_s * rate_hz)),
          shortest(static_cast<std::size_t>(rate_hz / highest_pitch_hz)),
          longest(static_cast<std::size_t>(rate_hz / lowest_pitch_hz) + 1),
          window_(size_ + silent_tail) {
        for (std::size_t i = 0; i < size_; ++i)
            window_[i] = static_cast<float>(
                0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                     static_cast<double>(size_)));
        of_window_ = correlate(window_);
    }

    [[nodiscard]] std::size_t frames_in(const std::vector<float>& x) const {
        return x.size() < size_ ? 0 : (x.size() - size_) / hop_ + 1;
    }

    /// Energy of a frame: its correlation at no lag.
    [[nodiscard]] double energy_of(const std::vector<float>& x, std::size_t frame) const {
        std::array<double, float_lanes> first_lags{};
        correlate_eight(windowed(x, frame).data(), size_, 0, first_lags.data());
        return first_lags.front();
    }

    [[nodiscard]] Lags lags_of(const std::vector<float>& x, std::size_t frame) const {
        return correlate(windowed(x, frame));
    }

    /// A peak of the periodicity.
    struct Peak {
        double lag = 0.0, height = 0.0;
    };

    /// The peaks of what is in a frame beyond the noise.
    [[nodiscard]] std::vector<Peak> peaks_of(const Lags& frame, const Lags& noise) const {
        const double power = beyond(frame, noise);
        Lags r(longest + 2);
        for (std::size_t k = 0; k < r.size(); ++k)
            r[k] = (frame[k] - noise[k]) / power * of_window_[0] / of_window_[k];
        std::vector<Peak> peaks;
        for (std::size_t k = shortest; k <= longest; ++k) {
            if (r[k] < r[k - 1] || r[k] < r[k + 1]) continue;
            const double curve = r[k - 1] - 2.0 * r[k] + r[k + 1];
            const double off = curve < 0.0 ? 0.5 * (r[k - 1] - r[k + 1]) / curve : 0.0;
            peaks.push_back(
                {static_cast<double>(k) + off, r[k] - 0.25 * (r[k - 1] - r[k + 1]) * off});
        }
        return peaks;
    }

    /// Height of a peak less what a long lag costs.
    [[nodiscard]] double worth(const Peak& peak) const {
        return peak.height - octave_cost * std::log2(peak.lag / static_cast<double>(shortest));
    }

    /// Highest peak: {pitch [Hz], periodicity}.
    [[nodiscard]] std::pair<double, double> highest_of(const std::vector<Peak>& peaks) const {
        double best = 0.0;
        Peak peak;
        for (const Peak& one : peaks) {
            if (worth(one) <= best) continue;
            best = worth(one);
            peak = one;
        }
        if (peak.lag <= 0.0) return {0.0, 0.0};
        // A steady tone peaks alike at every multiple of its period: take the first.
        for (const Peak& shorter : peaks) {
            const double times = peak.lag / shorter.lag;
            if (times < 1.5 || std::abs(times - std::round(times)) > 0.06 * times) continue;
            if (shorter.height < as_high * peak.height) continue;
            peak = shorter;
            break;
        }
        return {rate_ / peak.lag, std::min(peak.height, 1.0)};
    }

  private:
    /// Power of a frame beyond the noise, which is known so well only.
    [[nodiscard]] static double beyond(const Lags& frame, const Lags& noise) {
        return std::max(frame[0] - noise[0], 0.3 * frame[0]);
    }

    [[nodiscard]] std::vector<float> windowed(const std::vector<float>& x,
                                              std::size_t frame) const {
        std::vector<float> part(size_ + silent_tail);
        for (std::size_t i = 0; i < size_; ++i)
            part[i] = x[frame * hop_ + i] * window_[i];
        return part;
    }

    /// \param x  size_ samples and a silent tail
    [[nodiscard]] Lags correlate(const std::vector<float>& x) const {
        Lags r((longest + 2 + float_lanes - 1) / float_lanes * float_lanes);
        for (std::size_t first = 0; first < r.size(); first += float_lanes)
            correlate_eight(x.data(), size_, first, &r[first]);
        r.resize(longest + 2);
        return r;
    }

    double rate_;
    std::size_t size_, hop_;

  public:
    std::size_t shortest, longest; ///< lags searched

  private:
    std::vector<float> window_;
    Lags of_window_;
};

double quantile(std::vector<double> values, double share) {
    std::sort(values.begin(), values.end());
    return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5)];
}

double semitones(double a_hz, double b_hz) {
    return 12.0 * std::abs(std::log2(a_hz / b_hz));
}

/// A loud frame's pitch.
struct Pitched {
    std::size_t frame = 0;
    double pitch_hz = 0.0, periodicity = 0.0;
};

/// Sums up the loud frames. Runs end where the sound falls quiet: the like pitches of several
/// blows are not a pitch held.
PitchMeasures sum_up(const std::vector<Pitched>& peaks) {
    PitchMeasures found;
    found.frames = static_cast<int>(peaks.size());
    std::vector<double> pitch;
    std::vector<double> height;
    int run = 0;
    int longest = 0;
    for (std::size_t i = 0; i < peaks.size(); ++i) {
        if (peaks[i].periodicity < voiced) {
            run = 0;
            continue;
        }
        pitch.push_back(peaks[i].pitch_hz);
        height.push_back(peaks[i].periodicity);
        const bool pair =
            i > 0 && peaks[i - 1].frame + 1 == peaks[i].frame && peaks[i - 1].periodicity >= voiced;
        const bool follows =
            pair && semitones(peaks[i].pitch_hz, peaks[i - 1].pitch_hz) < follow_semitones;
        run = follows ? run + 1 : 1;
        longest = std::max(longest, run);
    }
    if (pitch.empty()) return found;
    found.voiced_share = static_cast<double>(pitch.size()) / static_cast<double>(peaks.size());
    found.fundamental_hz = quantile(pitch, 0.5);
    found.harmonicity = quantile(height, 0.5);
    found.spread = semitones(quantile(pitch, 0.9), quantile(pitch, 0.1));
    found.longest_run_s = longest * hop_s;
    return found;
}

} // namespace

PitchMeasures measure_pitch(std::span<const float> sound, std::span<const float> noise,
                            double rate_hz) {
    const auto factor =
        static_cast<std::size_t>(std::max(1.0, std::floor(rate_hz / least_rate_hz)));
    const Correlator correlator(rate_hz / static_cast<double>(factor));
    const std::vector<float> thin = thin_out(sound, factor), before = thin_out(noise, factor);
    Lags mean(correlator.longest + 2, 0.0);
    const std::size_t quiet_frames = correlator.frames_in(before);
    for (std::size_t frame = 0; frame < quiet_frames; ++frame) {
        const Lags lags = correlator.lags_of(before, frame);
        for (std::size_t k = 0; k < mean.size(); ++k)
            mean[k] += lags[k] / static_cast<double>(quiet_frames);
    }
    std::vector<double> energies(correlator.frames_in(thin));
    double loudest = 0.0;
    for (std::size_t i = 0; i < energies.size(); ++i)
        loudest = std::max(loudest, energies[i] = correlator.energy_of(thin, i));
    std::vector<Pitched> highest;
    for (std::size_t i = 0; i < energies.size(); ++i) {
        const double power = energies[i];
        if (!(power > loud * mean[0] && power > loud_share * loudest && power > 0.0)) continue;
        const Lags lags = correlator.lags_of(thin, i);
        const auto peaks = correlator.peaks_of(lags, mean);
        const auto [pitch_hz, periodicity] = correlator.highest_of(peaks);
        highest.push_back({i, pitch_hz, periodicity});
    }
    return sum_up(highest);
}

} // namespace lull
