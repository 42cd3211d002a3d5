// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/find.hpp"

#include "account/internal/find_evidence.hpp"
#include "account/internal/grouping.hpp"

#include "detect/strength.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace lull {
namespace {

constexpr double judged_within_s = 0.2, written_within_s = 5.0; // stated in find_rule

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

bool was_judged(const Find& find, const JudgementRow& row, const FindInput& heard) {
    const auto on_its_channel = [&](int channel) {
        return heard.recording->channels[static_cast<std::size_t>(channel)].name == row.channel;
    };
    if (!row.channel.empty() && std::ranges::none_of(find.channels, on_its_channel)) return false;
    // Two finds at one time each have their own judgement.
    if (!row.old_kind.empty() && row.old_kind != name_of(find.kind)) return false;
    return std::ranges::any_of(find.events, [&](int number) {
        const Event& event = heard.events[static_cast<std::size_t>(number) - 1];
        return std::abs(event.onset_s - row.onset_s) <= judged_within_s;
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

void place(Find& find, const FindInput& heard) {
    for (const QuietPeriod& period : heard.quiet)
        find.in_quiet =
            find.in_quiet || (find.from_s >= period.from_s && find.from_s < period.to_s);
    for (const Hail& hail : heard.hails)
        for (const int event : hail.followed_by)
            if (!find.after_hail && std::ranges::binary_search(find.events, event))
                find.after_hail = hail.number;
    for (std::size_t j = 0; j < heard.judgements.size(); ++j)
        if (was_judged(find, heard.judgements[j], heard)) find.judgements.push_back(j);
    find.listened =
        !find.judgements.empty() ||
        std::ranges::any_of(heard.log, [&](const LogRow& row) { return was_heard(find, row); });
    find.file = file_at(*heard.recording, find.from_s);
}

/// The rank of a find: possible signs of life first, then what is clearly something else or only
/// loud, then what is in doubt.
int order_of(const Find& find) {
    if (find.confidence < headline_confidence) return find.strong_blow ? 1 : 2;
    return find.kind == EventKind::tapping || find.kind == EventKind::voice_like ? 0 : 1;
}

void rank(std::vector<Find>& finds) {
    std::ranges::stable_sort(finds, {}, [](const Find& find) {
        return std::tuple(order_of(find), -std::floor(find.confidence * 10.0 + 1e-9),
                          !find.after_hail, !find.in_quiet, -find.snr_db, find.from_s);
    });
    int number = 0;
    for (Find& find : finds)
        find.number = ++number;
}

} // namespace

const char* name_of(FindForm form) {
    switch (form) {
    case FindForm::series:
        return "series";
    case FindForm::call:
        return "call";
    case FindForm::signal:
        return "signal";
    case FindForm::again:
        return "again";
    case FindForm::blow:
        return "blow";
    case FindForm::single:
        break;
    }
    return "single";
}

std::vector<Find> gather_finds(const FindInput& heard) {
    std::vector<Find> finds = grouped(heard);
    for (Find& find : finds) {
        place(find, heard);
        find.evidence = evidence_of(find, heard);
    }
    rank(finds);
    return finds;
}

bool is_foremost(const Find& find) {
    return find.confidence >= headline_confidence || find.strong_blow;
}

FindCounts count_finds(std::span<const Find> finds, std::span<const Event> events,
                       std::optional<std::int64_t> not_listed) {
    const auto headline = std::ranges::count_if(
        finds, [](const Find& find) { return find.confidence >= headline_confidence; });
    const auto of_hails =
        std::ranges::count_if(events, [](const Event& event) { return event.hail.has_value(); });
    return {headline, static_cast<std::int64_t>(finds.size()) - headline, of_hails, not_listed,
            static_cast<std::int64_t>(events.size())};
}

} // namespace lull
