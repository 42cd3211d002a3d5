// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/place.hpp"

#include "error.hpp"
#include "locate/untied.hpp"
#include "report/csv.hpp"
#include "report/json.hpp"
#include "report/read_tables.hpp"
#include "review/strongest.hpp"
#include "review/work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <iterator>
#include <limits>
#include <map>
#include <set>

namespace lull {
namespace {

constexpr std::size_t most_contact_sources = 40; ///< more tell contacts hardly better

/// Everywhere that a sensor stood at any time.
SearchSpace whole_space(const Recording& recording) {
    Listening all;
    for (const Channel& channel : recording.channels)
        if (channel.position_m) all.sensors.push_back({0, *channel.position_m, 0.0});
    for (const Change& change : recording.session.changes)
        if (change.position_m) all.sensors.push_back({0, *change.position_m, 0.0});
    return search_space({all}, recording.session.grid);
}

std::vector<DelayEstimate> delays_from(const std::string& file, const Recording& recording) {
    std::vector<DelayEstimate> delays;
    for (const DelayRow& row : read_delays(file, recording)) {
        DelayEstimate one;
        one.event = row.event;
        one.channel_a = row.channel_a, one.channel_b = row.channel_b;
        one.delay_s = row.delay_s.value_or(0.0);
        one.sigma_s = row.sigma_s.value_or(0.0);
        one.path_sigma_s = row.path_sigma_s.value_or(0.0);
        one.correlation = row.correlation.value_or(0.0);
        one.usable = row.usable && row.delay_s && row.sigma_s;
        one.reason = row.reason;
        if (row.by_envelope) one.method = DelayMethod::envelope;
        if (row.other_delay_s && row.other_sigma_s && *row.other_sigma_s > 0.0)
            one.other = OtherDelay{*row.other_delay_s, *row.other_sigma_s,
                                   row.other_path_sigma_s.value_or(0.0),
                                   std::clamp(row.other_probability.value_or(0.0), 0.0, 1.0)};
        delays.push_back(std::move(one));
    }
    return delays;
}

std::vector<RankRow> ranking_from(const std::string& file, const Recording& recording) {
    std::vector<RankRow> ranking;
    if (file.empty()) return ranking;
    for (const RankingRow& row : read_ranking(file, recording)) {
        RankRow one;
        one.event = row.event;
        one.kind = recording.channels[static_cast<std::size_t>(row.channel)].kind;
        one.rank = row.rank;
        one.channel = row.channel;
        one.peak_energy_db = row.peak_energy_db;
        one.snr_db = row.snr_db;
        one.below_strongest_db = row.below_strongest_db;
        one.comparable = row.comparable;
        one.level_unit = row.level_unit;
        ranking.push_back(std::move(one));
    }
    return ranking;
}

bool are_moved(const Recording& recording) {
    return std::ranges::any_of(recording.session.changes,
                               [](const Change& change) { return change.position_m.has_value(); });
}

std::vector<Source> sources_from(const PlaceFiles& files, const Recording& recording,
                                 std::span<const DelayEstimate> delays,
                                 std::vector<Notice>& notices) {
    std::vector<PlaceableEvent> events;
    if (!files.events.empty()) {
        for (const EventRow& row : read_events(files.events, recording))
            events.push_back({row.event, row.onset_s, row.series, row.confidence.value_or(1.0),
                              row.snr_db.value_or(std::numeric_limits<double>::infinity())});
        return sources_of(events, notices);
    }
    if (are_moved(recording))
        throw_input(recording.session.path, "changes", "sensors were moved during the session",
                    "give --events F, which says when each event was");
    std::set<int> numbers;
    for (const DelayEstimate& delay : delays)
        numbers.insert(delay.event);
    for (const int number : numbers)
        events.push_back({number, 0.0, std::nullopt});
    return sources_of(events, notices);
}

/// One line for all events that a table lacks.
void tell_missing(Placing& placing, const std::string& what, const std::string& effect,
                  bool degraded, const std::function<bool(int)>& is_there) {
    std::string numbers;
    for (const Source& source : placing.sources)
        for (const SourceEvent& event : source.events)
            if (!is_there(event.event))
                numbers += fmt::format("{}{}", numbers.empty() ? "" : ", ", event.event);
    if (!numbers.empty())
        placing.notices.push_back(
            {"", fmt::format("not in the {}: event {}; {}", what, numbers, effect), degraded});
}

/// Contacts from the sources of which most delays are known, placed by them alone.
std::vector<Contact> contacts_of(const Placing& placing, std::span<const std::string> names,
                                 int jobs, const ProgressSink& progress) {
    std::vector<std::vector<Listening>> by_delays;
    for (const std::vector<Listening>& listenings : placing.listenings) {
        const bool told = std::ranges::any_of(listenings, [](const Listening& one) {
            return std::max(one.delays.size(), one.rises.size()) >= 3 && one.levels.size() >= 3;
        });
        if (told && by_delays.size() < most_contact_sources) by_delays.push_back(listenings);
    }
    std::vector<Place> places(by_delays.size());
    ProgressState state{"estimating contacts", 0.0, static_cast<double>(by_delays.size())};
    OrderedWork<Place>::run(
        by_delays.size(), jobs,
        [&]() -> OrderedWork<Place>::Piece {
            return [&](std::size_t number, const std::atomic<bool>&) {
                std::vector<Listening> without_levels = by_delays[number];
                for (Listening& listening : without_levels)
                    listening.levels.clear();
                Place place = locate(without_levels, placing.space, placing.medium, names);
                place.map = {}, place.patches = {};
                return place;
            };
        },
        [&](std::size_t number, Place&& place) {
            places[number] = std::move(place);
            state.done_s += 1.0;
        },
        [&] { progress(state); });
    return estimate_contacts(by_delays, places);
}

} // namespace

std::vector<Source> sources_of(std::span<const PlaceableEvent> events,
                               std::vector<Notice>& notices) {
    std::vector<Source> all;
    std::vector<Contender> contenders;
    std::map<int, std::size_t> source_of_series;
    for (const PlaceableEvent& event : events) {
        std::size_t source = all.size();
        if (event.series)
            source = source_of_series.try_emplace(*event.series, source).first->second;
        if (source == all.size()) {
            all.push_back({event.series ? fmt::format("series {}", *event.series)
                                        : fmt::format("{}", event.event),
                           {}});
            contenders.push_back({event.onset_s, event.strength_db, false});
        }
        all[source].events.push_back({event.event, event.onset_s});
        Contender& own = contenders[source];
        own.strength_db = std::max(own.strength_db, event.strength_db);
        own.clear = own.clear || event.confidence >= headline_confidence;
    }
    const std::vector<char> taken =
        take_strongest(contenders, placed_an_hour, "sources placed", notices);
    std::vector<Source> sources;
    for (std::size_t i = 0; i < all.size(); ++i)
        if (taken[i]) sources.push_back(std::move(all[i]));
    return sources;
}

Placing place_sources(const Recording& recording, std::vector<Source> sources,
                      std::span<const DelayEstimate> delays, std::span<const RankRow> ranking,
                      Posterior posterior, int jobs, const ProgressSink& progress) {
    Placing placing;
    placing.notices = check_positions(recording);
    for (Notice& notice : untied_clocks(recording, delays))
        placing.notices.push_back(std::move(notice));
    placing.space = whole_space(recording);
    placing.medium = medium_of(recording.session.propagation);
    placing.sources = std::move(sources);
    for (const Source& source : placing.sources)
        placing.listenings.push_back(
            gather_listenings(source, recording, delays, ranking, placing.notices));
    std::vector<std::string> names;
    for (const Channel& channel : recording.channels)
        names.push_back(channel.name);
    placing.contacts = contacts_of(placing, names, jobs, progress);
    for (std::vector<Listening>& listenings : placing.listenings)
        apply_contacts(placing.contacts, listenings);
    ProgressState state{"locating", 0.0, static_cast<double>(placing.sources.size())};
    OrderedWork<NamedPlace>::run(
        placing.sources.size(), jobs,
        [&]() -> OrderedWork<NamedPlace>::Piece {
            return [&](std::size_t number, const std::atomic<bool>&) {
                NamedPlace named{
                    placing.sources[number].name,
                    locate(placing.listenings[number], placing.space, placing.medium, names),
                    {}};
                if (recording.session.grid && !named.place.map.probability.empty())
                    named.cells = cell_probabilities(named.place, *recording.session.grid);
                if (posterior == Posterior::dropped) named.place.map = {}, named.place.patches = {};
                return named;
            };
        },
        [&](std::size_t, NamedPlace&& named) {
            placing.places.push_back(std::move(named));
            state.done_s += 1.0;
        },
        [&] { progress(state); });
    return placing;
}

Placing place_from_tables(const Recording& recording, const PlaceFiles& files, int jobs,
                          const ProgressSink& progress) {
    (void)check_positions(recording); // before tables are read: the first fault is told
    const std::vector<DelayEstimate> delays = delays_from(files.delays, recording);
    const std::vector<RankRow> ranking = ranking_from(files.ranking, recording);
    std::vector<Notice> notices;
    std::vector<Source> sources = sources_from(files, recording, delays, notices);
    Placing placing = place_sources(recording, std::move(sources), delays, ranking, Posterior::kept,
                                    jobs, progress);
    std::ranges::move(notices, std::back_inserter(placing.notices));
    tell_missing(placing, "delays", "only levels are used", false, [&](int event) {
        return std::ranges::find(delays, event, &DelayEstimate::event) != delays.end();
    });
    if (!ranking.empty())
        tell_missing(placing, "ranking", "only delays are used", true, [&](int event) {
            return std::ranges::find(ranking, event, &RankRow::event) != ranking.end();
        });
    return placing;
}

std::vector<NamedAdvice> advise_moves(const Placing& placing, double reach_m,
                                      const std::string& forbidden_file) {
    Ground ground{reach_m, {}};
    if (!forbidden_file.empty()) {
        const CsvTable table(forbidden_file, {"area", "x_m", "y_m"});
        std::map<std::string, Ring> rings;
        for (const CsvRow& row : table.rows())
            rings[table.text(row, "area")].push_back(
                {table.number(row, "x_m"), table.number(row, "y_m")});
        for (auto& [name, ring] : rings) {
            if (ring.size() < 3)
                throw_input(forbidden_file, "area " + name, "has fewer than three corners",
                            "give three corners at least, in order");
            ground.forbidden.push_back(std::move(ring));
        }
    }
    std::vector<NamedAdvice> advice;
    for (std::size_t k = 0; k < placing.places.size(); ++k) {
        const Place& place = placing.places[k].place;
        if (place.patches.empty()) continue;
        advice.push_back({placing.places[k].name, advise(place, placing.listenings[k],
                                                         placing.space, placing.medium, ground)});
    }
    return advice;
}

std::vector<ChannelFloor> floors_of(const Recording& recording, const std::string& noise_file,
                                    const std::string& quiet_file, double low_hz, double high_hz) {
    std::map<std::tuple<double, double, int>, std::pair<double, std::string>> powers;
    for (const NoiseRow& row : read_noise(noise_file, recording)) {
        if (!row.floor_db || row.band_hz < low_hz || row.band_hz > high_hz) continue;
        auto& [power, unit] = powers[{row.from_s, row.to_s, row.channel}];
        power += db_to_power(*row.floor_db);
        unit = row.level_unit;
    }
    std::vector<std::pair<double, double>> quiet;
    if (!quiet_file.empty()) {
        const CsvTable table(quiet_file, {"from_s", "to_s"});
        for (const CsvRow& row : table.rows())
            quiet.emplace_back(table.time(row, "from_s", recording.start),
                               table.time(row, "to_s", recording.start));
    }
    std::vector<ChannelFloor> floors;
    for (const auto& [key, value] : powers) {
        const auto& [from_s, to_s, channel] = key;
        ChannelFloor floor{channel, from_s, to_s, *power_db(value.first), value.second};
        if (quiet_file.empty()) floors.push_back(floor);
        for (const auto& [begin_s, end_s] : quiet) {
            floor.from_s = std::max(from_s, begin_s), floor.to_s = std::min(to_s, end_s);
            if (floor.to_s > floor.from_s) floors.push_back(floor);
        }
    }
    return floors;
}

} // namespace lull
