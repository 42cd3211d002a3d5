// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/place_folder.hpp"

#include "detect/strength.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

/// As the table of events shows it, so that lull-locate comes to the same from that.
double as_shown(double confidence) {
    return std::round(confidence * 1000.0) / 1000.0;
}

/// "maps/event-003.svg", "maps/series-002.svg"
std::string map_file(const Source& source) {
    const bool series = source.name.starts_with("series ");
    const std::string number = series ? source.name.substr(7) : source.name;
    return fmt::format("maps/{}-{:0>3}.svg", series ? "series" : "event", number);
}

} // namespace

std::optional<Placing> place_events(Recording& recording, const std::vector<Event>& events,
                                    const Comparison& compared, int jobs,
                                    const ProgressSink& progress) {
    if (!has_positions(recording)) return std::nullopt;
    std::vector<PlaceableEvent> placeable;
    for (const Event& event : events)
        placeable.push_back({event.number, event.onset_s, event.series, as_shown(event.confidence),
                             strength_db(event)});
    Placing placing =
        place_sources(recording, sources_of(placeable, recording.notices), compared.delays,
                      compared.ranking, Posterior::dropped, jobs, progress);
    recording.notices.insert(recording.notices.end(), placing.notices.begin(),
                             placing.notices.end());
    return placing;
}

std::vector<PlacePicture> add_places(const Placing& placing, const Recording& recording,
                                     std::vector<Table>& tables, OutputFolder& folder,
                                     const Language& language) {
    tables.push_back(locations_table(placing.places));
    if (recording.session.grid) tables.push_back(cells_table(placing.places));
    std::vector<PlacePicture> pictures;
    for (std::size_t k = 0; k < placing.places.size(); ++k) {
        const Place& place = placing.places[k].place;
        if (place.outline90.empty()) continue;
        pictures.push_back({placing.sources[k].name, place.evidence,
                            place_map(placing, std::span(&k, 1), recording, language)});
        folder.write(map_file(placing.sources[k]), pictures.back().svg);
    }
    return pictures;
}

} // namespace lull
