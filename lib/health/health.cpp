// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/health.hpp"

#include "health/internal/channel_meter.hpp"

#include <algorithm>

namespace lull {

void StretchList::add(Stretch stretch) {
    frames += stretch.count;
    end = stretch.first + stretch.count;
    if (!listed.empty() && static_cast<std::int64_t>(listed.size()) == stretches &&
        listed.back().first + listed.back().count == stretch.first) {
        listed.back().count += stretch.count;
        return;
    }
    ++stretches;
    if (listed.size() < most_listed) listed.push_back(stretch);
}

void StretchList::append(const StretchList& later) {
    for (const Stretch& stretch : later.listed)
        add(stretch);
    for (const Stretch& stretch : later.listed)
        frames -= stretch.count;
    frames += later.frames;
    if (later.stretches > 0) end = later.end;
    stretches += later.stretches - static_cast<std::int64_t>(later.listed.size());
}

void add_weighted(HealthStep& step, double power, Frame frames) {
    const auto have = static_cast<double>(step.weighted_frames), more = static_cast<double>(frames);
    if (frames <= 0) return;
    step.weighted_power = static_cast<float>(
        (have * static_cast<double>(step.weighted_power) + more * power) / (have + more));
    step.weighted_frames += static_cast<std::int32_t>(frames);
}

StretchList merged(const StretchList& a, const StretchList& b) {
    std::vector<Stretch> both = a.listed;
    both.insert(both.end(), b.listed.begin(), b.listed.end());
    std::sort(both.begin(), both.end(),
              [](const Stretch& x, const Stretch& y) { return x.first < y.first; });
    if (both.size() > StretchList::most_listed) both.resize(StretchList::most_listed);
    return {std::move(both), a.stretches + b.stretches, a.frames + b.frames,
            std::max(a.end, b.end)};
}

double ChannelHealth::mean() const {
    return frames ? sum / static_cast<double>(frames) : 0.0;
}

double ChannelHealth::power() const {
    return frames ? sum_of_squares / static_cast<double>(frames) : 0.0;
}

void ChannelHealth::append(const ChannelHealth& later) {
    if (steps.empty() && missing.frames == 0 && lost.frames == 0) {
        *this = later;
        return;
    }
    frames += later.frames;
    sum += later.sum;
    sum_of_squares += later.sum_of_squares;
    peak = std::max(peak, later.peak);
    const auto lesser = [](double a, double b) {
        return a == 0.0 ? b : b == 0.0 ? a : std::min(a, b);
    };
    least_step = lesser(least_step, later.least_step);
    clip_level = lesser(clip_level, later.clip_level);
    clipped.append(later.clipped);
    zeroed.append(later.zeroed);
    held.append(later.held);
    repeated.append(later.repeated);
    missing.append(later.missing);
    lost.append(later.lost);
    non_finite.append(later.non_finite);
    hum.insert(hum.end(), later.hum.begin(), later.hum.end());
    spectrum.level_db.resize(std::max(spectrum.level_db.size(), later.spectrum.level_db.size()));
    for (std::size_t b = 0; b < later.spectrum.level_db.size(); ++b)
        spectrum.level_db[b] += later.spectrum.level_db[b];
    spectrum.looks += later.spectrum.looks;
    spectrum.looked += later.spectrum.looked;
    spectrum.holes += later.spectrum.holes;
    spectrum.with_holes += later.spectrum.with_holes;
    jumps.append(later.jumps);
    const std::size_t room = most_dips - std::min(most_dips, dips.size());
    dips.insert(dips.end(), later.dips.begin(),
                later.dips.begin() +
                    static_cast<std::ptrdiff_t>(std::min(room, later.dips.size())));
    append_steps(later);
}

void ChannelHealth::append_steps(const ChannelHealth& later) {
    const std::int64_t offset = later.first / step - first / step;
    for (std::size_t i = 0; i < later.steps.size(); ++i) {
        const auto at = static_cast<std::size_t>(offset + static_cast<std::int64_t>(i));
        const HealthStep& theirs = later.steps[i];
        if (at >= steps.size()) steps.resize(at + 1);
        HealthStep& mine = steps[at];
        if (theirs.frames == 0) continue;
        if (mine.frames == 0) {
            mine = theirs;
            continue;
        }
        // A step that the edge between two units divides: both parts count by their number of
        // frames.
        const auto a = static_cast<float>(mine.frames), b = static_cast<float>(theirs.frames);
        mine.mean = (a * mine.mean + b * theirs.mean) / (a + b);
        mine.power = (a * mine.power + b * theirs.power) / (a + b);
        mine.high_share = (a * mine.high_share + b * theirs.high_share) / (a + b);
        mine.peak = std::max(mine.peak, theirs.peak);
        add_weighted(mine, theirs.weighted_power, theirs.weighted_frames);
        mine.frames += theirs.frames;
    }
}

HealthMeter::HealthMeter(int channels, double rate_hz, const std::vector<bool>& a_weighted) {
    for (std::size_t c = 0; c < static_cast<std::size_t>(channels); ++c)
        meters_.push_back(
            std::make_unique<ChannelMeter>(rate_hz, c < a_weighted.size() && a_weighted[c]));
}
HealthMeter::~HealthMeter() = default;
HealthMeter::HealthMeter(HealthMeter&&) noexcept = default;
HealthMeter& HealthMeter::operator=(HealthMeter&&) noexcept = default;

void HealthMeter::push(const Block& raw, Frame core_begin, Frame core_end) {
    const Frame begin = std::max(raw.first, core_begin),
                end = std::min(raw.first + raw.frames, core_end);
    if (begin >= end) return;
    for (int c = 0; c < raw.channels && c < static_cast<int>(meters_.size()); ++c) {
        ChannelMeter& meter = *meters_[static_cast<std::size_t>(c)];
        if (!started_) meter.health.first = begin;
        std::vector<Stretch> holes;
        const auto note = [&](const std::vector<Run>& runs, StretchList& list) {
            for (const Run& run : runs) {
                const Frame from = std::max(begin, run.first),
                            to = std::min(end, run.first + run.count);
                if (run.channel != c || from >= to) continue;
                list.add({from, to - from});
                holes.push_back({from, to - from});
            }
        };
        note(raw.missing, meter.health.missing);
        note(raw.lost, meter.health.lost);
        note(raw.non_finite, meter.health.non_finite);
        std::sort(holes.begin(), holes.end(),
                  [](const Stretch& a, const Stretch& b) { return a.first < b.first; });
        holes.push_back({end, 0});
        Frame at = begin;
        for (const Stretch& hole : holes) {
            if (hole.first > at)
                meter.measure(raw.channel(c).subspan(static_cast<std::size_t>(at - raw.first),
                                                     static_cast<std::size_t>(hole.first - at)),
                              at);
            at = std::max(at, hole.first + hole.count);
        }
    }
    started_ = true;
}

std::vector<ChannelHealth> HealthMeter::finish() {
    std::vector<ChannelHealth> all;
    for (const auto& meter : meters_)
        all.push_back(meter->finish());
    return all;
}

} // namespace lull
