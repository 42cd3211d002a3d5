// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/impulse.hpp"

#include "detect/internal/imprint.hpp"
#include "detect/internal/measures.hpp"
#include "signal/onset.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace lull {

namespace {

double ratio_db(double power, double floor) {
    return power > 0.0 && floor > 0.0 ? 10.0 * std::log10(power / floor) : 0.0;
}

/// Loudest hop near the instant over the mean of the 100 ms before it.
double contrast_db(const LevelTrack& level, Frame onset, double rate_hz) {
    const auto hops = static_cast<Frame>(level.power.size());
    const Frame at = std::clamp<Frame>((onset - level.first) / level.hop, 0, hops);
    const auto span = std::max<Frame>(1, static_cast<Frame>(0.1 * rate_hz) / level.hop);
    double before = 0.0;
    Frame count = 0;
    for (Frame i = std::max<Frame>(0, at - span - 2); i + 2 < at; ++i, ++count)
        before += level.power[static_cast<std::size_t>(i)];
    double loudest = 0.0;
    for (Frame i = std::max<Frame>(1, at - 1); i < std::min(hops, at + 12); ++i)
        loudest =
            std::max(loudest, 0.5 * (static_cast<double>(level.power[static_cast<std::size_t>(i)]) +
                                     level.power[static_cast<std::size_t>(i - 1)]));
    // Digital silence is no quieter than a step of 24 bits.
    return count ? ratio_db(loudest, std::max(before / static_cast<double>(count), 1e-14)) : 0.0;
}

/// The band whose excess is largest, widened over neighbours within 6 dB of it.
std::pair<double, double> loudest_band_hz(const std::vector<float>& excess_db,
                                          const std::vector<double>& edges_hz) {
    const auto best = static_cast<std::size_t>(
        std::max_element(excess_db.begin(), excess_db.end()) - excess_db.begin());
    std::size_t low = best;
    std::size_t high = best;
    while (low > 0 && excess_db[low - 1] >= excess_db[best] - 6.0F)
        --low;
    while (high + 1 < excess_db.size() && excess_db[high + 1] >= excess_db[best] - 6.0F)
        ++high;
    return {edges_hz[low], edges_hz[high + 1]};
}

} // namespace

std::vector<float> band_excess_db(const ChannelTracks& tracks, std::size_t begin, std::size_t end) {
    const std::size_t bands = tracks.spectrum.bands();
    end = std::min(end, tracks.spectrum.frames());
    std::vector<float> excess(bands, 0.0F);
    if (begin >= end) return excess;
    const Frame at = tracks.spectrum.first + static_cast<Frame>(begin) * tracks.spectrum.hop;
    for (std::size_t b = 0; b < bands; ++b) {
        double sum = 0.0;
        for (std::size_t i = begin; i < end; ++i)
            sum += tracks.spectrum.power[i * bands + b];
        const FloorTrack& floor = tracks.band_floor[b];
        const double noise = std::max(
            floor.power.empty() ? 0.0 : static_cast<double>(floor.power[floor.step_of(at)]), 1e-14);
        excess[b] = static_cast<float>(
            std::clamp(ratio_db(sum / static_cast<double>(end - begin), noise), 0.0, 60.0));
    }
    return excess;
}

double excess_centroid_hz(const ChannelTracks& tracks, std::size_t begin, std::size_t end) {
    const SpectrumTrack& spectrum = tracks.spectrum;
    end = std::min(end, spectrum.frames());
    double weighted = 0.0;
    double total = 0.0;
    for (std::size_t i = begin; i < end; ++i) {
        const Frame at = spectrum.first + static_cast<Frame>(i) * spectrum.hop;
        for (std::size_t b = 0; b < spectrum.bands(); ++b) {
            const FloorTrack& floor = tracks.band_floor[b];
            const double noise =
                floor.power.empty() ? 0.0 : static_cast<double>(floor.power[floor.step_of(at)]);
            const double over = std::max(0.0, spectrum.frame(i)[b] - noise);
            total += over;
            weighted += over * std::sqrt(spectrum.edges_hz[b] * spectrum.edges_hz[b + 1]);
        }
    }
    return total > 0.0 ? weighted / total : 0.0;
}

Arrival impulse_from_tracks(const ChannelTracks& tracks, const Instant& instant, double rate_hz) {
    const SpectrumTrack& spectrum = tracks.spectrum;
    const Frame start = spectrum.first + static_cast<Frame>(instant.start) * spectrum.hop;
    const Frame loudest = spectrum.first + static_cast<Frame>(instant.frame) * spectrum.hop;
    Arrival arrival;
    arrival.onset_s = static_cast<double>(start) / rate_hz;
    arrival.onset_sigma_s = 0.5 * spectrum_hop_s;
    const auto length = static_cast<Frame>(0.1 * rate_hz);
    arrival.end_s = static_cast<double>(loudest + length / 2) / rate_hz;
    const LevelMeasures level = measure_level(tracks.level, start, loudest + length, rate_hz);
    arrival.peak = level.peak;
    arrival.peak_energy = level.peak_energy;
    arrival.energy = level.energy;
    arrival.floor_power =
        tracks.floor.power.empty()
            ? 0.0
            : static_cast<double>(tracks.floor.power[tracks.floor.step_of(start)]);
    arrival.snr_db = signal_to_noise_db(arrival.peak_energy, arrival.floor_power);
    Shape& shape = arrival.shape;
    shape.from_tracks = true;
    shape.score = instant.score;
    shape.contrast_db = contrast_db(tracks.level, start, rate_hz);
    shape.rise_s = static_cast<double>(loudest - start) / rate_hz;
    shape.band_db = band_excess_db(tracks, instant.frame, instant.frame + 3);
    shape.centroid_hz = excess_centroid_hz(tracks, instant.frame, instant.frame + 2);
    return arrival;
}

void measure_on_waveform(Arrival& arrival, std::span<const float> waveform, Frame first,
                         double next_s, double rate_hz, Band band, double late_s) {
    const auto index = [&](double seconds) {
        const double i = seconds * rate_hz - static_cast<double>(first);
        return static_cast<std::size_t>(std::clamp(i, 0.0, static_cast<double>(waveform.size())));
    };
    // Noise enough before, and little more than the rise after: the criterion splits in two.
    const double loudest_s = arrival.onset_s + arrival.shape.rise_s;
    const std::size_t from = index(arrival.onset_s - 0.07);
    const std::size_t to = index(loudest_s + 0.014);
    if (to < from + 16) return;
    const Onset onset = onset_by_akaike(waveform.subspan(from, to - from),
                                        2.0 * (band.high_hz - band.low_hz) / rate_hz);
    const std::size_t at = from + static_cast<std::size_t>(onset.sample);
    const ImpulseMeasures found = measure_impulse(waveform, at, std::max(index(next_s), at + 1),
                                                  rate_hz, arrival.floor_power);
    const double in_band_s = static_cast<double>(first + static_cast<Frame>(at)) / rate_hz;
    // The first sample of a signal comes anything up to a sample after its onset.
    // Whole microseconds, as tables have them: a table that is read back gives the same results.
    arrival.onset_s = std::round(std::max(0.0, in_band_s - 0.5 / rate_hz - late_s) * 1e6) / 1e6;
    arrival.onset_sigma_s = onset.sigma_samples / rate_hz;
    arrival.end_s = in_band_s + found.duration_s;
    arrival.peak = found.peak;
    arrival.peak_energy = found.peak_energy;
    arrival.energy = found.energy;
    arrival.snr_db = signal_to_noise_db(found.peak_energy, arrival.floor_power);
    arrival.shape.from_tracks = false;
    arrival.shape.imprint = take_imprint(waveform, static_cast<double>(first) / rate_hz, at,
                                         rate_hz, arrival.floor_power);
    arrival.shape.rise_s = found.rise_s;
    arrival.shape.decay_s = found.decay_s;
    arrival.shape.early = found.early;
    arrival.shape.decay_to_floor = found.decay_to_floor;
}

void explain_impulse(Arrival& arrival, const std::vector<double>& edges_hz) {
    const Shape& shape = arrival.shape;
    const auto [low_hz, high_hz] = loudest_band_hz(shape.band_db, edges_hz);
    const float excess = *std::max_element(shape.band_db.begin(), shape.band_db.end());
    const std::string level =
        arrival.floor_power > 0.0
            ? fmt::format("{:.0f} dB over the floor in {:.0f}-{:.0f} Hz", excess, low_hz, high_hz)
            : fmt::format("over a digitally silent floor in {:.0f}-{:.0f} Hz", low_hz, high_hz);
    if (shape.from_tracks) {
        arrival.why =
            "impulse, " + level + "; measured on the level track only, candidates too dense";
        return;
    }
    arrival.why =
        fmt::format("rise {:.0f} ms, decay {:.0f} ms to {}, {}", 1e3 * shape.rise_s,
                    1e3 * shape.decay_s, shape.decay_to_floor ? "the floor" : "-20 dB", level);
}

} // namespace lull
