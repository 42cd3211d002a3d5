// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/ranking.hpp"

#include "signal/snr.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double window_s = 0.05;       ///< of a peak energy (design)
constexpr double margin_s = 0.05;       ///< before an onset and after an end
constexpr double least_snr_db = 3.0;    ///< under it a channel's peak is what noise alone gives
constexpr double window_degrees = 50.0; ///< of freedom of 50 ms of coloured noise, about

/// One channel's part in a comparison.
struct Entry {
    int channel;
    ChannelKind kind;
    std::string axis, unit;
    bool calibrated;
    bool misleads; ///< a fault of the channel makes its level mean something else
    double offset_db, power, floor;
};

bool misleads(std::span<const Finding> findings, int channel, double from_s, double to_s) {
    return std::ranges::any_of(findings, [&](const Finding& finding) {
        return finding.channel == channel && finding.levels_mislead && finding.from_s <= to_s &&
               finding.to_s >= from_s;
    });
}

Entry entry_of(const Recording& recording, int index, double time_s, PeakEnergy measured) {
    const Channel now =
        channel_at(recording.session, recording.channels[static_cast<std::size_t>(index)], time_s);
    const LevelScale scale = level_scale(now);
    return {
        index, now.kind,        now.axis,       scale.unit,    now.sensitivity && now.full_scale_v,
        false, scale.offset_db, measured.power, measured.floor};
}

bool heard(const Entry& entry) {
    return entry.power > 0.0 &&
           (entry.floor <= 0.0 || entry.power >= entry.floor * db_to_power(least_snr_db));
}

double level_db(const Entry& entry) {
    return power_db(entry.power).value_or(-1000.0) + entry.offset_db;
}

/// Sensors that point in different directions cannot be set against each other; those of which
/// nobody wrote down the direction or the sensitivity are assumed alike, and the row says so.
std::string comparable(const Entry& entry, std::span<const Entry> group) {
    if (entry.misleads) return "no";
    bool assumed = false;
    for (const Entry& other : group) {
        if (!entry.axis.empty() && !other.axis.empty() && entry.axis != other.axis) return "no";
        assumed = assumed || !other.calibrated ||
                  (other.kind == ChannelKind::seismic && other.axis.empty());
    }
    return assumed ? "assumed" : "yes";
}

/// Spread of a 50 ms mean of noise and event: the noise's own, and its beat with the event.
std::optional<double> sigma_db(const Entry& entry) {
    if (!(entry.floor > 0.0)) return std::nullopt;
    const double noise_share = std::min(1.0, entry.floor / entry.power);
    const double relative = std::sqrt(2.0 / window_degrees * noise_share * (2.0 - noise_share));
    return 10.0 / std::log(10.0) * relative;
}

std::vector<RankRow> rank_group(int event, std::vector<Entry> group) {
    std::ranges::stable_sort(group, [](const Entry& a, const Entry& b) {
        if (heard(a) != heard(b)) return heard(a);
        return level_db(a) > level_db(b);
    });
    std::vector<RankRow> rows;
    for (const Entry& entry : group) {
        RankRow row;
        row.event = event;
        row.kind = entry.kind;
        row.channel = entry.channel;
        row.level_unit = entry.unit;
        row.comparable = comparable(entry, group);
        if (const auto db = power_db(entry.power)) row.peak_energy_db = *db + entry.offset_db;
        if (row.peak_energy_db) row.snr_db = signal_to_noise_db(entry.power, entry.floor);
        row.sigma_db = row.peak_energy_db ? sigma_db(entry) : std::nullopt;
        if (heard(entry)) {
            row.rank = static_cast<int>(rows.size()) + 1;
            row.below_strongest_db = level_db(group.front()) - level_db(entry);
        }
        rows.push_back(std::move(row));
    }
    return rows;
}

std::vector<RankRow> rank_entries(int event, const std::vector<Entry>& entries) {
    std::vector<RankRow> rows;
    std::vector<bool> done(entries.size());
    for (std::size_t i = 0; i < entries.size(); ++i) {
        if (done[i]) continue;
        std::vector<Entry> group;
        for (std::size_t j = i; j < entries.size(); ++j)
            if (!done[j] && entries[j].kind == entries[i].kind &&
                entries[j].unit == entries[i].unit) {
                group.push_back(entries[j]);
                done[j] = true;
            }
        const std::vector<RankRow> ranked = rank_group(event, std::move(group));
        rows.insert(rows.end(), ranked.begin(), ranked.end());
    }
    return rows;
}

} // namespace

double peak_energy(std::span<const float> samples, double rate_hz) {
    const auto window =
        std::min(samples.size(), static_cast<std::size_t>(std::llround(window_s * rate_hz)));
    if (window == 0) return 0.0;
    double sum = 0.0, largest = 0.0;
    for (std::size_t n = 0; n < samples.size(); ++n) {
        sum += static_cast<double>(samples[n]) * samples[n];
        if (n >= window) sum -= static_cast<double>(samples[n - window]) * samples[n - window];
        if (n + 1 >= window) largest = std::max(largest, sum);
    }
    return largest / static_cast<double>(window);
}

std::pair<Frame, Frame> ranking_stretch(const EventSpan& event, double rate_hz, Frame frames) {
    const auto at = [&](double time_s) {
        return std::clamp<Frame>(std::llround(time_s * rate_hz), 0, frames);
    };
    const Frame first = at(event.onset_s - margin_s);
    return {first, std::max(first, at(std::max(event.end_s, event.onset_s) + margin_s))};
}

std::vector<RankRow> rank_event(const EventSpan& event, std::span<const PeakEnergy> measured,
                                const Recording& recording, std::span<const Finding> findings) {
    std::vector<Entry> entries;
    for (std::size_t c = 0; c < measured.size(); ++c) {
        const int index = static_cast<int>(c);
        entries.push_back(entry_of(recording, index, event.onset_s, measured[c]));
        entries.back().misleads = misleads(findings, index, event.onset_s, event.onset_s);
    }
    return rank_entries(event.event, entries);
}

void TotalRanking::add(const EventSpan& event, std::span<const PeakEnergy> measured) {
    if (means_.empty()) {
        means_.resize(measured.size());
        first_s_ = event.onset_s;
    }
    last_s_ = event.onset_s;
    for (std::size_t c = 0; c < measured.size(); ++c) {
        // In the channel's own unit as it was then, so that a gain that was turned does not count.
        const int channel = static_cast<int>(c);
        const Entry then = entry_of(*recording_, channel, event.onset_s, measured[c]),
                    now = entry_of(*recording_, channel, first_s_, {});
        const double gain = db_to_power(then.offset_db - now.offset_db);
        means_[c].power += gain * then.power / events_;
        means_[c].floor += gain * then.floor / events_;
    }
}

std::vector<RankRow> TotalRanking::rows(std::span<const Finding> findings) const {
    std::vector<Entry> entries;
    for (std::size_t c = 0; c < means_.size(); ++c) {
        const int channel = static_cast<int>(c);
        entries.push_back(entry_of(*recording_, channel, first_s_, means_[c]));
        entries.back().misleads = misleads(findings, channel, first_s_, last_s_);
    }
    return rank_entries(0, entries);
}

} // namespace lull
