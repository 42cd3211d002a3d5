// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a person may set of an analysis, and which parts of it a tool wants.
#pragma once

#include "conventions.hpp"
#include "detect/hails.hpp"
#include "detect/horns.hpp"
#include "recording/recording.hpp"
#include "signal/band.hpp"

#include <optional>
#include <string>

namespace lull {

struct Settings {
    Band band;                            ///< analysis band [Hz]
    Frame from = 0, to = 0;               ///< frames of the time line that are reported
    double list_from = 0.1;               ///< events under this confidence are not listed
    std::optional<double> false_per_hour; ///< and of each kind so few: detect/false_rate.hpp
    std::optional<double> every_s;        ///< interval of the noise table; none: the whole stretch
    std::vector<LogRow> log;              ///< the operators' log; hails are taken from it
    std::optional<int> hail_channel;      ///< at the team: what is strong there is the team's own
    HornRules horns = usual_horn_rules(); ///< what patterns of blasts order here
};

/// Settings for a recording from what was written on the command line; empty strings mean the
/// defaults. \throws Error(usage) for a band outside 0..rate/2, or an empty or unreadable stretch.
[[nodiscard]] Settings make_settings(const Recording& recording, const std::string& from,
                                     const std::string& to,
                                     std::optional<std::pair<double, double>> band);

/// Which results a pass is to give; leaving one out saves its time.
struct Wanted {
    bool health = false;
    bool noise = false; ///< third-octave levels
    bool quiet = false; ///< quiet periods, and what broke them
    bool events = false;
    bool scores = false; ///< running scores of detection; with events only
};

/// Whether events have to be found: faults between channels show in the events that they share.
[[nodiscard]] inline bool hears(const Wanted& wanted) {
    return wanted.events || wanted.quiet || wanted.health;
}

} // namespace lull
