// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/internal/unit_form.hpp"

#include "review/internal/byte_form.hpp"

#include <utility>

namespace lull {

// Each struct is taken apart by structured binding: one more member, and this no longer compiles
// until it is passed, too.

template <class Form>
void pass(Form& form, Stretch& stretch) {
    auto& [first, count] = stretch;
    pass_all(form, first, count);
}

template <class Form>
void pass(Form& form, StretchList& list) {
    auto& [listed, stretches, frames, end] = list;
    pass_all(form, listed, stretches, frames, end);
}

template <class Form>
void pass(Form& form, HealthStep& step) {
    auto& [mean, power, high_share, peak, weighted_power, weighted_frames, frames] = step;
    pass_all(form, mean, power, high_share, peak, weighted_power, weighted_frames, frames);
}

template <class Form>
void pass(Form& form, HumLine& line) {
    auto& [power, noise, frequency_hz, steadiness] = line;
    pass_all(form, power, noise, frequency_hz, steadiness);
}

template <class Form>
void pass(Form& form, HumUnit& unit) {
    auto& [first, count, spectra, lines] = unit;
    pass_all(form, first, count, spectra, lines);
}

template <class Form>
void pass(Form& form, SpectrumLooks& spectrum) {
    auto& [level_db, looks, looked, holes, with_holes] = spectrum;
    pass_all(form, level_db, looks, looked, holes, with_holes);
}

template <class Form>
void pass(Form& form, GainDip& dip) {
    auto& [frame, db] = dip;
    pass_all(form, frame, db);
}

template <class Form>
void pass(Form& form, ChannelHealth& health) {
    auto& [first, frames, sum, sum_of_squares, peak, least_step, clipped, clip_level, zeroed, held,
           repeated, missing, lost, non_finite, step, steps, hum, spectrum, jumps, dips] = health;
    pass_all(form, first, frames, sum, sum_of_squares, peak, least_step, clipped, clip_level,
             zeroed, held, repeated, missing, lost, non_finite, step, steps, hum, spectrum, jumps,
             dips);
}

template <class Form>
void pass(Form& form, Course& course) {
    auto& [first, hop, level, loudest, floor, confidence] = course;
    pass_all(form, first, hop, level, loudest, floor, confidence);
}

template <class Form>
void pass(Form& form, BandLevels& levels) {
    pass_all(form, levels.mid_hz_, levels.from_, levels.to_, levels.interval_);
    std::size_t left = pass_size(form, levels.sums_.size());
    const auto pass_bands = [&form](auto& bands) {
        pass_each(form, bands, [&form](auto& band) {
            auto& [steps, floor_steps, power, floor, histogram, median] = band;
            pass_all(form, steps, floor_steps, power, floor, histogram, median);
        });
    };
    if constexpr (Form::reads) {
        for (; left > 0; --left) {
            std::int64_t interval = 0;
            pass(form, interval);
            if (!levels.sums_.empty() && interval <= levels.sums_.rbegin()->first)
                throw BytesDamaged();
            pass_bands(levels.sums_[interval]);
        }
    } else {
        for (auto& [interval, bands] : levels.sums_) {
            std::int64_t written = interval;
            pass(form, written);
            pass_bands(bands);
        }
    }
}

template <class Form>
void pass(Form& form, Imprint& imprint) {
    auto& [bins, spacing_hz, norm, signal_share] = imprint;
    pass_all(form, bins, spacing_hz, norm, signal_share);
}

template <class Form>
void pass(Form& form, Shape& shape) {
    auto& [sustained, from_tracks, cut, score, contrast_db, rise_s, decay_s, decay_to_floor, early,
           centroid_hz, fundamental_hz, harmonicity, voiced_share, pitch_spread, voiced_run_s,
           syllabic, level_spread_db, imprint, band_db] = shape;
    pass_all(form, sustained, from_tracks, cut, score, contrast_db, rise_s, decay_s, decay_to_floor,
             early, centroid_hz, fundamental_hz, harmonicity, voiced_share, pitch_spread,
             voiced_run_s, syllabic, level_spread_db, imprint, band_db);
}

template <class Form>
void pass(Form& form, Arrival& arrival) {
    auto& [channel, onset_s, onset_sigma_s, end_s, peak, peak_energy, energy, floor_power, snr_db,
           kind, confidence, why, shape] = arrival;
    pass_all(form, channel, onset_s, onset_sigma_s, end_s, peak, peak_energy, energy, floor_power,
             snr_db, kind, confidence, why, shape);
}

template <class Form>
void pass(Form& form, ScoreTrack& track) {
    auto& [first, hop, impulse, lasting, floor] = track;
    pass_all(form, first, hop, impulse, lasting, floor);
}

template <class Form>
void pass(Form& form, UnitResult& result) {
    auto& [health, courses, levels, arrivals, scores] = result;
    pass_all(form, health, courses, levels, arrivals, scores);
}

std::string bytes_of_unit(UnitResult result) {
    ByteWriter writer;
    pass(writer, result);
    return std::move(writer.bytes);
}

UnitResult unit_of_bytes(std::string_view bytes) {
    ByteReader reader{bytes};
    UnitResult result;
    pass(reader, result);
    if (!reader.rest.empty()) throw BytesDamaged();
    return result;
}

} // namespace lull
