// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include "signal/quantile.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace lull {
namespace {

constexpr double silent_power = 1e-20; // digital silence
constexpr double one_finding_s = 60.0; // stretches closer than this are reported together

} // namespace

StepLevels step_levels(const ChannelHealth& health, const ScaleChanges& changes) {
    StepLevels levels;
    for (std::size_t i = 0; i < health.steps.size(); ++i) {
        const HealthStep& step = health.steps[i];
        const Frame begin = (health.first / health.step + static_cast<Frame>(i)) * health.step;
        const double power = static_cast<double>(step.power) * changes.factor(begin);
        if (step.frames == 0)
            levels.push_back(std::numeric_limits<double>::quiet_NaN());
        else
            levels.push_back(power > silent_power ? 10.0 * std::log10(power) : silent_db);
    }
    return levels;
}

double quantile_or_silent(std::vector<double> values, double p) {
    const double level = quantile_of(std::move(values), p);
    return std::isnan(level) ? silent_db : level;
}

std::vector<Group> grouped(const StretchList& list, double rate_hz) {
    std::vector<Group> groups;
    const auto apart = static_cast<Frame>(one_finding_s * rate_hz);
    for (const Stretch& stretch : list.listed) {
        if (groups.empty() || stretch.first > groups.back().end + apart)
            groups.push_back({stretch.first, 0, 0, 0, 0});
        groups.back().end = stretch.first + stretch.count;
        groups.back().frames += stretch.count;
        ++groups.back().stretches;
        groups.back().longest = std::max(groups.back().longest, stretch.count);
    }
    if (groups.empty()) return groups;
    Frame told = 0;
    for (const Group& group : groups)
        told += group.frames;
    groups.back().frames += list.frames - told;
    groups.back().stretches += list.stretches - static_cast<std::int64_t>(list.listed.size());
    groups.back().end = list.end;
    return groups;
}

double Judged::to_s() const {
    const Frame end = health.first + health.frames + health.missing.frames + health.lost.frames +
                      health.non_finite.frames;
    return seconds(end);
}

double Judged::step_s(std::size_t step) const {
    const Frame begin = (health.first / health.step + static_cast<Frame>(step)) * health.step;
    return std::min(to_s(), seconds(std::max(health.first, begin)));
}

Finding Judged::finding(const char* name) const {
    Finding finding;
    finding.channel = channel;
    finding.finding = name;
    finding.from_s = from_s();
    finding.to_s = to_s();
    return finding;
}

std::vector<Finding> findings(std::span<const ChannelHealth> channels, double rate_hz,
                              std::span<const ChannelFacts> facts) {
    std::vector<StepLevels> levels;
    for (std::size_t c = 0; c < channels.size(); ++c)
        levels.push_back(
            step_levels(channels[c], c < facts.size() ? facts[c].changes : ScaleChanges()));
    std::vector<Finding> all;
    for (std::size_t c = 0; c < channels.size(); ++c) {
        const Judged judged{static_cast<int>(c),
                            channels[c],
                            rate_hz,
                            channels,
                            levels,
                            c < facts.size() ? facts[c] : ChannelFacts()};
        judge_death(judged, all);
        judge_clipping(judged, all);
        judge_dropouts(judged, all);
        judge_jumps(judged, all);
        judge_offset(judged, all);
        judge_hum(judged, all);
        judge_wind(judged, all);
        judge_automatic_gain(judged, all);
        judge_spectrum(judged, all);
    }
    return all;
}

} // namespace lull
