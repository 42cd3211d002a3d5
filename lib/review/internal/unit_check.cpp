// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/internal/unit_check.hpp"

#include "detect/internal/imprint.hpp"
#include "noise/floor.hpp"
#include "report/pictures/text.hpp"
#include "signal/level_tracker.hpp"
#include "signal/spectrum_tracker.hpp"
#include "signal/third_octave.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>

namespace lull {
namespace {

constexpr std::size_t longest_why = 2000; ///< bytes
constexpr double ends_within_s = 1.0;     ///< of the last frame that a unit reads

bool is_share(double value) {
    return value >= 0.0 && value <= 1.001;
}

/// Powers overflow to infinity where a recording's own values are absurd.
bool is_power(double value) {
    return value >= 0.0;
}

bool are_powers(const std::vector<float>& values) {
    return std::ranges::all_of(values,
                               [](float value) { return is_power(static_cast<double>(value)); });
}

bool are_numbers(std::initializer_list<double> values) {
    return std::ranges::none_of(values, [](double value) { return std::isnan(value); });
}

/// Frames of [begin, end) as whole multiples of a hop, those that begin in it rounded up.
Frame steps_within(Frame begin, Frame end, Frame hop) {
    return (end - begin + hop - 1) / hop;
}

bool passes(const HealthStep& step, Frame length) {
    return step.frames >= 0 && step.frames <= length && step.weighted_frames >= 0 &&
           step.weighted_frames <= 2 * length && !std::isnan(step.mean) &&
           is_power(static_cast<double>(step.power)) && is_power(static_cast<double>(step.peak)) &&
           is_power(static_cast<double>(step.high_share)) &&
           is_power(static_cast<double>(step.weighted_power));
}

bool passes(const HumUnit& hum, const Unit& unit) {
    const auto is_line = [](const HumLine& line) {
        return is_power(line.power) && is_power(line.noise) && !std::isnan(line.frequency_hz) &&
               !std::isnan(line.steadiness);
    };
    return hum.spectra > 0 && hum.spectra <= unit.core_end - unit.core_begin && hum.first >= 0 &&
           hum.first <= unit.core_end && hum.count >= 0 && hum.count <= unit.core_end &&
           std::ranges::all_of(
               hum.lines, [&](const auto& lines) { return std::ranges::all_of(lines, is_line); });
}

bool passes(const SpectrumLooks& seen) {
    const std::size_t bands = seen.looks > 0 ? SpectrumLooks::bands : 0;
    constexpr std::int64_t most = std::int64_t{1} << 32U;
    return seen.looks >= 0 && seen.looks <= most && seen.level_db.size() == bands &&
           seen.looked >= 0 && seen.looked <= most && seen.holes >= 0 &&
           seen.holes <= seen.looked && seen.with_holes >= 0 && seen.with_holes <= seen.looks &&
           std::ranges::none_of(seen.level_db, [](double level) { return std::isnan(level); });
}

bool is_plain(const std::string& text) {
    return text.size() <= longest_why && valid_utf8(text) == text &&
           std::ranges::none_of(
               text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; });
}

template <class Part>
bool one_each(const std::vector<Part>& parts, bool wanted, const Recording& recording) {
    return parts.size() == (wanted ? recording.channels.size() : 0);
}

} // namespace

UnitCheck::UnitCheck(const Recording& recording, const Settings& settings, const Wanted& wanted)
    : recording_(&recording), settings_(settings), wanted_(wanted),
      mid_hz_(ThirdOctaveBank(1, recording.rate_hz, 0).take().front().mid_hz),
      spectrum_bands_(SpectrumTracker(1, recording.rate_hz, 0, 0).take().front().bands()),
      score_hop_(std::max<Frame>(1, std::llround(score_step_s * recording.rate_hz))),
      health_step_(std::max<Frame>(1, std::llround(health_step_s * recording.rate_hz))) {
    const Frame level_hop = LevelTracker(1, recording.rate_hz, 0, 0).take().front().hop;
    const std::vector<float> one{1.0F};
    course_hop_ = noise_floor(one, 0, level_hop, recording.rate_hz, {}).hop;
}

bool UnitCheck::passes(const UnitResult& result, const Unit& unit) const {
    const auto each = [&](const auto& parts) {
        return std::ranges::all_of(parts, [&](const auto& part) { return passes(part, unit); });
    };
    const auto same_steps = [&](const Course& course) {
        return course.level.size() == result.courses.front().level.size();
    };
    const Frame interval =
        settings_.every_s
            ? static_cast<Frame>(std::llround(*settings_.every_s * recording_->rate_hz))
            : 0;
    const BandLevels like(mid_hz_, settings_.from, settings_.to, interval);
    return one_each(result.health, wanted_.health, *recording_) &&
           one_each(result.courses, true, *recording_) &&
           one_each(result.levels, wanted_.noise, *recording_) &&
           one_each(result.scores, wanted_.scores && hears(wanted_), *recording_) &&
           (hears(wanted_) || result.arrivals.empty()) && each(result.health) &&
           each(result.courses) && std::ranges::all_of(result.courses, same_steps) &&
           std::ranges::all_of(result.levels,
                               [&](const BandLevels& levels) {
                                   return levels.could_be_of(like, unit.core_begin, unit.core_end);
                               }) &&
           each(result.scores) && each(result.arrivals) &&
           std::ranges::is_sorted(result.arrivals, {}, &Arrival::onset_s);
}

bool UnitCheck::passes(const StretchList& list) const {
    const Frame most = recording_->frames;
    const auto lies_within = [most](const Stretch& stretch) {
        return stretch.first >= 0 && stretch.first <= most && stretch.count >= 0 &&
               stretch.count <= most - stretch.first;
    };
    return list.listed.size() <= StretchList::most_listed &&
           list.stretches >= static_cast<std::int64_t>(list.listed.size()) &&
           list.stretches <= most && list.frames >= 0 && list.frames <= 2 * most && list.end >= 0 &&
           list.end <= most && std::ranges::all_of(list.listed, lies_within);
}

bool UnitCheck::passes(const ChannelHealth& health, const Unit& unit) const {
    const bool begun = health.first >= unit.core_begin && health.first < unit.core_end;
    const bool nothing = health.first == 0 && health.steps.empty() && health.frames == 0;
    const Frame core = unit.core_end - unit.core_begin;
    const auto is_dip = [&](const GainDip& dip) {
        return dip.frame >= unit.core_begin && dip.frame < unit.core_end && !std::isnan(dip.db);
    };
    for (const StretchList* list : {&health.clipped, &health.zeroed, &health.held, &health.repeated,
                                    &health.missing, &health.non_finite, &health.jumps})
        if (!passes(*list)) return false;
    return (begun || nothing) && health.step == health_step_ && health.frames >= 0 &&
           health.frames <= core && !std::isnan(health.sum) && is_power(health.sum_of_squares) &&
           is_power(health.peak) && is_power(health.least_step) && is_power(health.clip_level) &&
           health.steps.size() <= static_cast<std::size_t>(core / health_step_ + 2) &&
           std::ranges::all_of(
               health.steps,
               [&](const HealthStep& step) { return lull::passes(step, health_step_); }) &&
           health.hum.size() <= 1 &&
           std::ranges::all_of(health.hum,
                               [&](const HumUnit& hum) { return lull::passes(hum, unit); }) &&
           lull::passes(health.spectrum) && health.dips.size() <= ChannelHealth::most_dips &&
           std::ranges::all_of(health.dips, is_dip);
}

bool UnitCheck::passes(const Course& course, const Unit& unit) const {
    const std::size_t steps = course.level.size();
    const Frame first = unit.core_begin / course_hop_ * course_hop_;
    return course.hop == course_hop_ && course.first == first &&
           steps <= static_cast<std::size_t>(steps_within(first, unit.core_end, course_hop_)) &&
           course.loudest.size() == steps && course.floor.size() == steps &&
           course.confidence.size() == steps && are_powers(course.level) &&
           are_powers(course.loudest) && are_powers(course.floor) &&
           std::ranges::all_of(course.confidence,
                               [](float share) { return is_share(static_cast<double>(share)); });
}

bool UnitCheck::passes(const ScoreTrack& scores, const Unit& unit) const {
    const Frame begin = steps_within(0, unit.core_begin, score_hop_);
    const Frame end = steps_within(0, unit.core_end, score_hop_);
    const auto steps = static_cast<std::size_t>(std::max<Frame>(0, end - begin));
    const auto are_scores = [&](const std::vector<float>& values) {
        return values.size() == steps &&
               std::ranges::none_of(values, [](float value) { return std::isnan(value); });
    };
    return scores.hop == score_hop_ && scores.first == begin * score_hop_ &&
           are_scores(scores.impulse) && are_scores(scores.lasting) && are_scores(scores.floor);
}

bool UnitCheck::passes(const Arrival& arrival, const Unit& unit) const {
    const auto channels = static_cast<int>(recording_->channels.size());
    if (!std::isfinite(arrival.onset_s) || !std::isfinite(arrival.end_s) ||
        arrival.onset_s < recording_->seconds(unit.core_begin) - ends_within_s ||
        arrival.end_s < arrival.onset_s ||
        arrival.end_s > recording_->seconds(unit.read_end) + ends_within_s)
        return false;
    const auto onset = static_cast<Frame>(std::llround(arrival.onset_s * recording_->rate_hz));
    return onset >= unit.core_begin && onset < unit.core_end && arrival.channel >= 0 &&
           arrival.channel < channels && arrival.kind >= EventKind::tapping &&
           arrival.kind <= EventKind::other && is_share(arrival.confidence) &&
           std::ranges::all_of(std::initializer_list<double>{arrival.onset_sigma_s, arrival.peak,
                                                             arrival.peak_energy, arrival.energy,
                                                             arrival.floor_power},
                               is_power) &&
           !std::isnan(arrival.snr_db) && is_plain(arrival.why) && passes(arrival.shape);
}

bool UnitCheck::passes(const Shape& shape) const {
    const Imprint& imprint = shape.imprint;
    const bool has_imprint = !imprint.bins.empty();
    return are_numbers({shape.score, shape.contrast_db, shape.rise_s, shape.decay_s, shape.early,
                        shape.centroid_hz, shape.fundamental_hz, shape.harmonicity,
                        shape.voiced_share, shape.pitch_spread, shape.voiced_run_s, shape.syllabic,
                        shape.level_spread_db}) &&
           imprint.bins.size() <= 2 * most_imprint_bins && imprint.bins.size() % 2 == 0 &&
           std::isfinite(imprint.norm) && std::isfinite(imprint.spacing_hz) &&
           ((imprint.norm > 0.0F && imprint.spacing_hz > 1.0F) || !has_imprint) &&
           is_share(static_cast<double>(imprint.signal_share)) &&
           (shape.band_db.empty() || shape.band_db.size() == spectrum_bands_) &&
           std::ranges::all_of(shape.band_db, [](float db) { return !std::isnan(db); });
}

} // namespace lull
