// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/night.hpp"

#include "report/internal/night_gaps.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace lull {
namespace {

constexpr double hour_s = 3600.0;
constexpr double judged_within_s = 0.2, written_within_s = 5.0; // night_rule says them

void add_event(Find& find, const Event& event) {
    find.from_s = find.events.empty() ? event.onset_s : std::min(find.from_s, event.onset_s);
    find.to_s = std::max(find.to_s, event.end_s);
    find.confidence = std::max(find.confidence, event.confidence);
    find.snr_db = std::max(find.snr_db, snr_of(event));
    for (const Arrival& arrival : event.arrivals)
        if (std::ranges::find(find.channels, arrival.channel) == find.channels.end())
            find.channels.push_back(arrival.channel);
    std::ranges::sort(find.channels);
    find.events.push_back(event.number);
}

std::vector<Find> gathered(const NightInput& input) {
    std::vector<Find> finds;
    std::map<int, std::size_t> of_series;
    for (const Event& event : input.events) {
        if (event.hail) continue;
        if (event.series && of_series.contains(*event.series)) {
            add_event(finds[of_series[*event.series]], event);
            continue;
        }
        Find find;
        find.kind = event.kind;
        find.channel = event.strongest;
        find.series = event.series;
        add_event(find, event);
        if (event.series) of_series[*event.series] = finds.size();
        finds.push_back(std::move(find));
    }
    for (const Series& series : input.series)
        if (const auto found = of_series.find(series.number); found != of_series.end()) {
            Find& find = finds[found->second];
            find.channel = series.channel;
            find.confidence = std::max(find.confidence, series.confidence);
        }
    return finds;
}

bool is_on(const Find& find, int channel) {
    return std::ranges::find(find.channels, channel) != find.channels.end();
}

bool was_heard(const Find& find, const LogRow& row) {
    if (row.action != "heard" || row.time_s < find.from_s - written_within_s ||
        row.time_s > find.to_s + written_within_s)
        return false;
    return row.channels.empty() ||
           std::ranges::any_of(row.channels, [&](int channel) { return is_on(find, channel); });
}

bool was_judged(const Find& find, const JudgementRow& row, const NightInput& input) {
    const auto on_its_channel = [&](int channel) {
        return input.recording->channels[static_cast<std::size_t>(channel)].name == row.channel;
    };
    if (!row.channel.empty() && std::ranges::none_of(find.channels, on_its_channel)) return false;
    return std::ranges::any_of(find.events, [&](int number) {
        const auto event = std::ranges::lower_bound(input.events, number, {}, &Event::number);
        return event != input.events.end() &&
               std::abs(event->onset_s - row.onset_s) <= judged_within_s;
    });
}

std::optional<int> file_at(const Recording& recording, double time_s) {
    const auto frame = static_cast<Frame>(std::floor(time_s * recording.rate_hz));
    std::optional<int> best;
    for (std::size_t i = 0; i < recording.inputs.size(); ++i) {
        const InputFile& input = recording.inputs[i];
        if (frame < input.first || frame >= input.first + input.frames) continue;
        // Where files overlap, the one that began earlier counts.
        if (!best || input.first < recording.inputs[static_cast<std::size_t>(*best)].first)
            best = static_cast<int>(i);
    }
    return best;
}

void place(Find& find, const NightInput& input) {
    for (const QuietPeriod& period : input.quiet)
        find.in_quiet =
            find.in_quiet || (find.from_s >= period.from_s && find.from_s < period.to_s);
    for (const Hail& hail : input.hails)
        for (const int event : hail.followed_by)
            if (!find.after_hail && std::ranges::binary_search(find.events, event))
                find.after_hail = hail.number;
    find.listened =
        std::ranges::any_of(input.log, [&](const LogRow& row) { return was_heard(find, row); }) ||
        std::ranges::any_of(input.judgements,
                            [&](const JudgementRow& row) { return was_judged(find, row, input); });
    find.file = file_at(*input.recording, find.from_s);
}

void rank(std::vector<Find>& finds) {
    std::ranges::stable_sort(finds, {}, [](const Find& find) {
        return std::tuple(-std::floor(find.confidence * 10.0 + 1e-9), !find.after_hail,
                          !find.in_quiet, -find.snr_db, find.from_s);
    });
    int number = 0;
    for (Find& find : finds)
        find.rank = ++number;
}

/// Stretches of the time line for which some file has samples, in order, within what was analysed.
std::vector<std::pair<double, double>> recorded(const NightInput& input) {
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

Tally tally(const NightInput& input, const std::vector<std::pair<double, double>>& files,
            double from_s, double to_s) {
    Tally sum;
    sum.from_s = from_s;
    sum.to_s = to_s;
    for (const auto& [begin_s, end_s] : files)
        sum.analysed_s += std::max(0.0, std::min(end_s, to_s) - std::max(begin_s, from_s));
    auto event = std::ranges::lower_bound(input.events, from_s, {}, &Event::onset_s);
    for (; event != input.events.end() && event->onset_s < to_s; ++event) {
        if (event->hail) continue;
        const bool headline = event->confidence >= headline_confidence;
        ++(headline ? sum.headline : sum.lower);
        if (headline) ++sum.of_kind[static_cast<std::size_t>(event->kind)];
    }
    return sum;
}

/// Hours of the clock where the start is known, else from the start.
std::vector<Tally> hours_of(const NightInput& input,
                            const std::vector<std::pair<double, double>>& files) {
    const double past_hour_s =
        input.recording->start.unix_s ? std::fmod(*input.recording->start.unix_s, hour_s) : 0.0;
    std::vector<Tally> hours;
    const double first = std::floor((input.from_s + past_hour_s) / hour_s);
    for (double hour = first; hour * hour_s - past_hour_s < input.to_s; hour += 1.0)
        hours.push_back(tally(input, files, std::max(input.from_s, hour * hour_s - past_hour_s),
                              std::min(input.to_s, (hour + 1.0) * hour_s - past_hour_s)));
    return hours;
}

std::vector<QuietTally> quiet_of(const NightInput& input, const std::vector<Find>& finds,
                                 const std::vector<std::pair<double, double>>& files) {
    std::vector<QuietTally> all;
    for (const QuietPeriod& period : input.quiet) {
        QuietTally one{tally(input, files, period.from_s, period.to_s), period.drop_db, {}};
        for (const Find& find : finds)
            if (!one.best && find.from_s >= period.from_s && find.from_s < period.to_s)
                one.best = find.rank;
        all.push_back(one);
    }
    return all;
}

std::vector<ChannelFault> faults_of(const NightInput& input) {
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

Night sum_up(const NightInput& input) {
    Night night;
    night.finds = gathered(input);
    night.hails.assign(input.hails.begin(), input.hails.end());
    for (Find& find : night.finds)
        place(find, input);
    rank(night.finds);
    const auto files = recorded(input);
    night.hours = hours_of(input, files);
    night.quiet = quiet_of(input, night.finds, files);
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
