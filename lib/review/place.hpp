// SPDX-License-Identifier: GPL-3.0-or-later
//
// Places of the sources of a recording.
#pragma once

#include "locate/contacts.hpp"
#include "locate/gather.hpp"
#include "report/language.hpp"
#include "report/tables_locate.hpp"
#include "review/progress.hpp"

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// An event that may be located.
struct PlaceableEvent {
    int event = 0;
    double onset_s = 0.0;
    std::optional<int> series;
    double confidence = 1.0;
    double strength_db = std::numeric_limits<double>::infinity(); ///< SNR on its best channel
};

/// The series, and the events in none, that are located, in order of the first onset: all of
/// confidence 0.5 and more, and of the others the strongest of each hour.
/// \param notices  gains one for each hour in which others were left out
[[nodiscard]] std::vector<Source> sources_of(std::span<const PlaceableEvent> events,
                                             std::vector<Notice>& notices);

struct Placing {
    SearchSpace space;
    Medium medium;
    std::vector<Source> sources;
    std::vector<std::vector<Listening>> listenings; ///< a source each
    std::vector<Contact> contacts;                  ///< of the sensors, where enough tells them
    std::vector<NamedPlace> places;                 ///< a source each
    std::vector<Notice> notices;
};

/// What stays of a place beside its outlines and figures: half a megabyte of probabilities, which
/// advice is made from.
enum class Posterior { kept, dropped };

/// Locates each source on `jobs` threads. \throws Error(input) as check_positions(), and whatever
/// `progress` throws
[[nodiscard]] Placing place_sources(const Recording& recording, std::vector<Source> sources,
                                    std::span<const DelayEstimate> delays,
                                    std::span<const RankRow> ranking, Posterior posterior, int jobs,
                                    const ProgressSink& progress);

/// What lull-locate is given; empty: not given.
struct PlaceFiles {
    std::string delays, ranking, events;
};

/// The same from tables that were written. Without events every event of the delays is located by
/// itself, where the sensors stood at the start. \throws Error(input) also when sensors were moved
/// and no events tell when
[[nodiscard]] Placing place_from_tables(const Recording& recording, const PlaceFiles& files,
                                        int jobs, const ProgressSink& progress);

/// Moves advised for every source whose posterior was kept. \param forbidden_file  columns area,
/// x_m, y_m: the corners of areas to keep off, in order; empty: none
[[nodiscard]] std::vector<NamedAdvice> advise_moves(const Placing& placing, double reach_m,
                                                    const std::string& forbidden_file);

/// SVG of some of the sources on one map: indices into placing.sources, at least one.
[[nodiscard]] std::string place_map(const Placing& placing, std::span<const std::size_t> shown,
                                    const Recording& recording,
                                    const Language& language = Language::english());

/// SVG of the audibility of one stretch: figures in per cent where it was assessed.
[[nodiscard]] std::string audibility_map(const AudibleStretch& stretch, const Recording& recording,
                                         const Language& language = Language::english());

/// Channels' floors in the analysis band from a noise table: third octaves within it, added.
/// \param quiet_file  only where these quiet periods lie; empty: the table's intervals
[[nodiscard]] std::vector<ChannelFloor> floors_of(const Recording& recording,
                                                  const std::string& noise_file,
                                                  const std::string& quiet_file, double low_hz,
                                                  double high_hz);

} // namespace lull
