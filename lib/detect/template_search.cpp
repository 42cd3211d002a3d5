// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/template_search.hpp"

#include "clones.hpp"
#include "detect/internal/correlating_filter.hpp"
#include "detect/internal/products.hpp"
#include "signal/correlate.hpp"
#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace lull {
namespace {

constexpr std::size_t transform = 8192; ///< samples of each channel at a time: they stay in cache
constexpr std::size_t noise_each_side_s = 8; ///< of the running noise
constexpr std::size_t near_s = 1;            ///< where it rises at once
constexpr double normal_median = 0.6745;     ///< of the absolute value of a normal variate
constexpr double apart_s = 0.08;             ///< between two matches
constexpr double shadow_s = 0.3;             ///< around a match this many times stronger,
constexpr double shadow = 4.0;               ///< parts of its sound match too
constexpr double rise_s = 0.04;              ///< a match takes at most; before that,
constexpr double most_before = 0.75;         ///< the statistic is at most this share of its own
constexpr std::size_t most_looked_at = 120;  ///< peaks of a unit and template
constexpr double least_correlation = 0.5;    ///< unless noise may have hidden the likeness
constexpr double doubt = 2.0;                ///< standard deviations of the noise's energy
constexpr double least_at_all = 0.3;         ///< correlation, whatever the noise
constexpr double louder = 1.5;       ///< what is around may be louder than the running noise
                                     ///< by this; a voice is no noise
constexpr double most_spread = 0.4;  ///< of the noise's energy, share of its mean
constexpr int windows_each_side = 3; ///< that measure that energy
constexpr double gap_s = 0.01;       ///< between them and the match

/// sum += x * conj(filter), complex numbers as pairs of floats.
LULL_CLONES void add_products(const float* x, const float* filter, float* sum, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
        const float a = x[2 * i], b = x[2 * i + 1], c = filter[2 * i], d = filter[2 * i + 1];
        sum[2 * i] += a * c + b * d;
        sum[2 * i + 1] += b * c - a * d;
    }
}

const float* floats(const std::complex<float>* values) {
    return reinterpret_cast<const float*>(values);
}

float median(std::vector<float>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// Standard deviation of the noise of a statistic, second by second: from medians, over a
/// neighbourhood of 17 s, or the nearest 3 s where these are louder.
std::vector<float> running_noise(const std::vector<float>& statistic, std::size_t step) {
    std::vector<float> steps, work;
    for (std::size_t at = 0; at < statistic.size(); at += step) {
        work.clear();
        for (std::size_t i = at; i < std::min(at + step, statistic.size()); i += 2)
            work.push_back(std::abs(statistic[i]));
        steps.push_back(median(work));
    }
    const auto around = [&](std::size_t i, std::size_t reach) {
        const std::size_t from = i < reach ? 0 : i - reach;
        const std::size_t to = std::min(steps.size(), i + reach + 1);
        work.clear();
        for (std::size_t k = from; k < to; ++k) // where there is no recording there is no noise
            if (steps[k] > 0.0F) work.push_back(steps[k]);
        return work.empty() ? 0.0F : median(work);
    };
    std::vector<float> noise;
    for (std::size_t i = 0; i < steps.size(); ++i)
        noise.push_back(std::max(around(i, noise_each_side_s), around(i, near_s)) /
                        static_cast<float>(normal_median));
    return noise;
}

/// Whether a sound begins at a peak of the statistic: what rings on keeps matching a template that
/// rings, but matched as well just before. In made scenes one blow in 1,500 exceeded 0.75, and
/// one tail of ringing in 180 did not.
bool begins(const std::vector<float>& statistic, std::size_t peak, double rate_hz) {
    const auto back = [&](double s) {
        return peak - std::min(peak, static_cast<std::size_t>(s * rate_hz));
    };
    const float most = static_cast<float>(most_before) * statistic[peak];
    for (std::size_t i = back(apart_s); i < back(rise_s); ++i)
        if (std::abs(statistic[i]) > most) return false;
    return true;
}

/// Energies of the noise windows around a match, as products with themselves.
struct NoiseEnergy {
    double mean = 0.0, sigma = 0.0;
};

NoiseEnergy noise_energy(const Block& block, std::span<const std::size_t> begins,
                         std::span<const float> fade, const TapTemplate& like) {
    std::vector<double> energies;
    for (const std::size_t begin : begins) {
        const WindowSpectra x = spectra_of(block, begin, fade, like.size);
        energies.push_back(product(x, x, like.weight));
    }
    std::sort(energies.begin(), energies.end());
    const std::size_t half = energies.size() / 2;
    const double middle =
        energies.size() % 2 ? energies[half] : 0.5 * (energies[half - 1] + energies[half]);
    double off = 0.0;
    for (const double energy : energies)
        off += std::abs(energy - middle);
    return {middle, 1.25 * off / static_cast<double>(energies.size())};
}

} // namespace

TemplateSearch::TemplateSearch(std::span<const TapTemplate> templates, const Sections& band_pass,
                               double full_rate_hz)
    : templates_(templates), rate_hz_(templates.front().rate_hz),
      channels_(templates.front().channels),
      margin_(static_cast<std::size_t>(template_margin_s * rate_hz_)), longest_(0) {
    const RealFft fft(transform);
    std::vector<float> padded(transform);
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (const TapTemplate& one : templates) {
        std::vector<std::complex<float>>& filter = filters_.emplace_back();
        for (int c = 0; c < channels_; ++c) {
            const std::vector<float> taps =
                correlating_filter(one, c, margin_, band_pass, full_rate_hz);
            std::ranges::fill(padded, 0.0F);
            std::ranges::copy(taps, padded.begin());
            fft.forward(padded, spectrum);
            filter.insert(filter.end(), spectrum.begin(), spectrum.end());
            longest_ = std::max(longest_, taps.size());
        }
        fades_.push_back(fade_window(one.length, one.rate_hz));
    }
}

std::vector<std::vector<float>> TemplateSearch::statistics(Frame begin, Frame end,
                                                           const StretchOf& raw) const {
    const auto wanted = static_cast<std::size_t>(end - begin);
    const std::size_t step = transform - longest_ + 1;
    const auto channels = static_cast<std::size_t>(channels_);
    const RealFft fft(transform, channels), back(transform);
    std::vector<std::complex<float>> spectra(channels * fft.bins()), sum(fft.bins());
    std::vector<float> part(transform);
    std::vector<std::vector<float>> all(templates_.size());
    for (std::vector<float>& own : all)
        own.reserve(wanted);
    for (std::size_t at = 0; at < wanted; at += step) {
        const Frame first = begin + static_cast<Frame>(at) - static_cast<Frame>(margin_);
        fft.forward(raw(first, transform).samples, spectra);
        const std::size_t count = std::min(step, wanted - at);
        for (std::size_t t = 0; t < templates_.size(); ++t) {
            std::ranges::fill(sum, std::complex<float>());
            for (std::size_t c = 0; c < channels; ++c)
                add_products(floats(spectra.data() + c * fft.bins()),
                             floats(filters_[t].data() + c * fft.bins()),
                             reinterpret_cast<float*>(sum.data()), fft.bins());
            back.inverse(sum, part);
            all[t].insert(all[t].end(), part.begin(),
                          part.begin() + static_cast<std::ptrdiff_t>(count));
        }
    }
    return all;
}

/// Peaks of the statistic over its running noise: the highest of their neighbourhood, and not what
/// a far stronger one leaves behind.
std::vector<TemplateSearch::Peak>
TemplateSearch::peaks_of(const std::vector<float>& statistic) const {
    const auto second = static_cast<std::size_t>(std::llround(rate_hz_));
    const std::vector<float> noise = running_noise(statistic, second);
    std::vector<Peak> found;
    for (std::size_t i = 1; i + 1 < statistic.size(); ++i) {
        const float y = statistic[i], sigma = noise[i / second];
        if (!(y > static_cast<float>(least_match_score) * sigma) || !(sigma > 0.0F)) continue;
        if (y < statistic[i - 1] || y <= statistic[i + 1]) continue;
        if (!begins(statistic, i, rate_hz_)) continue;
        const double off = parabolic_peak(statistic[i - 1], y, statistic[i + 1]);
        found.push_back(
            {static_cast<double>(i) + off, static_cast<double>(y) / static_cast<double>(sigma)});
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const Peak& a, const Peak& b) { return a.score > b.score; });
    std::vector<Peak> kept;
    for (const Peak& peak : found) {
        const bool covered = std::ranges::any_of(kept, [&](const Peak& other) {
            const double after_s = (peak.at - other.at) / rate_hz_;
            return std::abs(after_s) < apart_s ||
                   (std::abs(after_s) < shadow_s && other.score > shadow * peak.score);
        });
        if (!covered) kept.push_back(peak);
    }
    return kept;
}

/// The second condition: what the template leaves unexplained of the energy must be little, or no
/// more than noise. \param begin of the window, in frames of the thinned streams
/// \return a match of correlation 0 when it is not alike
Match TemplateSearch::look(std::size_t of, double begin, double score,
                           const StretchOf& banded) const {
    const TapTemplate& like = templates_[of];
    const auto gap = static_cast<std::size_t>(gap_s * rate_hz_);
    const std::size_t reach = windows_each_side * (like.length + gap);
    const double whole = std::floor(begin);
    const Block& block = banded(static_cast<Frame>(whole) - static_cast<Frame>(reach),
                                static_cast<Frame>(2 * reach + like.length));
    WindowSpectra x = spectra_of(block, reach, fades_[of], like.size);
    advance(x, like.size, begin - whole);
    std::vector<std::size_t> around;
    for (std::size_t k = 1; k <= windows_each_side; ++k) {
        around.push_back(reach - k * (like.length + gap));
        around.push_back(reach + k * (like.length + gap));
    }
    NoiseEnergy noise = noise_energy(block, around, fades_[of], like);
    const double both = product(x, like.mean, like.weight);
    const double explained = both * both / like.energy;
    const double sigma = both / score / like.noise_sigma;
    noise.mean = std::min(noise.mean, louder * sigma * sigma * like.noise_energy);
    noise.sigma = std::min(noise.sigma, most_spread * noise.mean);
    const double over = product(x, x, like.weight) - noise.mean;
    Match match;
    match.of = of;
    match.score = score;
    match.onset_s = (begin + like.onset) / rate_hz_;
    const double least = explained / (least_correlation * least_correlation);
    if (both <= 0.0 || over > least + doubt * noise.sigma) return match;
    const double correlation = std::sqrt(explained / std::max(over, explained));
    if (correlation < least_at_all) return match;
    match.correlation = correlation;
    const std::size_t bins = like.bins();
    for (std::size_t c = 0; c < static_cast<std::size_t>(channels_); ++c) {
        const auto weight = std::span(like.weight).subspan(c * bins, bins);
        const auto mean = std::span(like.mean).subspan(c * bins, bins);
        const double energy = product(mean, mean, weight);
        const double own = product(std::span(x).subspan(c * bins, bins), mean, weight);
        // In units of the noise that the whole statistic has, as if all of it were this channel's.
        match.channel_score.push_back(
            energy > 0.0 ? score * own / both * std::sqrt(like.energy / energy) : 0.0);
    }
    return match;
}

std::vector<Match> TemplateSearch::find(Frame begin, Frame end, const StretchOf& raw,
                                        const StretchOf& banded, const KnownMatch& known) const {
    const auto surroundings = static_cast<Frame>(search_surroundings_s * rate_hz_);
    const Frame first = begin - surroundings;
    const std::vector<std::vector<float>> all = statistics(first, end + surroundings, raw);
    std::vector<Match> matches;
    for (std::size_t t = 0; t < all.size(); ++t) {
        std::size_t looked_at = 0;
        for (const Peak& peak : peaks_of(all[t])) {
            const double at = static_cast<double>(first) + peak.at;
            if (std::floor(at) < static_cast<double>(begin) ||
                std::floor(at) >= static_cast<double>(end))
                continue;
            if (known(t, (at + templates_[t].onset) / rate_hz_)) continue;
            if (++looked_at > most_looked_at) break;
            Match match = look(t, at, peak.score, banded);
            if (match.correlation > 0.0) matches.push_back(std::move(match));
        }
    }
    std::stable_sort(matches.begin(), matches.end(),
                     [](const Match& a, const Match& b) { return a.onset_s < b.onset_s; });
    return matches;
}

} // namespace lull
