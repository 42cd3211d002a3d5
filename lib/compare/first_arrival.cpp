// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/first_arrival.hpp"

#include "compare/internal/delay_likelihood.hpp"
#include "signal/fft.hpp"
#include "signal/onset.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

namespace lull {
namespace {

/// A window from the onset on. Inflation: what its noise alone gives over the bound, as a factor of
/// sigma. Misfit: chi-square a bin by which direct waves with unequal losses differ.
struct WindowKind {
    double length_s, inflation, most_misfit;
};
constexpr std::array<WindowKind, 5> windows{{{0.002, 1.45, 9.0},
                                             {0.004, 1.15, 2.0},
                                             {0.008, 1.05, 2.5},
                                             {0.016, 1.05, 3.5},
                                             {0.032, 1.05, 5.0}}};
constexpr WindowKind whole_event{0.0, 1.0, 2.0};
/// Share that may be unlike whatever the misfit: in strong knocks unequal losses show.
constexpr double little_unlike = 0.006;
constexpr std::size_t scales = windows.size() + 1;
constexpr double before_s = 0.002, rise_s = 0.001; ///< of a window: its start before the onset
constexpr double search_s = 0.0015; ///< delays are looked for in a window out to twice this
constexpr int most_turns = 3;       ///< in which a window follows the delay that it gives
constexpr double settled_samples = 0.02;

constexpr double least_information = 12.0;  ///< as in delay_between()
constexpr double unsure_information = 30.0; ///< at which the sigma's square is twice the bound's
constexpr double least_lead = 6.0;          ///< log likelihood over the second maximum
constexpr double agreeing_sigmas = 3.0;
constexpr double little_rad = 0.012;    ///< by which unequal losses shift a short window
constexpr std::size_t latest_start = 0; ///< of what a first wave that others follow is told by

/// What follows the first wave, as fitted to made scenes: shares of the disagreement with the next
/// window and the one after, and parts of a radian of the knock's mean frequency.
constexpr double next_share = 1.0, second_share = 0.25;
constexpr double all_unlike_rad = 0.3, own_unlike_rad = 1.5, least_rad = 0.12;
constexpr double accepted_unlike_rad = 1.2;
constexpr double most_radians = 3.0; ///< a disagreement beyond is no measure of anything
/// What may be unlike all the same where no short window is heard: as a misfit, and as a share.
constexpr double late_misfit = 1.0, late_unlike = 0.04;

/// The delay as one window tells it.
struct Scale {
    double delay_s = 0.0, sigma_s = 0.0;
    double information = 0.0;
    double misfit = 0.0; ///< chi-square over the independent bins that stand above the noise
    double unlike = 0.0; ///< share of the information that is not alike, less what noise does
    double lead = 0.0;   ///< log likelihood over the second maximum
    double omega = 1.0;  ///< root mean square angular frequency [rad/s]
    [[nodiscard]] bool is_clear() const {
        return information >= least_information && lead >= least_lead;
    }
};

using Maxima = std::vector<std::pair<double, double>>;

Scale scale_of(const Likelihood& likelihood, const Maxima& found, double inflation) {
    const double level = found.front().first;
    Scale scale;
    scale.delay_s = found.front().second;
    // The spectra are estimates too: that tells where there is little information.
    scale.sigma_s = inflation * std::sqrt((1.0 + unsure_information / likelihood.information) /
                                          likelihood.curvature);
    scale.information = likelihood.information;
    scale.misfit = std::max(0.0, 4.0 * likelihood.information - 2.0 * level) / likelihood.told_bins;
    scale.unlike =
        std::max(0.0, 1.0 - (level + 0.5 * likelihood.told_bins) / (2.0 * likelihood.information));
    scale.lead = level - (found.size() > 1 ? found[1].first : 0.0);
    scale.omega = std::sqrt(likelihood.curvature / (2.0 * likelihood.information));
    return scale;
}

/// 0 before -before_s, 1 from the onset on, fading over the second half of the window.
double window_at(double after_onset_s, double length_s) {
    const double up = std::clamp((after_onset_s + before_s) / rise_s, 0.0, 1.0);
    const double down = std::clamp((length_s - after_onset_s) / (0.5 * length_s), 0.0, 1.0);
    return 0.25 * (1.0 - std::cos(std::numbers::pi * up)) *
           (1.0 - std::cos(std::numbers::pi * down));
}

/// The spectrum of a window round an onset; \param first  index of the first sample taken
HeardSpectrum window_spectrum(const HeardArrival& heard, double onset, std::ptrdiff_t first,
                              double length_s, std::size_t size) {
    const double rate_hz = heard.whole.rate_hz;
    const auto count = static_cast<std::size_t>((length_s + before_s + rise_s) * rate_hz) + 2;
    std::vector<float> windowed(std::min(count, size));
    double frames = 0.0;
    for (std::size_t i = 0; i < windowed.size(); ++i) {
        const std::ptrdiff_t at = first + static_cast<std::ptrdiff_t>(i);
        const double weight = window_at((static_cast<double>(at) - onset) / rate_hz, length_s);
        frames += weight * weight;
        if (at >= 0 && at < static_cast<std::ptrdiff_t>(heard.samples.size()))
            windowed[i] = static_cast<float>(weight) * heard.samples[static_cast<std::size_t>(at)];
    }
    std::vector<double> floor(size / 2 + 1);
    const double step = static_cast<double>(heard.whole.size) / static_cast<double>(size);
    for (std::size_t k = 0; k < floor.size(); ++k) {
        const auto at =
            std::min(heard.whole.floor.size() - 1,
                     static_cast<std::size_t>(std::lround(step * static_cast<double>(k))));
        floor[k] = heard.whole.floor[at] * frames / heard.whole.frames;
    }
    return spectrum_over_floor(windowed, frames, std::move(floor), rate_hz, size);
}

/// Follows the delay through one window; \param delay  in samples, from where to start
std::optional<Scale> in_window(const HeardArrival& a, const HeardArrival& b, double onset_a,
                               double& delay, Band band, const WindowKind& kind) {
    const double rate_hz = a.whole.rate_hz;
    const std::size_t size = shared_size(static_cast<std::size_t>(
        (kind.length_s + before_s + rise_s + 4.0 * search_s + 0.02) * rate_hz));
    const auto lead = static_cast<std::ptrdiff_t>(before_s * rate_hz) + 1;
    const std::ptrdiff_t first_a = static_cast<std::ptrdiff_t>(std::floor(onset_a)) - lead;
    const HeardSpectrum of_a = window_spectrum(a, onset_a, first_a, kind.length_s, size);
    const Bins bins = bins_of(of_a, band);
    std::optional<Scale> scale;
    for (int turn = 0; turn < most_turns; ++turn) {
        const std::ptrdiff_t first_b =
            static_cast<std::ptrdiff_t>(std::floor(onset_a + delay)) - lead;
        const HeardSpectrum of_b =
            window_spectrum(b, onset_a + delay, first_b, kind.length_s, size);
        const Likelihood likelihood = likelihood_of(of_a, of_b, bins);
        if (!(likelihood.curvature > 0.0)) return std::nullopt;
        const Maxima found = maxima(likelihood.sum, bins, rate_hz, search_s, size);
        if (found.empty()) return std::nullopt;
        scale = scale_of(likelihood, found, kind.inflation);
        scale->delay_s += static_cast<double>(first_b - first_a) / rate_hz;
        const double moved = scale->delay_s * rate_hz - delay;
        delay += moved;
        if (std::abs(moved) < settled_samples) break;
    }
    return scale;
}

using Scales = std::array<std::optional<Scale>, scales>;

/// Whether a window fits all shorter clear ones: noise in common, so variances subtract.
bool fits_shorter(const Scales& all, std::size_t start, std::size_t number) {
    const Scale& own = *all[number];
    const double limit =
        number + 1 == scales ? whole_event.most_misfit : windows[number].most_misfit;
    if ((own.misfit > limit && own.unlike > little_unlike) || own.lead < 0.65 * least_lead)
        return false;
    for (std::size_t k = start; k < number; ++k) {
        if (!all[k] || !all[k]->is_clear()) continue;
        const double apart2 =
            std::max(0.0, all[k]->sigma_s * all[k]->sigma_s - own.sigma_s * own.sigma_s) +
            0.16 * own.sigma_s * own.sigma_s + little_rad * little_rad / (own.omega * own.omega);
        if (std::abs(own.delay_s - all[k]->delay_s) > agreeing_sigmas * std::sqrt(apart2))
            return false;
    }
    return true;
}

/// Standard deviation from what follows the first wave. \param taken  the window chosen
double path_sigma(const Scales& all, std::size_t start, std::size_t taken) {
    double unlike = 0.0;
    for (std::size_t k = start; k < scales; ++k)
        if (all[k]) unlike = std::max(unlike, all[k]->unlike);
    const Scale& own = *all[taken];
    if (taken + 1 == scales)
        return accepted_unlike_rad * std::sqrt(std::max(0.0, unlike - little_unlike)) / own.omega;
    std::array<double, 2> apart_s{};
    std::size_t met = 0;
    for (std::size_t k = taken + 1; k < scales && met < 2; ++k)
        if (all[k])
            apart_s[met++] =
                std::min(most_radians / own.omega, std::abs(all[k]->delay_s - own.delay_s));
    if (met == 1) apart_s[1] = apart_s[0];
    const double rad2 = all_unlike_rad * all_unlike_rad * unlike +
                        own_unlike_rad * own_unlike_rad * own.unlike + least_rad * least_rad;
    return std::hypot(next_share * apart_s[0], second_share * apart_s[1],
                      std::sqrt(rad2) / own.omega);
}

} // namespace

HeardArrival heard_arrival(std::span<const float> samples, std::size_t event_begin, double search_s,
                           double rate_hz, Band band, double longest_delay_s) {
    constexpr double smooth_s = 0.003, look_back_s = 0.03, least_power = 4.0, rising_share = 0.25;
    HeardArrival heard{samples,
                       heard_spectrum(samples.subspan(event_begin), samples.first(event_begin),
                                      rate_hz, longest_delay_s),
                       static_cast<double>(event_begin)};
    const auto frames = [rate_hz](double s) { return static_cast<std::size_t>(s * rate_hz); };
    std::vector<double> sums(samples.size() + 1);
    for (std::size_t i = 0; i < samples.size(); ++i)
        sums[i + 1] = sums[i] + static_cast<double>(samples[i]) * samples[i];
    const std::size_t width = std::max<std::size_t>(1, frames(smooth_s));
    const std::size_t end = std::min(samples.size(), event_begin + frames(search_s));
    const auto power = [&](std::size_t i) {
        const std::size_t low = i > width / 2 ? i - width / 2 : 0,
                          high = std::min(samples.size(), low + width);
        return (sums[high] - sums[low]) / static_cast<double>(high - low);
    };
    const double noise =
        event_begin > 0 ? sums[event_begin] / static_cast<double>(event_begin) : 0.0;
    double most = 0.0;
    for (std::size_t i = event_begin; i < end; ++i)
        most = std::max(most, power(i));
    std::size_t rises = event_begin;
    while (rises < end && power(rises) <= std::max(rising_share * most, least_power * noise))
        ++rises;
    if (rises == end) return heard;
    const std::size_t from = rises > frames(look_back_s) ? rises - frames(look_back_s) : 0;
    const std::size_t until = std::min(samples.size(), rises + width);
    if (until < from + 8) return heard;
    const double independence = std::min(1.0, 2.0 * (band.high_hz - band.low_hz) / rate_hz);
    heard.onset = static_cast<double>(from) +
                  onset_by_akaike(samples.subspan(from, until - from), independence).sample;
    return heard;
}

DelayEstimate first_arrival_delay(const HeardArrival& a, const HeardArrival& b, Band band,
                                  double longest_delay_s) {
    const Bins bins = bins_of(a.whole, band);
    const Likelihood likelihood = likelihood_of(a.whole, b.whole, bins);
    const Maxima found =
        maxima(likelihood.sum, bins, a.whole.rate_hz, longest_delay_s, a.whole.size);
    DelayEstimate estimate =
        likeliest_delay(a.whole, b.whole, bins, longest_delay_s, likelihood, found);
    if (!(estimate.sigma_s > 0.0)) return estimate;
    Scales all;
    double delay = b.onset - a.onset;
    for (std::size_t k = 0; k < windows.size(); ++k)
        all[k] = in_window(a, b, a.onset, delay, band, windows[k]);
    all.back() = scale_of(likelihood, found, whole_event.inflation);
    std::size_t start = 0;
    while (start < scales && !(all[start] && all[start]->is_clear()))
        ++start;
    if (start >= scales) return estimate; // not told at all
    std::size_t taken = start;
    while (taken + 1 < scales && all[taken + 1] && fits_shorter(all, start, taken + 1))
        ++taken;
    const Scale& own = *all[taken];
    const bool whole = taken + 1 == scales;
    if (whole && !estimate.usable) return estimate;
    estimate.delay_s = own.delay_s;
    estimate.path_sigma_s = path_sigma(all, start, taken);
    estimate.sigma_s =
        std::hypot(own.sigma_s * std::sqrt(std::max(1.0, own.misfit)), estimate.path_sigma_s);
    estimate.usable = false;
    if (std::abs(own.delay_s) >= longest_delay_s)
        estimate.reason = "a delay longer than is possible is more likely";
    else if (start > latest_start &&
             (!whole || own.misfit > late_misfit || own.unlike > late_unlike))
        estimate.reason = "the first wave cannot be told from what follows it";
    else {
        estimate.usable = true;
        estimate.reason.clear();
    }
    return estimate;
}

} // namespace lull
