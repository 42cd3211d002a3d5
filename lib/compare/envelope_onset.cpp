// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/envelope_onset.hpp"

#include "signal/fft.hpp"
#include "signal/median.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>

namespace lull {
namespace {

constexpr double lowest_hz = 20.0, highest_hz = 2000.0; ///< of an impact's own band
constexpr double octave_share = 0.35;  ///< spectra are averaged over this share of frequency
constexpr double energy_share = 0.95;  ///< of the energy that lies in the own band
constexpr double smooth_periods = 1.2; ///< of the band's highest frequency in an envelope's mean
constexpr double least_smooth_s = 0.001, most_smooth_s = 0.004;
constexpr double least_share = 0.1;  ///< of the peak [the envelope's amplitude]
constexpr double over_noise = 3.5;   ///< a threshold lies so much above the noise's amplitude
constexpr double most_share = 0.4;   ///< a channel that asks for more tells no onset
constexpr double gap_s = 0.008;      ///< quiet for so long: what lies before is another wave
constexpr double spread_share = 1.0; ///< of what the thresholds differ by
constexpr double rise_share = 0.06;  ///< of the time from onset to peak that nobody knows
constexpr std::array<double, 3> shares_over_least{1.0, 1.5, 2.25};

constexpr double fade_s = 0.01;

using Spectrum = std::vector<std::complex<float>>;

/// Power of each of the first `count` bins, averaged over a share of its frequency.
std::vector<double> smooth_power(const Spectrum& bins, std::size_t count, double scale) {
    const auto reach_of = [](std::size_t k) {
        return static_cast<std::size_t>(octave_share * static_cast<double>(k)) / 2 + 1;
    };
    const std::size_t end = std::min(bins.size(), count + reach_of(count));
    std::vector<double> sums(end + 1), power(count);
    for (std::size_t k = 0; k < end; ++k)
        sums[k + 1] = sums[k] + scale * static_cast<double>(std::norm(bins[k]));
    for (std::size_t k = 0; k < count; ++k) {
        const std::size_t reach = reach_of(k), low = k > reach ? k - reach : 0,
                          high = std::min(end, k + reach + 1);
        power[k] = (sums[high] - sums[low]) / static_cast<double>(high - low);
    }
    return power;
}

/// One transform size for all channels of an event.
class Transforms {
  public:
    Transforms(std::size_t frames, double rate_hz)
        : fft_(shared_size(frames)), bin_hz_(rate_hz / static_cast<double>(fft_.size())),
          fade_(static_cast<std::size_t>(fade_s * rate_hz)), room_(fft_.size()) {}

    /// Of samples less their mean, faded at both ends: a transform goes round.
    Spectrum spectrum(std::span<const float> samples) {
        double sum = 0.0;
        for (const float sample : samples)
            sum += static_cast<double>(sample);
        const auto mean = static_cast<float>(sum / static_cast<double>(samples.size()));
        for (std::size_t i = 0; i < samples.size(); ++i)
            room_[i] = samples[i] - mean;
        const std::size_t fade = std::min(fade_, samples.size() / 4);
        for (std::size_t i = 0; i < fade; ++i) {
            const float share = static_cast<float>(i) / static_cast<float>(fade);
            room_[i] *= share;
            room_[samples.size() - 1 - i] *= share;
        }
        std::fill(room_.begin() + static_cast<std::ptrdiff_t>(samples.size()), room_.end(), 0.0F);
        Spectrum bins(fft_.bins());
        fft_.forward(room_, bins);
        return bins;
    }
    /// The samples of a weighted spectrum.
    std::span<const float> weighted(Spectrum bins, std::span<const float> weight) {
        for (std::size_t k = 0; k < weight.size(); ++k)
            bins[k] *= weight[k];
        std::fill(bins.begin() + static_cast<std::ptrdiff_t>(weight.size()), bins.end(),
                  std::complex<float>());
        fft_.inverse(bins, room_);
        return room_;
    }
    [[nodiscard]] double bin_hz() const { return bin_hz_; }
    /// Those that an own band may hold.
    [[nodiscard]] std::size_t bins() const {
        return std::min(fft_.bins(), static_cast<std::size_t>(highest_hz / bin_hz_) + 1);
    }

  private:
    RealFft fft_;
    double bin_hz_;
    std::size_t fade_;
    std::vector<float> room_;
};

/// The event's own band: a weight of each bin, and the highest frequency.
struct OwnBand {
    std::vector<float> weight;
    double high_hz = 0.0;
};

OwnBand own_band(const std::vector<std::vector<double>>& event,
                 const std::vector<std::vector<double>>& noise, double bin_hz) {
    OwnBand band{std::vector<float>(event.front().size()), lowest_hz};
    std::vector<double> energy(band.weight.size());
    double total = 0.0;
    for (std::size_t k = 0; k < energy.size(); ++k) {
        const double hz = bin_hz * static_cast<double>(k);
        if (hz < lowest_hz || hz > highest_hz) continue;
        double over = 0.0;
        for (std::size_t c = 0; c < event.size(); ++c)
            over += std::max(0.0, event[c][k] / std::max(noise[c][k], 1e-30) - 1.0) /
                    static_cast<double>(event.size());
        band.weight[k] = static_cast<float>(over / (1.0 + over));
        for (std::size_t c = 0; c < event.size(); ++c)
            energy[k] += event[c][k] * static_cast<double>(band.weight[k]);
        total += energy[k];
    }
    double sum = 0.0;
    for (std::size_t k = 0; k < energy.size() && sum < energy_share * total; ++k)
        sum += energy[k], band.high_hz = std::max(lowest_hz, bin_hz * static_cast<double>(k));
    for (std::size_t k = 0; k < energy.size(); ++k) {
        const double ratio = bin_hz * static_cast<double>(k) / band.high_hz;
        band.weight[k] *= static_cast<float>(1.0 / (1.0 + std::pow(ratio, 6.0)));
    }
    return band;
}

/// Envelope of one channel: root of the mean square over a short time.
struct Envelope {
    std::vector<double> level;
    double noise = 0.0; ///< before the event
    std::size_t begin = 0, peak = 0;

    [[nodiscard]] double most() const { return level[peak]; }
    [[nodiscard]] double share_for_noise() const {
        return most() > 0.0 ? over_noise * noise / most() : 1.0;
    }
};

Envelope envelope_of(std::span<const float> samples, std::size_t begin, std::size_t end,
                     std::size_t width, std::size_t gap) {
    Envelope envelope{std::vector<double>(end), 0.0, begin, begin};
    std::vector<double> sums(samples.size() + 1);
    for (std::size_t i = 0; i < samples.size(); ++i)
        sums[i + 1] = sums[i] + static_cast<double>(samples[i]) * samples[i];
    for (std::size_t i = begin - std::min(begin, gap); i < end; ++i) { // what crossings look at
        const std::size_t low = i > width / 2 ? i - width / 2 : 0,
                          high = std::min(samples.size(), low + width);
        envelope.level[i] = std::sqrt((sums[high] - sums[low]) / static_cast<double>(high - low));
        if (i >= begin && envelope.level[i] > envelope.most()) envelope.peak = i;
    }
    // Not where the samples fade in.
    const std::size_t from = begin / 8;
    if (begin > from)
        envelope.noise = std::sqrt((sums[begin] - sums[from]) / static_cast<double>(begin - from));
    return envelope;
}

/// Where the envelope rises through a threshold for good, between samples; and its slope there.
struct Crossing {
    double sample = 0.0, slope = 0.0;
};

Crossing crossing_of(const Envelope& envelope, double threshold, std::size_t gap) {
    std::size_t last = envelope.peak, below = 0;
    for (std::size_t i = envelope.peak; i > envelope.begin && below < gap; --i) {
        if (envelope.level[i] >= threshold)
            last = i, below = 0;
        else
            ++below;
    }
    const double high = envelope.level[last], low = last > 0 ? envelope.level[last - 1] : 0.0;
    const double part = high > low ? std::clamp((high - threshold) / (high - low), 0.0, 1.0) : 0.0;
    const std::size_t reach = std::max<std::size_t>(1, gap / 4);
    const std::size_t after = std::min(envelope.peak, last + reach),
                      before = last > reach ? last - reach : 0;
    return {static_cast<double>(last) - part,
            std::max(0.0, envelope.level[after] - envelope.level[before]) /
                static_cast<double>(std::max<std::size_t>(1, after - before))};
}

/// Of the channels that are clear: onsets at each threshold, set against the other channels.
void estimate_onsets(const std::vector<Envelope>& envelopes, const std::vector<std::size_t>& clear,
                     double share, double rate_hz, std::size_t gap,
                     std::vector<std::optional<EnvelopeOnset>>& onsets) {
    std::array<std::vector<double>, shares_over_least.size()> at;
    std::vector<double> slope;
    for (std::size_t t = 0; t < at.size(); ++t) {
        for (const std::size_t c : clear) {
            const Crossing one =
                crossing_of(envelopes[c], share * shares_over_least[t] * envelopes[c].most(), gap);
            at[t].push_back(one.sample / rate_hz);
            if (t == 0) slope.push_back(one.slope * rate_hz);
        }
        if (t == 0) continue;
        std::vector<double> later;
        for (std::size_t i = 0; i < clear.size(); ++i)
            later.push_back(at[t][i] - at[0][i]);
        const double usual = median(later);
        for (double& time : at[t])
            time -= usual;
    }
    for (std::size_t i = 0; i < clear.size(); ++i) {
        const Envelope& envelope = envelopes[clear[i]];
        const auto [low, high] = std::minmax({at[0][i], at[1][i], at[2][i]});
        const double rise_s = std::max(0.0, static_cast<double>(envelope.peak) / rate_hz - low);
        onsets[clear[i]] =
            EnvelopeOnset{median({at[0][i], at[1][i], at[2][i]}),
                          slope[i] > 0.0 ? std::min(gap_s, envelope.noise / slope[i]) : gap_s,
                          std::hypot(spread_share * (high - low), rise_share * rise_s)};
    }
}

} // namespace

std::vector<std::optional<EnvelopeOnset>> envelope_onsets(const EnvelopeInput& input) {
    std::vector<std::optional<EnvelopeOnset>> onsets(input.channels.size());
    const Block& block = *input.block;
    const auto begin = static_cast<std::size_t>(input.noise_frames),
               frames = static_cast<std::size_t>(block.frames),
               end = std::min(frames,
                              begin + static_cast<std::size_t>(input.search_s * input.rate_hz));
    if (input.channels.size() < 2 || begin < 16 || end < begin + 16) return onsets;
    Transforms transforms(frames, input.rate_hz);
    std::vector<Spectrum> spectra;
    std::vector<std::vector<double>> event, noise;
    for (const int c : input.channels) {
        const std::span<const float> samples = block.channel(c).first(frames);
        event.push_back(smooth_power(transforms.spectrum(samples.subspan(begin)), transforms.bins(),
                                     1.0 / static_cast<double>(frames - begin)));
        noise.push_back(smooth_power(transforms.spectrum(samples.first(begin)), transforms.bins(),
                                     1.0 / static_cast<double>(begin)));
        spectra.push_back(transforms.spectrum(samples));
    }
    const OwnBand band = own_band(event, noise, transforms.bin_hz());
    const auto width = static_cast<std::size_t>(
        std::clamp(smooth_periods / band.high_hz, least_smooth_s, most_smooth_s) * input.rate_hz);
    const auto gap = static_cast<std::size_t>(gap_s * input.rate_hz);
    std::vector<Envelope> envelopes;
    std::vector<std::size_t> clear;
    double share = least_share;
    for (std::size_t c = 0; c < spectra.size(); ++c) {
        envelopes.push_back(
            envelope_of(transforms.weighted(std::move(spectra[c]), band.weight).first(frames),
                        begin, end, std::max<std::size_t>(1, width), gap));
        const double own = envelopes.back().share_for_noise();
        if (own > most_share) continue;
        clear.push_back(c);
        share = std::max(share, own);
    }
    if (clear.size() > 1) estimate_onsets(envelopes, clear, share, input.rate_hz, gap, onsets);
    return onsets;
}

} // namespace lull
