// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

/// Smallest share of hum in a channel's power, -13 dB: weaker hum hides nothing and does not make
/// channels alike.
constexpr double least_hum_share = 0.05;
constexpr double most_successive = 0.7;                      // of the variance
constexpr double offset_noted = 0.02, offset_doubtful = 0.1; // of full scale

/// Whether successive values differ little compared with the variance. Values without a trend have
/// a ratio of 2 [von Neumann 1941]; the ground's own movement averages to such values.
bool changes_slowly(const std::vector<double>& values) {
    const auto n = static_cast<double>(values.size());
    double mean = 0.0, variance = 0.0, successive = 0.0;
    for (const double v : values)
        mean += v / n;
    for (std::size_t i = 0; i < values.size(); ++i) {
        variance += (values[i] - mean) * (values[i] - mean) / n;
        if (i > 0)
            successive += (values[i] - values[i - 1]) * (values[i] - values[i - 1]) / (n - 1.0);
    }
    return successive < most_successive * variance;
}

/// The numbers of the harmonics that stand out: "1, 2, 4".
std::string harmonics_of(const Hum& hum) {
    std::string harmonics;
    for (int h = 1; h <= hum_harmonics; ++h)
        if (hum.harmonic_power[static_cast<std::size_t>(h - 1)] > 0.0)
            harmonics += fmt::format("{}{}", harmonics.empty() ? "" : ", ", h);
    return harmonics;
}

} // namespace

void judge_offset(const Judged& judged, std::vector<Finding>& findings) {
    const double mean = judged.health.mean();
    if (std::fabs(mean) >= offset_noted) {
        Finding finding{judged.channel,
                        "offset",
                        judged.from_s(),
                        judged.to_s(),
                        100.0 * mean,
                        "% of full scale",
                        "takes headroom: loud sounds clip on one side first",
                        "check the sensor's supply and the recorder's input for direct voltage",
                        0};
        finding.severity = std::fabs(mean) >= offset_doubtful ? 1 : 0;
        findings.push_back(std::move(finding));
    }
    std::vector<double> means;
    for (const HealthStep& step : judged.health.steps)
        if (step.frames > 0) means.push_back(static_cast<double>(step.mean));
    if (means.size() < 10) return;
    const double drift = quantile_or_silent(means, 0.98) - quantile_or_silent(means, 0.02);
    if (drift < offset_noted || !changes_slowly(means)) return;
    Finding finding{
        judged.channel,
        "offset drifts",
        judged.from_s(),
        judged.to_s(),
        100.0 * drift,
        "% of full scale",
        "takes headroom, and its changes can pass for slow movement",
        "let the sensor settle in temperature; check its supply and that it stands firmly",
        0};
    finding.severity = drift >= 2.0 * offset_doubtful ? 1 : 0;
    findings.push_back(std::move(finding));
}

void judge_hum(const Judged& judged, std::vector<Finding>& findings) {
    const double mean = judged.health.mean();
    const double all = std::max(1e-30, judged.health.power() - mean * mean);
    for (const Hum& hum : hums_of(judged.health.hum)) {
        const double share = hum.power / all;
        if (share < least_hum_share) continue;
        const bool mains = is_mains(hum, judged.facts.mains_hz);
        Finding finding = judged.finding(mains ? "mains hum" : "machine tone");
        finding.amount = 10.0 * std::log10(hum.power);
        finding.unit = "dB re full scale";
        finding.effect =
            fmt::format("{:.2f} Hz, harmonics {}, {:.0f} % of the power: hides low sounds, and "
                        "makes channels that share it alike",
                        hum.frequency_hz, harmonics_of(hum), std::min(100.0, 100.0 * share));
        finding.remedy =
            mains ? "keep cables away from mains and generators, ground at one point; remove it "
                    "with lull-filter before listening"
                  : "find the machine that turns at that speed, a pump, a fan or a generator, and "
                    "have it stopped while you listen: no cable does this";
        finding.severity = share > 0.5 ? 1 : 0;
        findings.push_back(std::move(finding));
    }
}

} // namespace lull
