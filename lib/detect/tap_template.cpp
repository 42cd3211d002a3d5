// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/tap_template.hpp"

#include "detect/internal/products.hpp"
#include "signal/fft.hpp"
#include "signal/median.hpp"
#include "signal/thinner.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace lull {
namespace {

constexpr double before_s = 0.010; ///< of the onset that a window begins
constexpr double after_s = 0.070;  ///< of the last channel's onset that it ends
constexpr std::size_t most_taps = 8;
constexpr int rounds = 3;            ///< of aligning and averaging
constexpr double most_lag_s = 0.008; ///< by which two taps' onsets may be off
constexpr double alike = 0.4;        ///< correlation of a tap that belongs into the mean
constexpr double noise_around_s = 8.0, noise_within_s = 40.0;
constexpr std::size_t most_noise_windows = 160;
constexpr double normal_median = 0.6745; ///< of the absolute value of a normal variate
constexpr double faintest = 1e-5;        ///< of the mean noise: no bin is quieter

struct Tap {
    const Event* event = nullptr;
    double begin = 0.0;    ///< of its window, frames of the thinned stream
    double strength = 1.0; ///< in units of the mean
    double correlation = 1.0;
    WindowSpectra spectra;
};

const Event& event_of(std::span<const Event> events, int number) {
    return events[static_cast<std::size_t>(number) - 1];
}

std::size_t size_for(double rate_hz) {
    std::size_t size = 256;
    while (static_cast<double>(size) < (template_longest_s + 0.1) * rate_hz)
        size *= 2;
    return size;
}

/// The window that begins at a frame, or between two.
WindowSpectra window_at(double begin, std::span<const float> fade, std::size_t size,
                        const StretchOf& thinned) {
    const double whole = std::floor(begin);
    const Block& block = thinned(static_cast<Frame>(whole), static_cast<Frame>(fade.size()));
    WindowSpectra spectra = spectra_of(block, 0, fade, size);
    advance(spectra, size, begin - whole);
    return spectra;
}

class Maker {
  public:
    Maker(const Series& series, int channels, double rate_hz, Band band, const StretchOf& thinned)
        : series_(series), thinned_(thinned), band_(band) {
        made_.series = series.number;
        made_.confidence = series.confidence;
        made_.rate_hz = rate_hz;
        made_.size = size_for(rate_hz);
        made_.channels = channels;
    }

    std::optional<TapTemplate> make(std::span<const Event> events) {
        choose_taps(events);
        measure_noise();
        made_.weight.assign(noise_.size(), 0.0F);
        for (std::size_t i = 0; i < noise_.size(); ++i)
            if (noise_[i] > 0.0F) made_.weight[i] = share_of_band(i % made_.bins()) / noise_[i];
        for (Tap& tap : taps_)
            cut(tap);
        made_.mean = taps_.front().spectra;
        for (int round = 0; round < rounds; ++round) {
            align();
            average();
        }
        if (taps_.size() < 2) return std::nullopt;
        doubt_noise();
        made_.energy = product(made_.mean, made_.mean, made_.weight);
        if (!(made_.energy > 0.0)) return std::nullopt;
        made_.taps = static_cast<int>(taps_.size());
        project_noise();
        if (!(made_.noise_sigma > 0.0)) return std::nullopt;
        place_onsets();
        return std::move(made_);
    }

  private:
    void choose_taps(std::span<const Event> events) {
        double last_s = 0.0;
        for (const int number : series_.events) {
            const Event& event = event_of(events, number);
            taps_.push_back({&event, 0.0, 1.0, 1.0, {}});
            for (const Arrival& arrival : event.arrivals)
                last_s = std::max(last_s, arrival.onset_s - event.onset_s);
        }
        std::stable_sort(taps_.begin(), taps_.end(), [](const Tap& a, const Tap& b) {
            return snr_of(*a.event) > snr_of(*b.event);
        });
        if (taps_.size() > most_taps) taps_.resize(most_taps);
        for (Tap& tap : taps_)
            tap.begin = std::round((tap.event->onset_s - before_s) * made_.rate_hz);
        const double length_s = std::min(template_longest_s, before_s + last_s + after_s);
        made_.length = static_cast<std::size_t>(length_s * made_.rate_hz);
    }

    [[nodiscard]] float share_of_band(std::size_t bin) const {
        const double f = static_cast<double>(bin) * made_.rate_hz / static_cast<double>(made_.size);
        const double top = std::min(band_.high_hz, thin_pass * made_.rate_hz);
        if (f < band_.low_hz || f > top) return 0.0F;
        const double edge = 0.1 * top;
        return static_cast<float>(std::min(1.0, (top - f) / edge));
    }

    void measure_noise() {
        fade_ = fade_window(made_.length, made_.rate_hz);
        const double span_s =
            std::min(noise_within_s, series_.to_s - series_.from_s + 2.0 * noise_around_s);
        surroundings_ =
            thinned_(static_cast<Frame>((series_.from_s - noise_around_s) * made_.rate_hz),
                     static_cast<Frame>(span_s * made_.rate_hz));
        noise_ = window_noise(surroundings_, fade_, made_.size);
        for (std::size_t c = 0; c < static_cast<std::size_t>(made_.channels); ++c)
            settle_noise(std::span(noise_).subspan(c * made_.bins(), made_.bins()));
    }

    /// What windows of noise give in products.
    void project_noise() {
        const auto frames = static_cast<std::size_t>(surroundings_.frames);
        const std::size_t step = std::max(made_.length, frames / most_noise_windows);
        std::vector<double> energies, projections;
        for (std::size_t at = 0; at + made_.length <= frames; at += step) {
            const WindowSpectra x = spectra_of(surroundings_, at, fade_, made_.size);
            const double energy = product(x, x, made_.weight);
            if (!(energy > 0.0)) continue; // before the recording's begin
            energies.push_back(energy);
            projections.push_back(std::abs(product(x, made_.mean, made_.weight)));
        }
        if (energies.empty()) return;
        made_.noise_energy = median(energies);
        made_.noise_sigma = median(projections) / normal_median;
    }

    /// No bin far under the others: a silent band would decide everything.
    void settle_noise(std::span<float> channel) const {
        smooth_bins(channel);
        double sum = 0.0, count = 0.0;
        for (std::size_t k = 0; k < channel.size(); ++k) {
            if (share_of_band(k) <= 0.0F) continue;
            sum += channel[k];
            count += 1.0;
        }
        const auto least = static_cast<float>(count > 0.0 ? faintest * sum / count : 0.0);
        for (float& value : channel)
            value = std::max(value, least);
    }

    void cut(Tap& tap) const { tap.spectra = window_at(tap.begin, fade_, made_.size, thinned_); }

    /// Moves every window to where it is most like the mean, and says how strong it is there.
    void align() {
        const auto most = static_cast<int>(most_lag_s * made_.rate_hz);
        for (Tap& tap : taps_) {
            const double lag = best_lag(tap.spectra, made_.mean, made_.weight, made_.size, most);
            if (std::abs(lag) > 0.02) {
                tap.begin += lag;
                cut(tap);
            }
            const double own = product(tap.spectra, tap.spectra, made_.weight);
            const double mean = product(made_.mean, made_.mean, made_.weight);
            const double both = product(tap.spectra, made_.mean, made_.weight);
            tap.correlation = own > 0.0 && mean > 0.0 ? both / std::sqrt(own * mean) : 0.0;
            tap.strength = mean > 0.0 ? both / mean : 0.0;
        }
        std::erase_if(taps_, [](const Tap& tap) { return tap.correlation < alike; });
    }

    void average() {
        double squares = 0.0;
        for (const Tap& tap : taps_)
            squares += tap.strength * tap.strength;
        if (!(squares > 0.0)) return;
        for (std::size_t i = 0; i < made_.mean.size(); ++i) {
            std::complex<float> sum = 0.0F;
            for (const Tap& tap : taps_)
                sum += static_cast<float>(tap.strength) * tap.spectra[i];
            made_.mean[i] = sum / static_cast<float>(squares);
        }
        squares_ = squares;
    }

    /// Where the mean is hardly more than the noise that is left in it, it counts for less.
    void doubt_noise() {
        std::vector<float> power(made_.mean.size());
        for (std::size_t i = 0; i < power.size(); ++i)
            power[i] = std::norm(made_.mean[i]);
        for (std::size_t c = 0; c < static_cast<std::size_t>(made_.channels); ++c)
            smooth_bins(std::span(power).subspan(c * made_.bins(), made_.bins()));
        for (std::size_t i = 0; i < power.size(); ++i) {
            const float left = noise_[i] / static_cast<float>(squares_);
            made_.weight[i] *= power[i] > left ? 1.0F - left / power[i] : 0.0F;
        }
    }

    void place_onsets() {
        std::vector<double> onsets;
        std::vector<std::vector<double>> delays(static_cast<std::size_t>(made_.channels));
        for (const Tap& tap : taps_) {
            onsets.push_back(tap.event->onset_s * made_.rate_hz - tap.begin);
            for (const Arrival& arrival : tap.event->arrivals)
                delays[static_cast<std::size_t>(arrival.channel)].push_back(
                    arrival.onset_s * made_.rate_hz - tap.begin);
        }
        made_.onset = median(onsets);
        for (std::vector<double>& own : delays) {
            if (own.empty())
                made_.delay_s.emplace_back();
            else
                made_.delay_s.emplace_back(
                    std::max(0.0, (median(own) - made_.onset) / made_.rate_hz));
        }
    }

    const Series& series_;
    const StretchOf& thinned_;
    Band band_;
    TapTemplate made_;
    std::vector<Tap> taps_;
    std::vector<float> fade_;
    Block surroundings_;       ///< of the series; its taps are too short to count in medians
    std::vector<float> noise_; ///< expected power of a window's bins
    double squares_ = 1.0;
};

} // namespace

std::vector<Series> clear_series(std::span<const Series> series, std::span<const Event> events) {
    std::vector<Series> clear;
    for (const Series& one : series) {
        const bool strong = std::ranges::any_of(one.events, [&](int number) {
            return snr_of(event_of(events, number)) >= clear_snr_db;
        });
        if (one.confidence >= clear_confidence && one.taps >= clear_taps && strong)
            clear.push_back(one);
    }
    std::stable_sort(clear.begin(), clear.end(),
                     [](const Series& a, const Series& b) { return a.confidence > b.confidence; });
    return clear;
}

bool TapTemplate::covers(int number) const {
    return number == series || std::ranges::find(alike, number) != alike.end();
}

double likeness(const TapTemplate& to, const Series& series, std::span<const Event> events,
                const StretchOf& thinned) {
    const Event* clearest = &event_of(events, series.events.front());
    for (const int number : series.events)
        if (snr_of(event_of(events, number)) > snr_of(*clearest))
            clearest = &event_of(events, number);
    const std::vector<float> fade = fade_window(to.length, to.rate_hz);
    double begin = clearest->onset_s * to.rate_hz - to.onset;
    begin += best_lag(window_at(begin, fade, to.size, thinned), to.mean, to.weight, to.size,
                      static_cast<int>(most_lag_s * to.rate_hz));
    const WindowSpectra x = window_at(begin, fade, to.size, thinned);
    const double both = product(x, to.mean, to.weight);
    if (both <= 0.0) return 0.0;
    const double explained = both * both / to.energy;
    const double own = product(x, x, to.weight) - to.noise_energy;
    return std::sqrt(explained / std::max(own, explained));
}

std::optional<TapTemplate> make_template(const Series& series, std::span<const Event> events,
                                         int channels, double rate_hz, Band band,
                                         const StretchOf& thinned) {
    return Maker(series, channels, rate_hz, band, thinned).make(events);
}

} // namespace lull
