// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/gather.hpp"

#include "compare/apply_clocks.hpp"
#include "compare/combine.hpp"
#include "error.hpp"
#include "locate/likelihood.hpp"
#include "signal/snr.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace lull {
namespace {

constexpr double shown_s = 1e-7, shown_db = 0.01; ///< resolution of the tables
constexpr double level_sigma_db = 1.0;            ///< of a peak energy, from the noise
constexpr double unknown_snr_db = 3.0; ///< a ranked channel is at least this far over its floor
constexpr double millimetres_from_m = 1000.0; ///< no array on a site is that wide

double as_shown(double value, double step) {
    return std::round(value / step) * step;
}

bool is_possible(const DelayEstimate& delay, const Listening& listening, int a, int b,
                 const Medium& medium) {
    const Sensor &at_a = listening.sensors[static_cast<std::size_t>(a)],
                 &at_b = listening.sensors[static_cast<std::size_t>(b)];
    const double lowest = listening.kind == ChannelKind::air
                              ? medium.air_m_s * (1.0 - 3.0 * medium.air_share)
                              : medium.lowest_m_s / medium.beyond_factor;
    const double longest = (distance_m(at_a.position_m, at_b.position_m) +
                            3.0 * std::hypot(at_a.sigma_m, at_b.sigma_m)) /
                           lowest;
    return std::abs(delay.delay_s) <= longest + 3.0 * delay.sigma_s;
}

/// One of a delay's two methods as an estimate by itself, with the resolution of the tables.
/// \param forward  from the sensor of the lower number to that of the higher
DelayEstimate as_estimate(const DelayEstimate& delay, const OtherDelay& by, bool forward) {
    DelayEstimate one = delay;
    one.delay_s = as_shown(by.delay_s, shown_s) * (forward ? 1.0 : -1.0);
    one.sigma_s = std::max(shown_s, as_shown(by.sigma_s, shown_s));
    one.path_sigma_s = as_shown(by.path_sigma_s, shown_s);
    one.other.reset();
    return one;
}

void add_combined(const std::map<std::pair<int, int>, std::vector<DelayEstimate>>& pairs,
                  std::vector<HeardDelay>& heard) {
    for (const auto& [pair, several] : pairs) {
        const DelayEstimate one = several.size() == 1 ? several.front() : combined_delay(several);
        if (one.usable) heard.push_back({pair.first, pair.second, one.delay_s, one.sigma_s});
    }
}

/// Collects what sensors of one kind heard of one source. A channel that was moved counts as one
/// sensor for each place; delays within an event connect them to those that stayed.
class Gatherer {
  public:
    Gatherer(const Source& source, const Recording& recording, ChannelKind kind) {
        listening_.kind = kind;
        for (const SourceEvent& event : source.events) {
            std::vector<int>& sensors = sensors_of_[event.event];
            for (std::size_t c = 0; c < recording.channels.size(); ++c) {
                const Channel now =
                    channel_at(recording.session, recording.channels[c], event.onset_s);
                const bool counts = now.kind == kind && now.position_m;
                sensors.push_back(counts ? sensor(static_cast<int>(c), now) : -1);
            }
        }
    }

    void add_delays(const Recording& recording, std::span<const DelayEstimate> delays,
                    const Medium& medium, std::vector<Notice>& notices) {
        using Pairs = std::map<std::pair<int, int>, std::vector<DelayEstimate>>;
        Pairs waveforms, envelopes;
        double right = 0.0, both = 0.0;
        std::set<int> untied;
        for (const DelayEstimate& delay : delays) {
            const int a = sensor_of(delay.event, delay.channel_a),
                      b = sensor_of(delay.event, delay.channel_b);
            if (a < 0 || b < 0 || a == b) continue;
            if (is_untied(delay)) untied.insert({a, b});
            if (!delay.usable) continue;
            const bool is_waveform = delay.method == DelayMethod::waveform;
            if (delay.other) {
                right += is_waveform ? 1.0 - delay.other->probability : delay.other->probability;
                both += 1.0;
                const DelayEstimate other = as_estimate(delay, *delay.other, a < b);
                if (is_possible(other, listening_, a, b, medium))
                    (is_waveform ? envelopes : waveforms)[std::minmax(a, b)].push_back(other);
            }
            const DelayEstimate one =
                as_estimate(delay, {delay.delay_s, delay.sigma_s, delay.path_sigma_s, 0.0}, a < b);
            if (is_possible(one, listening_, a, b, medium))
                (is_waveform ? waveforms : envelopes)[std::minmax(a, b)].push_back(one);
            else
                notices.push_back({"", impossible(recording, delay, a, b), true});
        }
        if (both > 0.0) listening_.waveforms_right = right / both;
        add_combined(waveforms, listening_.delays);
        add_combined(envelopes, listening_.rises);
        for (const auto* heard : {&listening_.delays, &listening_.rises})
            for (const HeardDelay& delay : *heard)
                untied.erase(delay.a), untied.erase(delay.b);
        listening_.untied.assign(untied.begin(), untied.end());
    }

    /// Levels in the most common unit; means over the events that a sensor heard.
    void add_levels(std::span<const RankRow> ranking) {
        std::map<std::string, std::map<int, std::vector<HeardLevel>>> by_unit;
        for (const RankRow& row : ranking) {
            const int s = sensor_of(row.event, row.channel);
            if (s < 0 || !row.rank || !row.peak_energy_db || row.comparable == "no") continue;
            by_unit[row.level_unit][s].push_back(
                {s, as_shown(*row.peak_energy_db, shown_db), level_sigma_db,
                 as_shown(row.snr_db.value_or(unknown_snr_db), shown_db)});
            listening_.levels_assumed = listening_.levels_assumed || row.comparable == "assumed";
        }
        const auto most = std::ranges::max_element(
            by_unit, {}, [](const auto& unit) { return unit.second.size(); });
        if (most == by_unit.end()) return;
        for (const auto& [s, levels] : most->second) {
            HeardLevel mean{s, 0.0, level_sigma_db, 0.0};
            for (const HeardLevel& level : levels) {
                mean.level_db += level.level_db / static_cast<double>(levels.size());
                mean.snr_db += finite_snr_db(level.snr_db) / static_cast<double>(levels.size());
            }
            listening_.levels.push_back(mean);
        }
    }

    [[nodiscard]] Listening take() { return std::move(listening_); }

  private:
    int sensor(int channel, const Channel& now) {
        const Sensor wanted{channel, *now.position_m, now.position_sigma_m};
        for (std::size_t s = 0; s < listening_.sensors.size(); ++s)
            if (listening_.sensors[s].channel == channel &&
                listening_.sensors[s].position_m == wanted.position_m)
                return static_cast<int>(s);
        listening_.sensors.push_back(wanted);
        return static_cast<int>(listening_.sensors.size()) - 1;
    }
    [[nodiscard]] int sensor_of(int event, int channel) const {
        const auto found = sensors_of_.find(event);
        return found == sensors_of_.end() ? -1 : found->second[static_cast<std::size_t>(channel)];
    }
    [[nodiscard]] std::string impossible(const Recording& recording, const DelayEstimate& delay,
                                         int a, int b) const {
        const auto name = [&](int c) {
            return recording.channels[static_cast<std::size_t>(c)].name;
        };
        return fmt::format(
            "event {}: the delay of {:.2f} ms from {} to {} is longer than {:.1f} m at "
            "the lowest speed allows, and is left out; check positions and propagation",
            delay.event, 1e3 * delay.delay_s, name(delay.channel_a), name(delay.channel_b),
            distance_m(listening_.sensors[static_cast<std::size_t>(a)].position_m,
                       listening_.sensors[static_cast<std::size_t>(b)].position_m));
    }

    Listening listening_;
    std::map<int, std::vector<int>> sensors_of_; ///< by event number: one a channel, -1 for none
};

} // namespace

std::vector<Listening> gather_listenings(const Source& source, const Recording& recording,
                                         std::span<const DelayEstimate> delays,
                                         std::span<const RankRow> ranking,
                                         std::vector<Notice>& notices) {
    const Medium medium = medium_of(recording.session.propagation);
    std::vector<Listening> listenings;
    for (const ChannelKind kind : {ChannelKind::seismic, ChannelKind::air, ChannelKind::unknown}) {
        Gatherer gatherer(source, recording, kind);
        gatherer.add_delays(recording, delays, medium, notices);
        gatherer.add_levels(ranking);
        Listening listening = gatherer.take();
        if (!listening.delays.empty() || !listening.rises.empty() || !listening.levels.empty())
            listenings.push_back(std::move(listening));
    }
    return listenings;
}

bool has_positions(const Recording& recording) {
    try {
        (void)check_positions(recording);
        return true;
    } catch (const Error&) {
        return false;
    }
}

std::vector<Notice> check_positions(const Recording& recording) {
    const std::string& file = recording.session.path;
    const std::vector<Channel>& channels = recording.channels;
    const auto placed = std::ranges::count_if(
        channels, [](const Channel& channel) { return channel.position_m.has_value(); });
    if (placed == 0)
        throw_input(file, "position_m", "no channel has a position",
                    "give position_m: [x, y, z] in metres for each channel of a session file");
    if (placed == 1)
        throw_input(file, "position_m", "only one channel has a position",
                    "a place needs two sensors at least, three for an area");
    double extent_m = 0.0;
    for (std::size_t a = 0; a < channels.size(); ++a)
        for (std::size_t b = a + 1; b < channels.size(); ++b) {
            if (!channels[a].position_m || !channels[b].position_m) continue;
            const double apart = distance_m(*channels[a].position_m, *channels[b].position_m);
            if (apart == 0.0 && channels[a].kind == channels[b].kind)
                throw_input(file, "position_m",
                            fmt::format("{} and {} stand at the same place", channels[a].name,
                                        channels[b].name),
                            "give each sensor the place where it stood");
            extent_m = std::max(extent_m, apart);
        }
    if (extent_m < millimetres_from_m) return {};
    return {{"",
             fmt::format("the sensors are up to {:.0f} m apart: are the positions in millimetres? "
                         "they are taken as metres",
                         extent_m),
             false}};
}

} // namespace lull
