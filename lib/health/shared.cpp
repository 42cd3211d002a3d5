// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/shared.hpp"

#include "conventions.hpp"
#include "signal/fft.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>

namespace lull {
namespace {

constexpr double heard_over_floor = 4.0; // 6 dB
constexpr double longest_s = 1.0;
constexpr double most_delay_s = 0.05;        // between channels of one site
constexpr double clear_correlation = 0.7;    // from here on the sign is reliable
constexpr double clear_over_opposite = 1.08; // the peak over the best one of the other sign
constexpr std::size_t least_events = 5;
// comparisons of sign: 80 % of so many agree by chance once in 500
constexpr double least_comparisons = 16.0;
constexpr double most_reversed = 0.8; // share of clear comparisons with the opposite sign
constexpr double gain_apart_db = 12.0, gain_alike_db = 4.0;
constexpr double weak_high = 0.25, weak_agreement = 0.7;
constexpr double alike_high = 0.4, other_axis = 0.65;
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

double median(std::vector<double> values) {
    std::erase_if(values, [](double v) { return std::isnan(v); });
    if (values.empty()) return nothing;
    std::sort(values.begin(), values.end());
    return 0.5 * (values[(values.size() - 1) / 2] + values[values.size() / 2]);
}

/// Largest and smallest normalised correlation within the delays that a site allows.
struct Extremes {
    double highest = 0.0, lowest = 0.0;
};

Extremes extremes_of(std::span<const float> correlation, std::size_t reach, double scale) {
    Extremes found;
    const std::size_t n = correlation.size();
    for (std::size_t i = 0; i <= reach; ++i)
        for (std::size_t at : {i, (n - i) % n}) {
            const double value = static_cast<double>(correlation[at]) * scale;
            found.highest = std::max(found.highest, value);
            found.lowest = std::min(found.lowest, value);
        }
    return found;
}

} // namespace

SharedEvents::SharedEvents(std::vector<int> comparable, double rate_hz)
    : comparable_(std::move(comparable)), rate_hz_(rate_hz) {}

bool SharedEvents::comparable(std::size_t a, std::size_t b) const {
    return a != b && comparable_[a] >= 0 && comparable_[a] == comparable_[b];
}

SharedEvents::Event SharedEvents::measure(const Block& stretch, std::span<const double> floor_power,
                                          std::span<const double> scale_db) const {
    Event event(comparable_.size());
    const auto frames = std::min(stretch.frames, static_cast<Frame>(longest_s * rate_hz_));
    for (std::size_t c = 0; c < event.size(); ++c) {
        const auto samples =
            stretch.channel(static_cast<int>(c)).first(static_cast<std::size_t>(frames));
        double power = 0.0, change = 0.0;
        for (std::size_t i = 1; i < samples.size(); ++i) {
            const double x = static_cast<double>(samples[i]),
                         d = x - static_cast<double>(samples[i - 1]);
            power += x * x;
            change += d * d;
        }
        const double mean = power / static_cast<double>(std::max<Frame>(1, frames));
        SharedEvent& heard = event[c];
        heard.heard = floor_power[c] > 0.0 && mean > heard_over_floor * floor_power[c];
        if (!heard.heard) continue;
        heard.level_db = 10.0 * std::log10(mean) + scale_db[c];
        heard.floor_db = 10.0 * std::log10(floor_power[c]) + scale_db[c];
        heard.high_share = change / (4.0 * power);
    }
    compare(stretch, event);
    return event;
}

void SharedEvents::compare(const Block& stretch, Event& event) const {
    const auto frames = static_cast<std::size_t>(
        std::min(stretch.frames, static_cast<Frame>(longest_s * rate_hz_)));
    const auto reach = static_cast<std::size_t>(most_delay_s * rate_hz_);
    const RealFft fft(shared_size(frames + reach + 1));
    std::vector<std::vector<std::complex<float>>> spectra(event.size());
    std::vector<double> norm(event.size(), 0.0);
    std::vector<float> padded(fft.size());
    for (std::size_t c = 0; c < event.size(); ++c) {
        if (!event[c].heard) continue;
        std::fill(padded.begin(), padded.end(), 0.0F);
        std::copy_n(stretch.channel(static_cast<int>(c)).begin(), frames, padded.begin());
        for (float x : padded)
            norm[c] += static_cast<double>(x) * static_cast<double>(x);
        spectra[c].resize(fft.bins());
        fft.forward(padded, spectra[c]);
    }
    std::vector<std::complex<float>> product(fft.bins());
    for (std::size_t a = 0; a < event.size(); ++a)
        for (std::size_t b = a + 1; b < event.size(); ++b) {
            if (!event[a].heard || !event[b].heard || !comparable(a, b)) continue;
            for (std::size_t k = 0; k < product.size(); ++k)
                product[k] = spectra[a][k] * std::conj(spectra[b][k]);
            fft.inverse(product, padded);
            const double scale =
                1.0 / (static_cast<double>(fft.size()) * std::sqrt(norm[a] * norm[b]));
            const Extremes found = extremes_of(padded, std::min(reach, fft.size() - 1), scale);
            const double high = found.highest, low = -found.lowest;
            for (SharedEvent* heard : {&event[a], &event[b]})
                heard->agreement = std::max({heard->agreement, high, low});
            const double strong = std::max(high, low), weak = std::min(high, low);
            if (strong < clear_correlation || strong < clear_over_opposite * weak) continue;
            for (SharedEvent* heard : {&event[a], &event[b]}) {
                heard->sign += high > low ? 1.0 : -1.0;
                ++heard->clear;
            }
        }
}

int SharedEvents::others_heard(const Event& event, std::size_t channel) const {
    int count = 0;
    for (std::size_t c = 0; c < event.size(); ++c)
        count += comparable(c, channel) && event[c].heard ? 1 : 0;
    return count;
}

double SharedEvents::other_median(const Event& event, std::size_t channel,
                                  double SharedEvent::*what) const {
    std::vector<double> values;
    for (std::size_t c = 0; c < event.size(); ++c)
        if (comparable(c, channel) && event[c].heard) values.push_back(event[c].*what);
    return median(std::move(values));
}

void SharedEvents::judge_polarity(std::size_t channel, Finding base,
                                  std::vector<Finding>& all) const {
    double reversed = 0.0, clear = 0.0;
    std::size_t events = 0;
    for (const Event& event : events_) {
        const SharedEvent& heard = event[channel];
        // One other channel cannot show which of the two is reversed.
        if (heard.clear < 2) continue;
        ++events;
        clear += heard.clear;
        reversed += 0.5 * (heard.clear - heard.sign);
    }
    if (events < least_events || clear < least_comparisons || reversed < most_reversed * clear)
        return;
    base.finding = "polarity reversed";
    base.amount = 100.0 * reversed / clear;
    base.unit = "% of comparisons";
    base.effect = "delays against this channel come from the wrong side of the waveform";
    base.remedy =
        "swap the sensor's wires, turn the sensor over, or set its polarity to -1 in the session";
    base.severity = 1;
    all.push_back(std::move(base));
}

void SharedEvents::judge_gain(std::size_t channel, Finding base, std::vector<Finding>& all) const {
    std::vector<double> levels, floors;
    for (const Event& event : events_) {
        if (!event[channel].heard) continue;
        levels.push_back(event[channel].level_db -
                         other_median(event, channel, &SharedEvent::level_db));
        floors.push_back(event[channel].floor_db -
                         other_median(event, channel, &SharedEvent::floor_db));
    }
    std::erase_if(levels, [](double v) { return std::isnan(v); });
    if (levels.size() < least_events) return;
    const double level_db = median(levels), floor_db = median(floors);
    // Distance changes the level only; gain changes level and floor together.
    if (std::fabs(level_db) < gain_apart_db || std::fabs(level_db - floor_db) > gain_alike_db)
        return;
    base.finding = "unequal gain";
    base.amount = level_db;
    base.unit = "dB against the other channels";
    base.effect = "ranking by level puts this channel wrongly near or far";
    base.remedy = "set all gains alike, or state gain_dB in the session";
    base.severity = 1;
    base.levels_mislead = true;
    all.push_back(std::move(base));
}

/// Judges the mounting of a sensor that hears the shared events differently from the other sensors.
/// If it lacks high frequencies, its contact is at fault; if not, its direction.
void SharedEvents::judge_seat(std::size_t channel, Finding base, std::vector<Finding>& all) const {
    std::vector<double> high, own, others;
    for (const Event& event : events_) {
        const SharedEvent& heard = event[channel];
        // Needs two other channels: their agreement with each other is the reference.
        if (!heard.heard || others_heard(event, channel) < 2) continue;
        high.push_back(heard.high_share / other_median(event, channel, &SharedEvent::high_share));
        own.push_back(heard.agreement);
        others.push_back(other_median(event, channel, &SharedEvent::agreement));
    }
    if (high.size() < least_events) return;
    const double high_ratio = median(high), ratio = median(own) / median(others);
    const std::string evidence = fmt::format(
        "in {} shared events it agrees with the others {:.0f} % as well as they do with each other",
        high.size(), 100.0 * ratio);
    base.severity = 1;
    base.levels_mislead = true;
    if (high_ratio < weak_high && ratio < weak_agreement) {
        base.finding = "poor contact suspected";
        base.amount = 10.0 * std::log10(high_ratio);
        base.unit = "dB of high frequencies against the other channels";
        base.effect = evidence + ", and has little of the high frequencies that they have: it "
                                 "looks further away than it is";
        base.remedy =
            "seat the sensor on clean, solid material; press, wedge or clamp it, and knock to test";
        all.push_back(std::move(base));
    } else if (high_ratio > alike_high && high_ratio < 1.0 / alike_high && ratio < other_axis &&
               median(others) > clear_correlation) {
        base.finding = "wrong axis suspected";
        base.amount = 100.0 * ratio;
        base.unit = "% of the others' agreement";
        base.effect = evidence + ", though it has the same frequencies: it may point another way, "
                                 "or stand on another part; levels and delays against it mislead";
        base.remedy = "turn it to the axis of the others, or state its axis in the session";
        all.push_back(std::move(base));
    }
}

std::vector<Finding> SharedEvents::findings(double from_s, double to_s) const {
    std::vector<Finding> all;
    for (std::size_t c = 0; c < comparable_.size(); ++c) {
        Finding base;
        base.channel = static_cast<int>(c);
        base.from_s = from_s;
        base.to_s = to_s;
        judge_polarity(c, base, all);
        judge_gain(c, base, all);
        judge_seat(c, base, all);
    }
    return all;
}

} // namespace lull
