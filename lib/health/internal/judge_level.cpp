// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double silent_power = 1e-20; // digital silence
constexpr double silent_db = -200.0;   // stands for it
constexpr double dead_drop_db = 20.0;  // a lasting fall by this much
constexpr double least_dead_s = 10.0;
/// Of a channel's power: hum 13 dB under all the rest hides nothing and likens no channels.
constexpr double least_hum_share = 0.05;
constexpr double offset_noted = 0.02, offset_doubtful = 0.1; // of full scale

double step_db(const HealthStep& step) {
    return step.power > silent_power ? 10.0 * std::log10(static_cast<double>(step.power))
                                     : silent_db;
}

double quantile(std::vector<double> values, double p) {
    if (values.empty()) return silent_db;
    const auto at = static_cast<std::ptrdiff_t>(p * static_cast<double>(values.size() - 1) + 0.5);
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

/// Levels of the steps [from, to) that were measured.
std::vector<double> levels(const ChannelHealth& health, std::size_t from, std::size_t to) {
    std::vector<double> db;
    for (std::size_t i = from; i < std::min(to, health.steps.size()); ++i)
        if (health.steps[i].frames > 0) db.push_back(step_db(health.steps[i]));
    return db;
}

/// The step that best divides the channel into two levels, in least squares of decibels.
std::size_t best_division(const ChannelHealth& health) {
    const std::size_t n = health.steps.size();
    double total = 0.0, all = 0.0;
    for (const HealthStep& step : health.steps)
        if (step.frames > 0) total += step_db(step), all += 1.0;
    double sum = 0.0, count = 0.0, best = -1.0;
    std::size_t at = n;
    for (std::size_t i = 0; i < n; ++i) {
        if (count > 0.0 && count < all) {
            const double apart = sum / count - (total - sum) / (all - count);
            const double gain = apart > 0.0 ? apart * apart * count * (all - count) : 0.0;
            if (gain > best) best = gain, at = i;
        }
        if (health.steps[i].frames > 0) sum += step_db(health.steps[i]), count += 1.0;
    }
    return at;
}

/// How far the other channels fell at the same time, as a median; 0 without others.
double common_drop_db(const Judged& judged, std::size_t division) {
    std::vector<double> drops;
    for (const ChannelHealth& other : judged.all) {
        if (&other == &judged.health) continue;
        const auto before = levels(other, 0, division),
                   after = levels(other, division, other.steps.size());
        if (!before.empty() && !after.empty())
            drops.push_back(quantile(before, 0.5) - quantile(after, 0.5));
    }
    return drops.empty() ? 0.0 : quantile(drops, 0.5);
}

Finding death(const Judged& judged, double from_s, double drop_db, bool silent) {
    Finding finding;
    finding.channel = judged.channel;
    finding.finding = silent ? "dead" : "disconnected";
    finding.from_s = from_s;
    finding.to_s = judged.to_s();
    finding.amount = drop_db;
    finding.unit = "dB";
    finding.effect =
        "from then on nothing could be heard on this channel: its silence says nothing";
    finding.remedy =
        silent ? "check power, cable and recorder input"
               : "the level fell and stayed down: check that sensor and plug are in place";
    const double share = (finding.to_s - from_s) / std::max(1e-9, judged.to_s() - judged.from_s());
    finding.severity = share >= 0.5 ? 2 : 1;
    return finding;
}

} // namespace

void judge_death(const Judged& judged, std::vector<Finding>& findings) {
    const ChannelHealth& health = judged.health;
    const std::vector<double> all = levels(health, 0, health.steps.size());
    if (all.empty()) return;
    if (quantile(all, 1.0) <= silent_db) {
        findings.push_back(death(judged, judged.from_s(), 0.0, true));
        findings.back().amount = std::nullopt;
        findings.back().unit.clear();
        return;
    }
    const std::size_t at = best_division(health);
    if (at >= health.steps.size() || judged.to_s() - judged.step_s(at) < least_dead_s) return;
    const auto before = levels(health, 0, at), after = levels(health, at, health.steps.size());
    const double drop_db = quantile(before, 0.5) - quantile(after, 0.5);
    const bool stays = quantile(after, 0.95) < quantile(before, 0.1) - 0.5 * dead_drop_db;
    if (drop_db - std::max(0.0, common_drop_db(judged, at)) < dead_drop_db || !stays) return;
    const bool silent = quantile(after, 0.5) <= silent_db;
    double from_s = judged.step_s(at);
    // A zeroed stretch that begins in the step before tells the moment.
    for (const StretchList* list : {&health.zeroed, &health.held})
        for (const Stretch& s : list->listed) {
            const double begin_s = judged.seconds(s.first);
            if (silent && std::fabs(begin_s - from_s) < 2.0 * health_step_s &&
                judged.seconds(s.count) > 2.0)
                from_s = begin_s;
        }
    findings.push_back(death(judged, from_s, drop_db, silent));
}

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
    const double drift = quantile(means, 0.98) - quantile(means, 0.02);
    if (drift < offset_noted) return;
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
    const std::optional<Hum> hum = hum_of(judged.health.hum);
    if (!hum) return;
    const double mean = judged.health.mean();
    const double all = std::max(1e-30, judged.health.power() - mean * mean);
    const double share = hum->power / all;
    if (share < least_hum_share) return;
    std::string harmonics;
    for (int h = 1; h <= hum_harmonics; ++h)
        if (hum->harmonic_power[static_cast<std::size_t>(h - 1)] > 0.0)
            harmonics += fmt::format("{}{}", harmonics.empty() ? "" : ", ", h);
    Finding finding;
    finding.channel = judged.channel;
    finding.finding = "mains hum";
    finding.from_s = judged.from_s();
    finding.to_s = judged.to_s();
    finding.amount = 10.0 * std::log10(hum->power);
    finding.unit = "dB re full scale";
    finding.effect =
        fmt::format("{:.2f} Hz, harmonics {}, {:.0f} % of the power: hides low sounds, and "
                    "likens channels that share it",
                    hum->frequency_hz, harmonics, std::min(100.0, 100.0 * share));
    finding.remedy =
        "keep cables away from mains and generators, ground at one point; remove it with "
        "lull-filter before listening";
    finding.severity = share > 0.5 ? 1 : 0;
    findings.push_back(std::move(finding));
}

} // namespace lull
