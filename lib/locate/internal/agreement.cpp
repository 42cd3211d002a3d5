// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/internal/agreement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double odd_sigmas = 3.0; ///< an arrival or level further off is named

std::string name_of_sensor(const Listening& listening, int sensor,
                           std::span<const std::string> names) {
    return names[static_cast<std::size_t>(
        listening.sensors[static_cast<std::size_t>(sensor)].channel)];
}

/// The box of the highest density.
const Patch& densest(const std::vector<Patch>& patches) {
    const auto density = [](const Patch& patch) {
        double volume = 1.0;
        for (const double size : patch.box.size)
            if (size > 0.0) volume *= size;
        return patch.probability / volume;
    };
    return *std::ranges::max_element(patches, {}, density);
}

/// A robust weighted mean. One value may be left out: that which is furthest from the mean of the
/// others, if it is far enough.
struct Rests {
    std::vector<double> rest, sigmas;
};

Rests rests_of(const std::vector<double>& value, const std::vector<double>& variance) {
    const std::size_t n = value.size();
    double mean = 0.0, best = 1e300;
    for (std::size_t out = 0; out <= n; ++out) {
        if (out < n && n < 3) continue;
        double weights = 0.0, sum = 0.0, chi2 = 0.0;
        for (std::size_t i = 0; i < n; ++i)
            if (i != out) weights += 1.0 / variance[i], sum += value[i] / variance[i];
        for (std::size_t i = 0; i < n; ++i) {
            const double rest = value[i] - sum / weights;
            if (i != out) chi2 += rest * rest / variance[i];
        }
        if (out < n) chi2 += odd_sigmas * odd_sigmas;
        if (chi2 < best) best = chi2, mean = sum / weights;
    }
    Rests rests;
    for (std::size_t i = 0; i < n; ++i) {
        rests.rest.push_back(value[i] - mean);
        rests.sigmas.push_back(std::abs(value[i] - mean) / std::sqrt(variance[i]));
    }
    return rests;
}

std::string arrivals_text(const Listening& listening, const ArrivalHypothesis& hypothesis,
                          const Box& box, double slowness, double path_share,
                          std::span<const std::string> names) {
    std::string odd;
    std::size_t agreed = 0, all = 0;
    for (const TiedArrivals& tied : hypothesis.tied) {
        std::vector<double> value, variance;
        for (std::size_t k = 0; k < tied.sensors.size(); ++k) {
            const Sensor& sensor = listening.sensors[static_cast<std::size_t>(tied.sensors[k])];
            const double r =
                distance_m({box.centre[0], box.centre[1], box.centre[2]}, sensor.position_m);
            value.push_back(tied.time_s[k] - slowness * r);
            variance.push_back(
                tied.variance_s2[k] +
                slowness * slowness *
                    (sensor.sigma_m * sensor.sigma_m + path_share * path_share * r * r) +
                1e-14);
        }
        const Rests rests = rests_of(value, variance);
        for (std::size_t k = 0; k < value.size(); ++k) {
            ++all;
            if (rests.sigmas[k] <= odd_sigmas)
                ++agreed;
            else
                odd += fmt::format("{}{} {:.2f} ms {} ({:.1f} sigma)", odd.empty() ? "" : ", ",
                                   name_of_sensor(listening, tied.sensors[k], names),
                                   1e3 * std::abs(rests.rest[k]),
                                   rests.rest[k] > 0.0 ? "late" : "early", rests.sigmas[k]);
        }
    }
    std::string text = fmt::format("{} of {} arrivals agree", agreed, all);
    return odd.empty() ? text : text + ", not " + odd;
}

std::string wrong_text(const Listening& listening, const ArrivalHypothesis& hypothesis,
                       std::span<const std::string> names) {
    std::string text;
    for (const int k : hypothesis.wrong) {
        const HeardDelay& delay = listening.delays[static_cast<std::size_t>(k)];
        text += fmt::format("; delay {} to {} ({:.2f} ms) contradicts the others",
                            name_of_sensor(listening, delay.a, names),
                            name_of_sensor(listening, delay.b, names), 1e3 * delay.delay_s);
    }
    return text;
}

std::string levels_text(const Listening& listening, const Box& box,
                        std::span<const std::string> names) {
    if (listening.levels.size() < 3) return {};
    Rests best;
    double least = 1e300;
    for (const Fall& fall : falls) {
        std::vector<double> value, variance;
        for (const HeardLevel& level : listening.levels) {
            const Sensor& sensor = listening.sensors[static_cast<std::size_t>(level.sensor)];
            const double r =
                std::max(least_range_m, distance_m({box.centre[0], box.centre[1], box.centre[2]},
                                                   sensor.position_m));
            value.push_back(level.level_db + fall.per_decade_db * std::log10(r) +
                            fall.per_metre_db * r);
            const double contact_db = contact_sigma_db(listening, level);
            variance.push_back(contact_db * contact_db + level.sigma_db * level.sigma_db);
        }
        const Rests rests = rests_of(value, variance);
        double chi2 = 0.0;
        for (const double sigmas : rests.sigmas)
            chi2 += std::min(sigmas * sigmas, odd_sigmas * odd_sigmas);
        if (chi2 < least) least = chi2, best = rests;
    }
    std::string odd;
    for (std::size_t k = 0; k < best.rest.size(); ++k)
        if (best.sigmas[k] > 2.0)
            odd += fmt::format("{}{} reads {:.0f} dB {} than its distance says",
                               odd.empty() ? "" : ", ",
                               name_of_sensor(listening, listening.levels[k].sensor, names),
                               std::abs(best.rest[k]), best.rest[k] > 0.0 ? "more" : "less");
    return odd.empty() ? "; levels agree" : "; levels: " + odd;
}

std::string speed_text(const std::vector<Patch>& patches) {
    std::vector<std::pair<double, double>> speeds;
    for (const Patch& patch : patches)
        speeds.emplace_back(std::exp(patch.box.centre[3]), patch.probability);
    std::ranges::sort(speeds);
    double sum = 0.0, low = speeds.front().first, high = speeds.back().first;
    for (const auto& [speed, probability] : speeds) {
        if (sum < 0.05) low = speed;
        sum += probability;
        high = speed;
        if (sum >= 0.95) break;
    }
    return fmt::format("; speed {:.0f} to {:.0f} m/s", low, high);
}

std::string untied_text(const Listening& listening, std::span<const std::string> names) {
    std::string channels;
    for (const int sensor : listening.untied)
        channels += (channels.empty() ? "" : ", ") + name_of_sensor(listening, sensor, names);
    return channels.empty() ? ""
                            : "; " + fmt::format("clocks not tied, so only levels of {}", channels);
}

const char* kind_text(ChannelKind kind) {
    return kind == ChannelKind::air ? "air: " : kind == ChannelKind::seismic ? "structure: " : "";
}

} // namespace

std::string agreement(const std::vector<Listening>& listenings, const PlaceLikelihood& likelihood,
                      const Medium& medium, const std::vector<Patch>& patches,
                      std::span<const std::string> names) {
    const Patch& best = densest(patches);
    std::string text;
    for (std::size_t l = 0; l < listenings.size(); ++l) {
        const Listening& listening = listenings[l];
        const auto& hypotheses = likelihood.hypotheses(l);
        if (hypotheses.empty() && listening.levels.size() < 3) continue;
        if (!text.empty()) text += "; ";
        if (listenings.size() > 1) text += kind_text(listening.kind);
        if (hypotheses.empty())
            text += "no delays";
        else
            text += arrivals_text(listening, hypotheses.front(), best.box,
                                  likelihood.slowness(l, best.box.centre[3]), medium.path_share,
                                  names) +
                    wrong_text(listening, hypotheses.front(), names);
        text += levels_text(listening, best.box, names);
        text += untied_text(listening, names);
    }
    return likelihood.has_structure() ? text + speed_text(patches) : text;
}

std::string levels_alone(const std::vector<Listening>& listenings,
                         std::span<const std::string> names) {
    std::string text;
    for (const Listening& listening : listenings) {
        if (listening.levels.empty()) continue;
        const auto by_level = [](const HeardLevel& level) { return level.level_db; };
        const HeardLevel& strongest = *std::ranges::max_element(listening.levels, {}, by_level);
        const HeardLevel& weakest = *std::ranges::min_element(listening.levels, {}, by_level);
        const std::string name = name_of_sensor(listening, strongest.sensor, names);
        text += fmt::format("{}{}", text.empty() ? "levels alone: " : "; ",
                            listenings.size() > 1 ? kind_text(listening.kind) : "");
        if (listening.levels.size() == 1)
            text += "only " + name + " reads above the noise";
        else
            text += fmt::format("{} reads most, {} {:.0f} dB less; leave {}, move the others in "
                                "round it until all read alike, now {:.0f} dB apart",
                                name, name_of_sensor(listening, weakest.sensor, names),
                                strongest.level_db - weakest.level_db, name,
                                strongest.level_db - weakest.level_db);
        text += untied_text(listening, names);
    }
    return text.empty() ? "no delay and no level that could be used" : text;
}

} // namespace lull
