// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/sustained.hpp"

#include "detect/arrivals.hpp"
#include "detect/internal/impulse.hpp"
#include "detect/internal/measures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <numbers>
#include <vector>

namespace lull {

namespace {

constexpr float started = 5.0F;     ///< log likelihood ratio of a frame that belongs to the sound
constexpr std::size_t in_a_row = 3; ///< frames
constexpr double envelope_top_hz = 4000.0;
constexpr double held_from_s = 1.5; ///< of one pitch: all of a blast, or this much of a longer one

float frame_score(const ChannelTracks& tracks, const std::vector<double>& degrees, std::size_t i) {
    const SpectrumTrack& spectrum = tracks.spectrum;
    const Frame at = spectrum.first + static_cast<Frame>(i) * spectrum.hop;
    float score = 0.0F;
    for (std::size_t b = 0; b < spectrum.bands(); ++b) {
        const FloorTrack& floor = tracks.band_floor[b];
        const float noise = floor.power.empty() ? 0.0F : floor.power[floor.step_of(at)];
        score += excess_likelihood(spectrum.frame(i)[b] / std::max(noise * 1.26F, 1e-14F),
                                   static_cast<float>(degrees[b]));
    }
    return score;
}

/// First and one past the last frame that stand over the floor by themselves, several in a row.
std::pair<std::size_t, std::size_t> exact_ends(const ChannelTracks& tracks,
                                               const LastingStretch& stretch, double rate_hz) {
    const std::vector<double> degrees = degrees_of_freedom(tracks.spectrum, rate_hz);
    const std::size_t frames = tracks.spectrum.frames();
    const std::size_t first = stretch.begin > 8 ? stretch.begin - 8 : 0;
    const std::size_t last = std::min(frames, stretch.end + 8);
    std::size_t begin = last;
    std::size_t end = first;
    std::size_t row = 0;
    for (std::size_t i = first; i < last; ++i) {
        row = frame_score(tracks, degrees, i) >= started ? row + 1 : 0;
        if (row < in_a_row) continue;
        begin = std::min(begin, i + 1 - in_a_row);
        end = i + 1;
    }
    if (begin >= end) return {stretch.begin, stretch.end};
    return {begin, end};
}

/// Amplitude over the floor between 60 Hz and 4 kHz, frame by frame.
std::vector<float> envelope_of(const ChannelTracks& tracks, std::size_t begin, std::size_t end) {
    const SpectrumTrack& spectrum = tracks.spectrum;
    std::vector<float> envelope;
    envelope.reserve(end - begin);
    for (std::size_t i = begin; i < end; ++i) {
        const Frame at = spectrum.first + static_cast<Frame>(i) * spectrum.hop;
        float over = 0.0F;
        for (std::size_t b = 0; b < spectrum.bands() && spectrum.edges_hz[b] < envelope_top_hz;
             ++b) {
            const FloorTrack& floor = tracks.band_floor[b];
            const float noise = floor.power.empty() ? 0.0F : floor.power[floor.step_of(at)];
            over += std::max(0.0F, spectrum.frame(i)[b] - noise);
        }
        envelope.push_back(std::sqrt(over));
    }
    return envelope;
}

/// 0..1: steady pitch that is held, steady level, periodic throughout, long enough, and well over
/// the floor: hums that come and go are steady too, but a horn is there to be heard. What a breaker
/// strikes rings at one pitch as well, but wavers by half a semitone.
double horn_likeness(const Shape& shape, double duration_s, double snr_db) {
    if (duration_s < 0.3 || shape.fundamental_hz <= 0.0) return 0.0;
    const double steady = 1.0 / (1.0 + std::exp(12.0 * (shape.pitch_spread - 0.4)));
    // A rumble's few loud frames all have some pitch, but they do not follow each other.
    const double run = shape.voiced_run_s / std::min(duration_s, held_from_s);
    const double held = 1.0 / (1.0 + std::exp(-20.0 * (run - 0.25)));
    const double voiced = 1.0 / (1.0 + std::exp(-14.0 * (shape.voiced_share - 0.75)));
    const double periodic = 1.0 / (1.0 + std::exp(-14.0 * (shape.harmonicity - 0.55)));
    const double level = 1.0 / (1.0 + std::exp(1.0 * (shape.level_spread_db - 9.0)));
    const double loud = 1.0 / (1.0 + std::exp(-0.8 * (snr_db - 6.0)));
    return steady * held * voiced * periodic * level * loud;
}

double modulation_hz(std::size_t k) {
    return 1.0 + 0.5 * static_cast<double>(k);
}

} // namespace

void SyllabicMeter::have_turns(double rate_hz, std::size_t frames) {
    if (rate_hz != rate_hz_) cosine_.clear(), sine_.clear();
    rate_hz_ = rate_hz;
    while (cosine_.size() < frames) {
        const auto t = static_cast<double>(cosine_.size());
        OfModulations cosine, sine;
        for (std::size_t k = 0; k < modulations; ++k) {
            const double step = 2.0 * std::numbers::pi * modulation_hz(k) / rate_hz;
            cosine[k] = std::cos(step * t);
            sine[k] = std::sin(step * t);
        }
        cosine_.push_back(cosine);
        sine_.push_back(sine);
    }
}

double SyllabicMeter::share(std::span<const float> envelope, double envelope_rate_hz) {
    const auto n = static_cast<double>(envelope.size());
    if (n < 0.5 * envelope_rate_hz) return 0.0;
    double mean = 0.0;
    for (const float v : envelope)
        mean += v;
    mean /= n;
    have_turns(envelope_rate_hz, envelope.size());
    OfModulations re{}, im{};
    for (std::size_t i = 0; i < envelope.size(); ++i) {
        const auto t = static_cast<double>(i);
        const double taper = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * (t + 0.5) / n);
        const double value = taper * (envelope[i] - mean);
        for (std::size_t k = 0; k < modulations; ++k) {
            re[k] += value * cosine_[i][k];
            im[k] += value * sine_[i][k];
        }
    }
    double inside = 0.0;
    double all = 0.0;
    for (std::size_t k = 0; k < modulations; ++k) {
        const double power = re[k] * re[k] + im[k] * im[k];
        all += power;
        if (modulation_hz(k) >= 2.0 && modulation_hz(k) <= 8.0) inside += power;
    }
    return all > 0.0 ? inside / all : 0.0;
}

Arrival sustained_from_tracks(const ChannelTracks& tracks, const LastingStretch& stretch,
                              double rate_hz, SyllabicMeter& syllables) {
    const auto [begin, end] = exact_ends(tracks, stretch, rate_hz);
    const auto time_s = [&](std::size_t i) {
        return static_cast<double>(tracks.spectrum.first +
                                   static_cast<Frame>(i) * tracks.spectrum.hop) /
               rate_hz;
    };
    return sustained_over(tracks, {time_s(begin), time_s(end), stretch.score, stretch.cut}, rate_hz,
                          syllables);
}

Arrival sustained_over(const ChannelTracks& tracks, const KnownStretch& stretch, double rate_hz,
                       SyllabicMeter& syllables) {
    Arrival arrival;
    Shape& shape = arrival.shape;
    arrival.onset_s = stretch.onset_s;
    arrival.end_s = std::max(stretch.end_s, arrival.onset_s + spectrum_hop_s);
    shape.cut = stretch.cut || arrival.end_s > arrival.onset_s + longest_sound_s;
    arrival.end_s = std::min(arrival.end_s, arrival.onset_s + longest_sound_s);
    // The raster, and how soon a sound that swells is over the floor.
    arrival.onset_sigma_s = 0.05;
    const auto from = static_cast<Frame>(std::llround(arrival.onset_s * rate_hz));
    const auto to = static_cast<Frame>(std::llround(arrival.end_s * rate_hz));
    const LevelMeasures level = measure_level(tracks.level, from, to, rate_hz);
    arrival.peak = level.peak;
    arrival.peak_energy = level.peak_energy;
    arrival.energy = level.energy;
    arrival.floor_power = tracks.floor.power.empty()
                              ? 0.0
                              : static_cast<double>(tracks.floor.power[tracks.floor.step_of(from)]);
    arrival.snr_db = signal_to_noise_db(level.louder_half, arrival.floor_power);
    shape.sustained = true;
    shape.from_tracks = true;
    shape.score = stretch.score;
    shape.level_spread_db = level.spread_db;
    const SpectrumTrack& spectrum = tracks.spectrum;
    const auto frame_of = [&](Frame at) {
        return static_cast<std::size_t>(
            std::clamp<Frame>((at - spectrum.first + spectrum.hop / 2) / spectrum.hop, 0,
                              static_cast<Frame>(spectrum.frames()) - 1));
    };
    const std::size_t begin = frame_of(from);
    const std::size_t end = std::max(begin + 1, frame_of(to));
    shape.band_db = band_excess_db(tracks, begin, end);
    shape.centroid_hz = excess_centroid_hz(tracks, begin, end);
    shape.syllabic = syllables.share(envelope_of(tracks, begin, end),
                                     rate_hz / static_cast<double>(spectrum.hop));
    return arrival;
}

void take_pitch(Arrival& arrival, const PitchMeasures& pitch) {
    Shape& shape = arrival.shape;
    shape.from_tracks = pitch.frames == 0;
    shape.fundamental_hz = pitch.fundamental_hz;
    shape.harmonicity = pitch.harmonicity;
    shape.voiced_share = pitch.voiced_share;
    shape.pitch_spread = pitch.spread;
    shape.voiced_run_s = pitch.longest_run_s;
}

void explain_sustained(Arrival& arrival) {
    const Shape& shape = arrival.shape;
    const double duration_s = arrival.end_s - arrival.onset_s;
    std::string pitch = "no steady pitch";
    if (shape.fundamental_hz > 0.0)
        pitch = fmt::format(
            "fundamental {:.0f} Hz over {:.1f} semitones, voiced {:.0f} %, harmonicity {:.2f}",
            shape.fundamental_hz, shape.pitch_spread, 100.0 * shape.voiced_share,
            shape.harmonicity);
    arrival.why = fmt::format("lasts {:.1f} s, {}", duration_s, pitch);
    if (shape.syllabic > 0.0)
        arrival.why +=
            fmt::format(", {:.0f} % of its modulation at 2-8 Hz", 100.0 * shape.syllabic);
    if (shape.from_tracks) arrival.why += "; pitch not measured, candidates too dense";
    if (shape.cut) arrival.why += fmt::format("; goes on, followed for {:.0f} s only", duration_s);
}

void judge_sustained(Arrival& arrival) {
    const double horn =
        horn_likeness(arrival.shape, arrival.end_s - arrival.onset_s, arrival.snr_db);
    explain_sustained(arrival);
    arrival.snr_db = signal_to_noise_db(arrival.peak_energy, arrival.floor_power);
    if (horn >= 0.3) {
        arrival.kind = EventKind::horn;
        arrival.confidence = 0.95 * horn;
    } else {
        arrival.kind = EventKind::other;
        arrival.confidence = std::clamp(0.05 + (arrival.shape.score - 30.0) / 400.0, 0.05, 0.6);
    }
}

} // namespace lull
