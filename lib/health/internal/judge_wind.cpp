// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double low_hz = 150.0;       // a gust's power lies below this mean frequency
constexpr double gust_db = 6.0;        // over the calmest tenth of the time
constexpr double most_high_rise = 0.6; // of the rise in dB: the high frequencies rise less
constexpr std::size_t least_gusts = 3; // steps
constexpr double least_share = 0.05;

/// Root mean square frequency of a step: differences of samples weight a tone of f by
/// sin^2(pi f / rate).
double mean_frequency_hz(const HealthStep& step, double rate_hz) {
    const double share = std::clamp(static_cast<double>(step.high_share), 0.0, 1.0);
    return rate_hz / std::numbers::pi * std::asin(std::sqrt(share));
}

} // namespace

void judge_wind(const Judged& judged, std::vector<Finding>& findings) {
    if (judged.facts.kind != ChannelKind::air) return;
    const StepLevels& levels = judged.levels[static_cast<std::size_t>(judged.channel)];
    const std::vector<HealthStep>& steps = judged.health.steps;
    std::vector<double> high(levels.size());
    for (std::size_t i = 0; i < steps.size(); ++i)
        high[i] = levels[i] + 10.0 * std::log10(std::max(1e-9F, steps[i].high_share));
    const double calm_db = quantile_or_silent(levels, 0.1),
                 calm_high_db = quantile_or_silent(high, 0.1);
    if (calm_db <= silent_db) return;
    std::vector<double> gusts;
    Finding finding = judged.finding("wind suspected");
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const double rise_db = levels[i] - calm_db;
        if (std::isnan(rise_db) || rise_db < gust_db ||
            mean_frequency_hz(steps[i], judged.rate_hz) > low_hz ||
            high[i] - calm_high_db > most_high_rise * rise_db)
            continue;
        if (gusts.empty()) finding.from_s = judged.step_s(i);
        finding.to_s = std::min(judged.to_s(), judged.step_s(i) + health_step_s);
        gusts.push_back(rise_db);
    }
    const auto measured = static_cast<double>(
        std::ranges::count_if(levels, [](double db) { return !std::isnan(db); }));
    if (gusts.size() < least_gusts || static_cast<double>(gusts.size()) < least_share * measured)
        return;
    finding.amount = quantile_or_silent(gusts, 0.5);
    finding.unit = "dB over calm";
    finding.effect = fmt::format("gusts of low frequency in {:.0f} % of the time: hide low sounds, "
                                 "and can overload the microphone",
                                 100.0 * static_cast<double>(gusts.size()) / measured);
    finding.remedy = "put a wind shield on the microphone, or lower it further into the void";
    findings.push_back(std::move(finding));
}

} // namespace lull
