// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/night.hpp"

#include "account/internal/night_gaps.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double hour_s = 3600.0;

/// Parts of the analysed time for which a file has samples, in order.
std::vector<std::pair<double, double>> recorded(const FindInput& input) {
    std::vector<std::pair<double, double>> spans, joined;
    for (const InputFile& file : input.recording->inputs) {
        const auto add = [&](Frame first, Frame end) {
            spans.emplace_back(input.recording->seconds(file.first + first),
                               input.recording->seconds(file.first + end));
        };
        Frame at = 0;
        for (const FrameRange& lost : file.lost) {
            add(at, lost.first);
            at = lost.end();
        }
        add(at, file.frames);
    }
    std::ranges::sort(spans);
    for (auto [from_s, to_s] : spans) {
        from_s = std::max(from_s, input.from_s);
        to_s = std::min(to_s, input.to_s);
        if (from_s >= to_s) continue;
        if (!joined.empty() && from_s <= joined.back().second)
            joined.back().second = std::max(joined.back().second, to_s);
        else
            joined.emplace_back(from_s, to_s);
    }
    return joined;
}

/// \param finds  in order of time
Tally tally(std::span<const Find* const> finds, const std::vector<std::pair<double, double>>& files,
            double from_s, double to_s) {
    Tally sum;
    sum.from_s = from_s;
    sum.to_s = to_s;
    for (const auto& [begin_s, end_s] : files)
        sum.analysed_s += std::max(0.0, std::min(end_s, to_s) - std::max(begin_s, from_s));
    const auto begin = [](const Find* find) { return find->from_s; };
    auto at = std::ranges::lower_bound(finds, from_s, {}, begin);
    for (; at != finds.end() && (*at)->from_s < to_s; ++at) {
        const bool headline = (*at)->confidence >= headline_confidence;
        ++(headline ? sum.headline : sum.lower);
        if (headline) ++sum.of_kind[static_cast<std::size_t>((*at)->kind)];
    }
    return sum;
}

/// Clock hours where the start is known, else hours from the start.
std::vector<Tally> hours_of(const FindInput& input, std::span<const Find* const> finds,
                            const std::vector<std::pair<double, double>>& files) {
    const double past_hour_s =
        input.recording->start.unix_s ? std::fmod(*input.recording->start.unix_s, hour_s) : 0.0;
    std::vector<Tally> hours;
    const double first = std::floor((input.from_s + past_hour_s) / hour_s);
    for (double hour = first; hour * hour_s - past_hour_s < input.to_s; hour += 1.0)
        hours.push_back(tally(finds, files, std::max(input.from_s, hour * hour_s - past_hour_s),
                              std::min(input.to_s, (hour + 1.0) * hour_s - past_hour_s)));
    return hours;
}

std::vector<QuietTally> quiet_of(const FindInput& input, std::span<const Find* const> finds,
                                 const std::vector<std::pair<double, double>>& files) {
    std::vector<QuietTally> all;
    for (const QuietPeriod& period : input.quiet) {
        QuietTally one{tally(finds, files, period.from_s, period.to_s), period.drop_db, {}};
        for (const Find* find : finds)
            if (find->from_s >= period.from_s && find->from_s < period.to_s)
                one.best = std::min(one.best.value_or(find->number), find->number);
        all.push_back(one);
    }
    return all;
}

std::vector<ChannelFault> faults_of(const FindInput& input) {
    std::vector<ChannelFault> faults;
    for (int c = 0; c < static_cast<int>(input.recording->channels.size()); ++c) {
        const Fitness fitness = fitness_of(c, *input.findings).fitness;
        const std::size_t first = faults.size();
        for (const Finding& finding : *input.findings) {
            if (finding.channel != c) continue;
            const auto known =
                std::ranges::find(faults.begin() + static_cast<std::ptrdiff_t>(first), faults.end(),
                                  finding.finding, &ChannelFault::finding);
            if (known != faults.end()) {
                ++known->stretches;
                known->from_s = std::min(known->from_s, finding.from_s);
                known->to_s = std::max(known->to_s, finding.to_s);
            } else {
                faults.push_back({c, fitness, finding.finding, 1, finding.from_s, finding.to_s,
                                  finding.effect, finding.remedy});
            }
        }
        if (faults.size() == first) faults.push_back({c, fitness, "", 0, 0.0, 0.0, "", ""});
    }
    return faults;
}

} // namespace

Night sum_up(const FindInput& input, std::span<const Find> finds) {
    Night night;
    std::vector<const Find*> by_time;
    for (const Find& find : finds)
        by_time.push_back(&find);
    std::ranges::stable_sort(by_time, {}, [](const Find* find) { return find->from_s; });
    const auto files = recorded(input);
    night.hours = hours_of(input, by_time, files);
    night.quiet = quiet_of(input, by_time, files);
    night.faults = faults_of(input);
    night.not_analysed = not_analysed(*input.recording, input.from_s, input.to_s);
    for (const NotAnalysed& one : night.not_analysed)
        night.files_skipped += one.what == "skipped" ? 1 : 0;
    for (const InputFile& file : input.recording->inputs)
        night.files += std::ranges::none_of(night.not_analysed, [&](const NotAnalysed& one) {
            return one.what == "skipped" && one.file == file.label;
        });
    return night;
}

} // namespace lull
