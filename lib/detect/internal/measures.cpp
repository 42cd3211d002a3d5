// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/measures.hpp"

#include "signal/snr.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double decay_ratio = 0.01;   ///< 20 dB
constexpr double near_floor = 2.0;     ///< a sound 3 dB over the floor has ended: half is noise
constexpr double envelope_s = 0.008;   ///< of the power that decides the end
constexpr std::size_t piece_hops = 13; ///< 52 ms

std::size_t samples(double seconds, double rate_hz) {
    return std::max<std::size_t>(1, static_cast<std::size_t>(std::llround(seconds * rate_hz)));
}

/// First index from `from` at which the mean power of the following 8 ms is under `threshold`.
std::size_t falls_under(std::span<const float> x, std::size_t from, std::size_t limit,
                        std::size_t window, double threshold) {
    double sum = 0.0;
    for (std::size_t i = from; i < limit; ++i) {
        sum += static_cast<double>(x[i]) * x[i];
        if (i < from + window) {
            if (i + 1 < from + window) continue;
        } else {
            sum -= static_cast<double>(x[i - window]) * x[i - window];
        }
        if (sum < threshold * static_cast<double>(window)) return i + 1 - window;
    }
    return limit;
}

} // namespace

double largest_mean_power(std::span<const float> waveform, std::size_t from, std::size_t to,
                          std::size_t window) {
    if (waveform.empty() || from >= waveform.size()) return 0.0;
    double sum = 0.0;
    double largest = 0.0;
    const std::size_t end = std::min(waveform.size(), to + window);
    for (std::size_t i = from; i < end; ++i) {
        sum += static_cast<double>(waveform[i]) * waveform[i];
        if (i >= from + window)
            sum -= static_cast<double>(waveform[i - window]) * waveform[i - window];
        largest = std::max(largest, sum);
    }
    return largest / static_cast<double>(window);
}

ImpulseMeasures measure_impulse(std::span<const float> waveform, std::size_t onset,
                                std::size_t limit, double rate_hz, double floor_power) {
    ImpulseMeasures found;
    limit = std::min(limit, waveform.size());
    if (onset >= limit) return found;
    // The largest sample of the first 100 ms: what comes later is another sound or an echo.
    const std::size_t near = std::min(limit, onset + samples(0.1, rate_hz));
    std::size_t at = onset;
    for (std::size_t i = onset; i < near; ++i)
        if (std::abs(waveform[i]) > std::abs(waveform[at])) at = i;
    found.rise_s = static_cast<double>(at - onset) / rate_hz;
    const std::size_t window = samples(envelope_s, rate_hz);
    const std::size_t first = at > window ? at - window : 0;
    const double loudest = largest_mean_power(waveform, first, at, window);
    const double goal = std::max(decay_ratio * loudest, near_floor * floor_power);
    found.decay_to_floor = near_floor * floor_power > decay_ratio * loudest;
    const std::size_t end = falls_under(waveform, at, limit, window, goal);
    found.decay_s = static_cast<double>(end - at) / rate_hz;
    found.duration_s = static_cast<double>(end - onset) / rate_hz;
    const std::size_t middle = onset + (end - onset) / 2;
    double early = 0.0;
    for (std::size_t i = onset; i < end; ++i) {
        if (i == middle) early = found.energy;
        const double v = waveform[i];
        found.peak = std::max(found.peak, std::abs(v));
        found.energy += v * v / rate_hz;
    }
    if (found.energy > 0.0) found.early = early / found.energy;
    found.peak = std::max(found.peak, static_cast<double>(std::abs(waveform[at])));
    found.peak_energy = largest_mean_power(waveform, onset, std::max(end, onset + 1),
                                           samples(peak_energy_window_s, rate_hz));
    return found;
}

LevelMeasures measure_level(const LevelTrack& level, Frame from, Frame to, double rate_hz) {
    LevelMeasures found;
    const auto hops = static_cast<Frame>(level.power.size());
    const Frame begin = std::clamp<Frame>((from - level.first) / level.hop, 0, hops);
    const Frame end =
        std::clamp<Frame>((to - level.first + level.hop - 1) / level.hop, begin, hops);
    std::vector<double> pieces;
    double sum = 0.0;
    double piece = 0.0;
    std::size_t in_piece = 0;
    const auto at = [&](Frame i) {
        return static_cast<double>(level.power[static_cast<std::size_t>(i)]);
    };
    for (Frame i = begin; i < end; ++i) {
        found.peak =
            std::max(found.peak, static_cast<double>(level.peak[static_cast<std::size_t>(i)]));
        found.energy += at(i) * static_cast<double>(level.hop) / rate_hz;
        sum += at(i);
        if (i - begin >= static_cast<Frame>(piece_hops))
            sum -= at(i - static_cast<Frame>(piece_hops));
        found.peak_energy = std::max(found.peak_energy, sum / static_cast<double>(piece_hops));
        piece += at(i);
        if (++in_piece == piece_hops || i + 1 == end) {
            // A short last piece would be as noisy as it is short: joined only when it stands
            // alone.
            if (in_piece == piece_hops || pieces.empty())
                pieces.push_back(piece / static_cast<double>(in_piece));
            piece = 0.0;
            in_piece = 0;
        }
    }
    if (pieces.empty()) return found;
    std::sort(pieces.begin(), pieces.end());
    const std::size_t half = pieces.size() / 2;
    for (std::size_t i = half; i < pieces.size(); ++i)
        found.louder_half += pieces[i];
    found.louder_half /= static_cast<double>(pieces.size() - half);
    const double low = pieces[pieces.size() / 10];
    const double high = pieces[pieces.size() - 1 - pieces.size() / 10];
    found.spread_db = low > 0.0 ? 10.0 * std::log10(high / low) : 0.0;
    return found;
}

} // namespace lull
