// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/likelihood.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr std::size_t most_sensors = 64;
/// share of arrivals that are not the first wave, or not of this source
constexpr double wrong_arrival = 0.02;
constexpr double wrong_contact = 0.1;   ///< share of sensors whose level does not follow distance
constexpr double wrong_level_db = 60.0; ///< range of those levels
constexpr double two_pi = 2.0 * std::numbers::pi, log_two_pi = 1.8378770664093453;
constexpr double even_share = 1.0 / 12.0; ///< variance of a uniform density over a length of 1

/// How much more the speed varies between paths than the medium states. Dispersion and layers make
/// some sites much worse, and it is not known which, so it is summed over.
struct Uneven {
    double times, log_weight;
};
constexpr std::array<Uneven, 2> uneven_paths{
    {{1.0, -0.1054}, {4.0, -2.3026}}}; ///< 9 of 10, 1 of 10

/// Factor of that variation for envelopes: their energy takes its own path.
constexpr double rises_uneven = 2.0;
constexpr double late_over_early = 2.0;

using PerSensor = std::array<double, most_sensors>;

/// Distances to the sensors, and their blur by the sizes of the box.
struct Reach {
    PerSensor distance;
    std::array<std::array<double, 3>, most_sensors> blur; ///< variance [m^2] by x, y, z
};

void measure(const std::vector<Sensor>& sensors, const Box& box, Reach& reach) {
    for (std::size_t i = 0; i < sensors.size(); ++i) {
        std::array<double, 3> off{};
        double squares = 0.0;
        for (std::size_t d = 0; d < 3; ++d) {
            off[d] = box.centre[d] - sensors[i].position_m[d];
            squares += off[d] * off[d];
        }
        reach.distance[i] = std::sqrt(squares);
        for (std::size_t d = 0; d < 3; ++d) {
            // Near a sensor the size of a coordinate counts although its slope is zero.
            const double slope2 = (off[d] * off[d] + even_share * box.size[d] * box.size[d]) /
                                  (squares + even_share * box.size[d] * box.size[d] + 1e-12);
            reach.blur[i][d] = slope2 * even_share * box.size[d] * box.size[d];
        }
    }
}

void raise(std::array<double, 4>& blur, std::size_t d, double share) {
    blur[d] = std::max(blur[d], share);
}

double log_sum(double a, double b) {
    const double top = std::max(a, b), rest = std::min(a, b);
    return rest < top - 40.0 ? top : top + std::log1p(std::exp(rest - top));
}

} // namespace

double distance_m(const Position& a, const Position& b) {
    return std::hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

double log_shifted(std::span<const double> residual, std::span<const double> variance,
                   std::span<const double> log_wrong, double log_right) {
    const std::size_t n = residual.size();
    std::array<double, most_sensors> weight;
    double s0 = 0.0, s1 = 0.0, s2 = 0.0, log_weights = 0.0, product = 1.0;
    for (std::size_t i = 0; i < n; ++i) {
        weight[i] = 1.0 / variance[i];
        s0 += weight[i];
        s1 += weight[i] * residual[i];
        s2 += weight[i] * residual[i] * residual[i];
        product *= weight[i];
        if (product > 1e100 || product < 1e-100) log_weights += std::log(product), product = 1.0;
    }
    log_weights += std::log(product);
    const auto others = static_cast<double>(n) - 1.0;
    const double chi2 = std::max(0.0, s2 - s1 * s1 / s0);
    const double all_right = 0.5 * (log_weights - others * log_two_pi - std::log(s0) - chi2) +
                             (others + 1.0) * log_right;
    // Each alternative relative to "all right": the gain in chi-square from leaving one out.
    PerSensor gain;
    double most = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        const double w0 = s0 - weight[i], w1 = s1 - weight[i] * residual[i],
                     w2 = s2 - weight[i] * residual[i] * residual[i];
        gain[i] = 0.5 * (chi2 - std::max(0.0, w2 - w1 * w1 / w0)) + log_wrong[i] - log_right;
        most = std::max(most, gain[i]);
    }
    double sum = most < 40.0 ? std::exp(-most) : 0.0;
    for (std::size_t i = 0; i < n; ++i)
        if (gain[i] > most - 40.0)
            sum +=
                std::sqrt(two_pi * s0 / (weight[i] * (s0 - weight[i]))) * std::exp(gain[i] - most);
    return all_right + most + std::log(sum);
}

double log_shifted_late(std::span<const double> residual, std::span<const double> variance) {
    constexpr std::array<double, 9> steps{-6.0, -3.0, -1.5, -0.7, 0.0, 0.7, 1.5, 3.0, 6.0};
    constexpr double degrees = 3.0, log_height = -1.0008888496; // ln(2 / (pi sqrt 3))
    const std::size_t n = residual.size();
    PerSensor early, late;
    double log_heights = 0.0;
    std::array<double, most_sensors * steps.size()> shift;
    for (std::size_t i = 0; i < n; ++i) {
        const double sigma = std::sqrt(variance[i]);
        early[i] = 1.0 / (degrees * variance[i]);
        late[i] = early[i] / (late_over_early * late_over_early);
        log_heights += log_height - std::log(0.5 * (1.0 + late_over_early) * sigma);
        for (std::size_t k = 0; k < steps.size(); ++k)
            shift[i * steps.size() + k] = residual[i] + steps[k] * sigma;
    }
    const std::size_t count = n * steps.size();
    std::sort(shift.begin(), shift.begin() + static_cast<std::ptrdiff_t>(count));
    std::array<double, most_sensors * steps.size()> density; // without the heights
    for (std::size_t j = 0; j < count; ++j) {
        double product = 1.0;
        for (std::size_t i = 0; i < n; ++i) {
            const double rest = residual[i] - shift[j];
            product *= 1.0 + rest * rest * (rest > 0.0 ? late[i] : early[i]);
        }
        density[j] = 1.0 / (product * product); // (degrees + 1) / 2 = 2
    }
    double sum = 0.0;
    for (std::size_t j = 1; j < count; ++j)
        sum += 0.5 * (shift[j] - shift[j - 1]) * (density[j] + density[j - 1]);
    return log_heights + std::log(std::max(sum, 1e-300));
}

double contact_sigma_db(const Listening& listening, const HeardLevel& level) {
    if (level.contact_sigma_db > 0.0) return level.contact_sigma_db;
    if (listening.kind == ChannelKind::air) return 4.0;
    return listening.levels_assumed ? 8.0 : 6.0;
}

PlaceLikelihood::PlaceLikelihood(const std::vector<Listening>& listenings, const Medium& medium)
    : medium_(medium) {
    for (const Listening& listening : listenings) {
        Part part{&listening, {}, std::vector<double>(listening.sensors.size())};
        const std::vector<double> longest = longest_delays(listening, listening.delays);
        std::vector<double> longest_of(listening.sensors.size(), 1e-6);
        for (std::size_t k = 0; k < longest.size(); ++k)
            for (const int s : {listening.delays[k].a, listening.delays[k].b})
                longest_of[static_cast<std::size_t>(s)] =
                    std::max(longest_of[static_cast<std::size_t>(s)], longest[k]);
        for (std::size_t s = 0; s < longest_of.size(); ++s)
            part.log_wrong[s] = std::log(wrong_arrival / (2.0 * longest_of[s]));
        if (!listening.delays.empty()) part.hypotheses = arrival_hypotheses(listening, longest);
        if (!listening.rises.empty()) add_rises(part, longest_delays(listening, listening.rises));
        parts_.push_back(std::move(part));
    }
}

std::vector<double> PlaceLikelihood::longest_delays(const Listening& listening,
                                                    const std::vector<HeardDelay>& delays) const {
    const double lowest = listening.kind == ChannelKind::air ? medium_.air_m_s : medium_.lowest_m_s;
    std::vector<double> longest;
    for (const HeardDelay& delay : delays) {
        const Sensor& a = listening.sensors[static_cast<std::size_t>(delay.a)];
        const Sensor& b = listening.sensors[static_cast<std::size_t>(delay.b)];
        longest.push_back(
            (distance_m(a.position_m, b.position_m) + 3.0 * std::hypot(a.sigma_m, b.sigma_m)) /
                lowest +
            3.0 * delay.sigma_s);
    }
    return longest;
}

/// Either the delays of the waveforms are those of the waves, or those of the envelopes are. The
/// others then carry no information and may have any possible value.
void PlaceLikelihood::add_rises(Part& part, const std::vector<double>& longest_s) const {
    Listening rising = *part.listening;
    rising.delays = rising.rises;
    ArrivalHypothesis rises = std::move(arrival_hypotheses(rising, longest_s).front());
    rises.wrong.clear();
    rises.rises = true;
    rises.log_weight = 0.0;
    double log_even = 0.0;
    for (const double longest : longest_s)
        log_even -= std::log(2.0 * longest) / static_cast<double>(longest_s.size());
    const auto differences = [](const ArrivalHypothesis& hypothesis) {
        double count = 0.0;
        for (const TiedArrivals& tied : hypothesis.tied)
            count += static_cast<double>(tied.sensors.size()) - 1.0;
        return count;
    };
    if (!part.hypotheses.empty()) {
        const double right = std::clamp(part.listening->waveforms_right, 1e-6, 1.0 - 1e-6);
        const double reference = part.hypotheses.front().log_weight;
        for (ArrivalHypothesis& hypothesis : part.hypotheses)
            hypothesis.log_weight +=
                std::log(right) - reference - log_even * differences(hypothesis);
        rises.log_weight = std::log1p(-right) - log_even * differences(rises);
    }
    const bool likelier = part.hypotheses.empty() || part.listening->waveforms_right < 0.5;
    part.hypotheses.insert(likelier ? part.hypotheses.begin() : part.hypotheses.end(),
                           std::move(rises));
}

bool PlaceLikelihood::has_delays() const {
    return std::ranges::any_of(parts_, [](const Part& part) { return !part.hypotheses.empty(); });
}

bool PlaceLikelihood::has_structure() const {
    return std::ranges::any_of(parts_, [](const Part& part) {
        return !part.hypotheses.empty() && part.listening->kind != ChannelKind::air;
    });
}

double PlaceLikelihood::slowness(std::size_t listening, double log_speed) const {
    return parts_[listening].listening->kind == ChannelKind::air ? 1.0 / medium_.air_m_s
                                                                 : std::exp(-log_speed);
}

double PlaceLikelihood::times(const Part& part, const Box& box, BoxLikelihood& result) const {
    const std::vector<Sensor>& sensors = part.listening->sensors;
    const bool air = part.listening->kind == ChannelKind::air;
    const double slowness = air ? 1.0 / medium_.air_m_s : std::exp(-box.centre[3]);
    const double speed_variance =
        air ? medium_.air_share * medium_.air_share : even_share * box.size[3] * box.size[3];
    Reach reach;
    measure(sensors, box, reach);
    const double log_right = std::log1p(-wrong_arrival);
    double total = -1e300;
    for (std::size_t h = 0; h < part.hypotheses.size() * uneven_paths.size(); ++h) {
        const ArrivalHypothesis& hypothesis = part.hypotheses[h / uneven_paths.size()];
        const Uneven& uneven_path = uneven_paths[h % uneven_paths.size()];
        double log_density = hypothesis.log_weight + uneven_path.log_weight;
        for (const TiedArrivals& tied : hypothesis.tied) {
            PerSensor residual, variance, log_wrong;
            double mean = 0.0;
            const std::size_t n = tied.sensors.size();
            for (const int s : tied.sensors)
                mean += reach.distance[static_cast<std::size_t>(s)] / static_cast<double>(n);
            for (std::size_t k = 0; k < n; ++k) {
                const auto s = static_cast<std::size_t>(tied.sensors[k]);
                const double r = reach.distance[s];
                const double uneven = (hypothesis.rises ? rises_uneven : 1.0) * uneven_path.times *
                                      medium_.path_share * r;
                const double noise =
                    tied.variance_s2[k] +
                    slowness * slowness *
                        (sensors[s].sigma_m * sensors[s].sigma_m + uneven * uneven) +
                    1e-14;
                const double stretch = (r - mean) * (r - mean) * speed_variance;
                double blur = stretch;
                for (const double share : reach.blur[s])
                    blur += share;
                residual[k] = tied.time_s[k] - slowness * r;
                variance[k] = noise + slowness * slowness * blur;
                log_wrong[k] = part.log_wrong[s];
                if (h > 0 && hypothesis.rises == part.hypotheses.front().rises) continue;
                const double scale = slowness * slowness / noise;
                for (std::size_t d = 0; d < 3; ++d)
                    raise(result.blur, d, scale * reach.blur[s][d]);
                if (!air) raise(result.blur, 3, scale * stretch);
            }
            log_density += hypothesis.rises
                               ? log_shifted_late({residual.data(), n}, {variance.data(), n})
                               : log_shifted({residual.data(), n}, {variance.data(), n},
                                             {log_wrong.data(), n}, log_right);
        }
        total = h == 0 ? log_density : log_sum(total, log_density);
    }
    return total;
}

double PlaceLikelihood::levels(const Part& part, const Box& box, BoxLikelihood& result) const {
    const std::vector<HeardLevel>& heard = part.listening->levels;
    Reach reach;
    measure(part.listening->sensors, box, reach);
    const std::size_t n = heard.size();
    PerSensor decades, log_wrong;
    log_wrong.fill(std::log(wrong_contact / wrong_level_db));
    for (std::size_t k = 0; k < n; ++k) {
        double& r = reach.distance[static_cast<std::size_t>(heard[k].sensor)];
        r = std::max(r, least_range_m);
        decades[k] = std::log10(r);
    }
    double total = -1e300;
    for (const Fall& fall : falls) {
        PerSensor residual, variance;
        for (std::size_t k = 0; k < n; ++k) {
            const auto s = static_cast<std::size_t>(heard[k].sensor);
            const double r = reach.distance[s];
            const double slope = fall.per_decade_db / (std::numbers::ln10 * r) + fall.per_metre_db;
            const double contact_db = contact_sigma_db(*part.listening, heard[k]);
            const double noise = contact_db * contact_db + heard[k].sigma_db * heard[k].sigma_db;
            residual[k] =
                heard[k].level_db + fall.per_decade_db * decades[k] + fall.per_metre_db * r;
            variance[k] = noise;
            for (std::size_t d = 0; d < 3; ++d) {
                variance[k] += slope * slope * reach.blur[s][d];
                raise(result.blur, d, slope * slope * reach.blur[s][d] / noise);
            }
        }
        total = log_sum(total, log_shifted({residual.data(), n}, {variance.data(), n},
                                           {log_wrong.data(), n}, std::log1p(-wrong_contact)));
    }
    return total - std::log(static_cast<double>(falls.size()));
}

BoxLikelihood PlaceLikelihood::at(const Box& box) const {
    BoxLikelihood result;
    for (const Part& part : parts_) {
        if (!part.hypotheses.empty()) result.log_density += times(part, box, result);
        if (part.listening->levels.size() > 1) result.log_density += levels(part, box, result);
    }
    return result;
}

} // namespace lull
