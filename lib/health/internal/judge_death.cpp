// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double dead_drop_db = 20.0; // smallest lasting fall
constexpr double least_dead_s = 10.0;

/// Levels of the steps [from, to) that were measured.
std::vector<double> part(const StepLevels& levels, std::size_t from, std::size_t to) {
    std::vector<double> measured;
    for (std::size_t i = from; i < std::min(to, levels.size()); ++i)
        if (!std::isnan(levels[i])) measured.push_back(levels[i]);
    return measured;
}

/// The step that best divides the channel into two levels: least squares in decibels.
std::size_t best_division(const StepLevels& levels) {
    const std::size_t n = levels.size();
    double total = 0.0, all = 0.0;
    for (const double db : levels)
        if (!std::isnan(db)) total += db, all += 1.0;
    double sum = 0.0, count = 0.0, best = -1.0;
    std::size_t at = n;
    for (std::size_t i = 0; i < n; ++i) {
        if (count > 0.0 && count < all) {
            const double apart = sum / count - (total - sum) / (all - count);
            const double gain = apart > 0.0 ? apart * apart * count * (all - count) : 0.0;
            if (gain > best) best = gain, at = i;
        }
        if (!std::isnan(levels[i])) sum += levels[i], count += 1.0;
    }
    return at;
}

/// Median fall of the other channels at the same time; 0 without others.
double common_drop_db(const Judged& judged, std::size_t division) {
    std::vector<double> drops;
    for (std::size_t c = 0; c < judged.levels.size(); ++c) {
        if (static_cast<int>(c) == judged.channel) continue;
        const auto before = part(judged.levels[c], 0, division),
                   after = part(judged.levels[c], division, judged.levels[c].size());
        if (!before.empty() && !after.empty())
            drops.push_back(quantile_or_silent(before, 0.5) - quantile_or_silent(after, 0.5));
    }
    return drops.empty() ? 0.0 : quantile_or_silent(drops, 0.5);
}

Finding death(const Judged& judged, double from_s, double drop_db, bool silent) {
    Finding finding = judged.finding(silent ? "dead" : "disconnected");
    finding.from_s = from_s;
    finding.levels_mislead = true;
    finding.amount = drop_db;
    finding.unit = "dB";
    finding.effect =
        "from then on nothing could be heard on this channel: its silence is no evidence";
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
    const StepLevels& levels = judged.levels[static_cast<std::size_t>(judged.channel)];
    const std::vector<double> all = part(levels, 0, levels.size());
    if (all.empty()) return;
    if (quantile_or_silent(all, 1.0) <= silent_db) {
        findings.push_back(death(judged, judged.from_s(), 0.0, true));
        findings.back().amount = std::nullopt;
        findings.back().unit.clear();
        return;
    }
    const std::size_t at = best_division(levels);
    if (at >= levels.size() || judged.to_s() - judged.step_s(at) < least_dead_s) return;
    const auto before = part(levels, 0, at), after = part(levels, at, levels.size());
    const double drop_db = quantile_or_silent(before, 0.5) - quantile_or_silent(after, 0.5);
    const bool stays =
        quantile_or_silent(after, 0.95) < quantile_or_silent(before, 0.1) - 0.5 * dead_drop_db;
    if (drop_db - std::max(0.0, common_drop_db(judged, at)) < dead_drop_db || !stays) return;
    const bool silent = quantile_or_silent(after, 0.5) <= silent_db;
    double from_s = judged.step_s(at);
    // A zeroed stretch that begins in the step before gives the exact time.
    for (const StretchList* list : {&health.zeroed, &health.held})
        for (const Stretch& s : list->listed) {
            const double begin_s = judged.seconds(s.first);
            if (silent && std::fabs(begin_s - from_s) < 2.0 * health_step_s &&
                judged.seconds(s.count) > 2.0)
                from_s = begin_s;
        }
    findings.push_back(death(judged, from_s, drop_db, silent));
}

} // namespace lull
