// SPDX-License-Identifier: GPL-3.0-or-later
//
// What this program would have detected, and where. What live listeners would have heard is another
// question.
#pragma once

#include "locate/listening.hpp"
#include "locate/outline.hpp"
#include "locate/recall_curve.hpp"
#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// A sound that is asked for.
struct SoundAsked {
    SourceKind kind = SourceKind::knock; ///< a knock is looked for on channels that are not air, a
                                         ///< voice on those that are not seismic
    double strength_db = 0.0;            ///< peak energy at 1 m, in the channels' level unit
    double strength_sigma_db = 5.0;      ///< >= 0
    int times = 1;                       ///< >= 1: how often it is repeated; of knocks: the group
    int lattice_points = 24;             ///< along the longer side, where there is no grid; >= 4
    RecallGround ground = RecallGround::any; ///< what goes on at the site: whose recall is taken
};

/// A channel's floor over a stretch, in the analysis band.
struct ChannelFloor {
    int channel = 0;
    double from_s = 0.0, to_s = 0.0;
    double floor_db = 0.0;
    std::string level_unit;
};

struct AudiblePoint {
    double x_m = 0.0, y_m = 0.0;
    std::string cell;                  ///< of the team's grid; empty where there is none
    std::optional<double> probability; ///< none: not assessed
    std::optional<double> low, high;   ///< what the counts behind the recall curve leave: 95 %
};

/// Where the probability is that of an outline and more.
struct AudibleOutline {
    double probability = 0.0;
    std::vector<Outline> outlines;
};

struct AudibleStretch {
    double from_s = 0.0, to_s = 0.0;
    std::string source; ///< "knock of 70 dB re 1 nm/s at 1 m, 5 times"
    std::vector<AudiblePoint> points;
    int columns = 0;                      ///< points stand row by row, columns fastest
    std::vector<AudibleOutline> outlines; ///< at 0.1, 0.5 and 0.9
    std::string recall;                   ///< where the detector's recall comes from
};

/// The stretches of the floors, cut where a sensor was moved, each with its points: the middles of
/// the cells of the team's grid, else a lattice over the search space. Probability that at least
/// one of the repeats is listed at 0.5 and more by its best channel: mean over spreading,
/// absorption, contact and strength (likelihood.hpp), of the recall curve at the SNR. Not assessed:
/// no channel of the right kind with a position and a floor, or units that do not agree. \throws
/// Error(input) when no floor can be used at all
[[nodiscard]] std::vector<AudibleStretch> audibility(const Recording& recording,
                                                     const std::vector<ChannelFloor>& floors,
                                                     const SoundAsked& sound);

} // namespace lull
