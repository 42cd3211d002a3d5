// SPDX-License-Identifier: GPL-3.0-or-later
//
// Maps of what this program would have detected. What live listeners would have heard is a
// different question.
#pragma once

#include "locate/listening.hpp"
#include "locate/outline.hpp"
#include "locate/recall_curve.hpp"
#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// The sound in question.
struct SoundAsked {
    SourceKind kind = SourceKind::knock; ///< a knock is searched for on channels that are not air,
                                         ///< a voice on those that are not seismic
    double strength_db = 0.0;            ///< peak energy at 1 m, in the channels' level unit
    double strength_sigma_db = 5.0;      ///< >= 0
    int times = 1;                       ///< number of repeats, >= 1; for knocks: of the group
    int lattice_points = 24;             ///< along the longer side, where there is no grid; >= 4
    RecallGround ground = RecallGround::any; ///< activity on the site, which selects the recall
};

/// A channel's floor over a time, in the analysis band.
struct ChannelFloor {
    int channel = 0;
    double from_s = 0.0, to_s = 0.0;
    double floor_db = 0.0;
    std::string level_unit;
};

struct AudiblePoint {
    double x_m = 0.0, y_m = 0.0;
    std::string cell;                  ///< of the team's grid; empty without one
    std::optional<double> probability; ///< empty: not assessed
    std::optional<double> low, high;   ///< 95 % interval from the counts behind the recall curve
};

/// Where the probability is at least the outline's.
struct AudibleOutline {
    double probability = 0.0;
    std::vector<Outline> outlines;
};

struct AudibleStretch {
    double from_s = 0.0, to_s = 0.0;
    std::string source; ///< "knock of 70 dB re 1 nm/s at 1 m, 5 times"
    std::vector<AudiblePoint> points;
    int columns = 0;                      ///< points are stored row by row
    std::vector<AudibleOutline> outlines; ///< at 0.1, 0.5 and 0.9
    std::string recall;                   ///< source of the detector's recall
};

/// The times of the floors, divided where a sensor was moved, each with its points: the middles of
/// the cells of the team's grid, else a lattice over the search space.
/// A point's probability is that at least one of the repeats is listed with confidence 0.5 and more
/// by its best channel: the recall curve at the SNR, averaged over spreading, absorption, contact
/// and strength (likelihood.hpp). A point is not assessed without a channel of the right kind with
/// position and floor, or if units differ.
/// \throws Error(input) when no floor can be used at all
[[nodiscard]] std::vector<AudibleStretch> audibility(const Recording& recording,
                                                     const std::vector<ChannelFloor>& floors,
                                                     const SoundAsked& sound);

} // namespace lull
