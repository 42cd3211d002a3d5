// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/first_arrival.hpp"

#include "compare/internal/delay_likelihood.hpp"
#include "compare/internal/first_windows.hpp"
#include "signal/onset.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace lull {
namespace {

constexpr FirstWindow whole_event{0.0, 1.0, 2.0};
/// Share that may be unlike whatever the misfit: in strong knocks unequal losses show.
constexpr double little_unlike = 0.006;
constexpr std::size_t scales = first_windows + 1;
constexpr int most_turns = 3;      ///< in which a window follows the delay that it gives
constexpr double settled_s = 5e-6; ///< by less the window need not follow

constexpr double least_information = 12.0;  ///< as in delay_between()
constexpr double unsure_information = 30.0; ///< at which the sigma's square is twice the bound's
constexpr double least_lead = 6.0;          ///< log likelihood over the second maximum
constexpr double agreeing_sigmas = 3.0;
constexpr double little_rad = 0.012;    ///< by which unequal losses shift a short window
constexpr std::size_t latest_start = 0; ///< of what a first wave that others follow is told by
constexpr std::size_t latest_check =
    2; ///< of the windows that may be the first to check a whole event

/// What follows the first wave, as fitted to made scenes: shares of the disagreement with the next
/// window and the one after, and parts of a radian of the knock's mean frequency.
constexpr double next_share = 1.0, second_share = 0.25;
constexpr double all_unlike_rad = 0.3, own_unlike_rad = 1.5, least_rad = 0.12;
constexpr double accepted_unlike_rad = 1.2;
constexpr double drifting_sigmas = 1.5, drift_share = 0.5;
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

using Maxima = std::vector<Maximum>;

Scale scale_of(const Likelihood& likelihood, const Maxima& found, double inflation) {
    const double level = found.front().level;
    Scale scale;
    scale.delay_s = found.front().delay_s;
    // The spectra are estimates too: that tells where there is little information.
    scale.sigma_s = inflation * std::sqrt((1.0 + unsure_information / likelihood.information) /
                                          likelihood.curvature);
    scale.information = likelihood.information;
    scale.misfit = std::max(0.0, 4.0 * likelihood.information - 2.0 * level) / likelihood.told_bins;
    scale.unlike =
        std::max(0.0, 1.0 - (level + 0.5 * likelihood.told_bins) / (2.0 * likelihood.information));
    scale.lead = level - (found.size() > 1 ? found[1].level : 0.0);
    scale.omega = std::sqrt(likelihood.curvature / (2.0 * likelihood.information));
    return scale;
}

/// What following a delay needs again and again.
struct Pair {
    const HeardArrival &a, &b;
    Band band;
    TransformRoom& room;
    HeardSpectrum of_b{};
    Likelihood likelihood{};
};

/// Follows the delay through one window; \param delay  in samples, from where to start
std::optional<Scale> in_window(Pair& pair, double& delay, std::size_t number) {
    const double rate_hz = pair.a.whole.rate_hz, onset_a = pair.a.onset;
    const HeardSpectrum& of_a = pair.a.windows[number];
    std::optional<Scale> scale;
    for (int turn = 0; turn < most_turns; ++turn) {
        const double onset_b = onset_a + delay;
        const bool own = onset_b == pair.b.onset;
        if (!own)
            hear_window(pair.of_b, pair.b.samples, pair.b.noise, onset_b, window_kinds[number],
                        rate_hz, pair.band, pair.room);
        likelihood_of(of_a, own ? pair.b.windows[number] : pair.of_b, pair.likelihood);
        if (!(pair.likelihood.curvature > 0.0)) return std::nullopt;
        const Maxima found =
            maxima(pair.likelihood.sum, rate_hz, window_search_s, of_a.size, pair.room);
        if (found.empty()) return std::nullopt;
        scale = scale_of(pair.likelihood, found, window_kinds[number].inflation);
        scale->delay_s += static_cast<double>(first_of_window(onset_b, rate_hz) -
                                              first_of_window(onset_a, rate_hz)) /
                          rate_hz;
        const double moved = scale->delay_s * rate_hz - delay;
        delay += moved;
        if (std::abs(moved) < settled_s * rate_hz) break;
    }
    return scale;
}

using Scales = std::array<std::optional<Scale>, scales>;

/// Variance of the difference between a window's delay and a shorter one's. The noise is in
/// common, so variances subtract.
double apart_variance(const Scale& own, const Scale& shorter) {
    return std::max(0.0, shorter.sigma_s * shorter.sigma_s - own.sigma_s * own.sigma_s) +
           0.16 * own.sigma_s * own.sigma_s + little_rad * little_rad / (own.omega * own.omega);
}

/// Whether a window fits all shorter clear ones.
bool fits_shorter(const Scales& all, std::size_t start, std::size_t number) {
    const Scale& own = *all[number];
    const double limit =
        number + 1 == scales ? whole_event.most_misfit : window_kinds[number].most_misfit;
    if ((own.misfit > limit && own.unlike > little_unlike) || own.lead < 0.65 * least_lead)
        return false;
    for (std::size_t k = start; k < number; ++k)
        if (all[k] && all[k]->is_clear() &&
            std::abs(own.delay_s - all[k]->delay_s) >
                agreeing_sigmas * std::sqrt(apart_variance(own, *all[k])))
            return false;
    return true;
}

/// By how much a whole event's delay is off those of shorter windows, beyond what noise does:
/// reflections soon after the first wave draw it away little by little.
double drift_of(const Scales& all, std::size_t start) {
    const Scale& own = *all.back();
    double square = 0.0;
    for (std::size_t k = start; k + 1 < scales; ++k) {
        if (!all[k] || !all[k]->is_clear()) continue;
        const double apart_s = own.delay_s - all[k]->delay_s;
        square = std::max(square, apart_s * apart_s - drifting_sigmas * drifting_sigmas *
                                                          apart_variance(own, *all[k]));
    }
    return std::sqrt(square);
}

/// Standard deviation from what follows the first wave. \param taken  the window chosen
double path_sigma(const Scales& all, std::size_t start, std::size_t taken) {
    double unlike = 0.0;
    for (std::size_t k = start; k < scales; ++k)
        if (all[k]) unlike = std::max(unlike, all[k]->unlike);
    const Scale& own = *all[taken];
    if (taken + 1 == scales)
        return std::hypot(accepted_unlike_rad * std::sqrt(std::max(0.0, unlike - little_unlike)) /
                              own.omega,
                          drift_share * drift_of(all, start));
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

/// Of the first wave [samples]: where the power rises, then the Akaike criterion.
double first_onset(std::span<const float> samples, std::size_t event_begin, double search_s,
                   double rate_hz, Band band) {
    constexpr double smooth_s = 0.003, look_back_s = 0.03, least_power = 4.0, rising_share = 0.25;
    const auto begin = static_cast<double>(event_begin);
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
    if (rises == end) return begin;
    const std::size_t from = rises > frames(look_back_s) ? rises - frames(look_back_s) : 0;
    const std::size_t until = std::min(samples.size(), rises + width);
    if (until < from + 8) return begin;
    const double independence = std::min(1.0, 2.0 * (band.high_hz - band.low_hz) / rate_hz);
    return static_cast<double>(from) +
           onset_by_akaike(samples.subspan(from, until - from), independence).sample;
}

} // namespace

HeardArrival heard_arrival(std::span<const float> samples, std::size_t event_begin, double search_s,
                           double rate_hz, Band band, double longest_delay_s, TransformRoom& room) {
    const std::span<const float> event = samples.subspan(event_begin);
    HeardArrival heard;
    heard.samples = samples;
    heard.noise = noise_spectrum(samples.first(event_begin), std::max<std::size_t>(1, event.size()),
                                 rate_hz, room);
    heard.whole = spectrum_of_event(event, heard.noise, rate_hz, band, longest_delay_s, room);
    heard.onset = first_onset(samples, event_begin, search_s, rate_hz, band);
    for (std::size_t k = 0; k < first_windows; ++k)
        hear_window(heard.windows[k], samples, heard.noise, heard.onset, window_kinds[k], rate_hz,
                    band, room);
    return heard;
}

DelayEstimate first_arrival_delay(const HeardArrival& a, const HeardArrival& b, Band band,
                                  double longest_delay_s, TransformRoom& room) {
    Pair pair{a, b, band, room};
    likelihood_of(a.whole, b.whole, pair.likelihood);
    const Maxima found =
        maxima(pair.likelihood.sum, a.whole.rate_hz, longest_delay_s, a.whole.size, room);
    DelayEstimate estimate =
        likeliest_delay(a.whole, b.whole, longest_delay_s, pair.likelihood, found);
    if (!(estimate.sigma_s > 0.0)) return estimate;
    Scales all;
    all.back() = scale_of(pair.likelihood, found, whole_event.inflation);
    double delay = b.onset - a.onset;
    for (std::size_t k = 0; k < first_windows; ++k)
        all[k] = in_window(pair, delay, k);
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
    else if (start > latest_start && (!whole || start > latest_check || own.misfit > late_misfit ||
                                      own.unlike > late_unlike))
        estimate.reason = "the first wave cannot be told from what follows it";
    else {
        estimate.usable = true;
        estimate.reason.clear();
    }
    return estimate;
}

} // namespace lull
