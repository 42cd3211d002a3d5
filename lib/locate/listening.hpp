// SPDX-License-Identifier: GPL-3.0-or-later
//
// The measurements of a source by sensors of one kind, from which its place is estimated.
#pragma once

#include "recording/channel.hpp"
#include "recording/session.hpp"

#include <optional>
#include <vector>

namespace lull {

/// A sensor at its place at that time.
struct Sensor {
    int channel = 0; ///< index into the recording's channels
    Position position_m{};
    double sigma_m = 1.0; ///< of each coordinate, >= 0
};

/// delay_s = arrival at b minus arrival at a. Indices into Listening::sensors.
struct HeardDelay {
    int a = 0, b = 0;
    double delay_s = 0.0;
    double sigma_s = 0.0; ///< > 0
};

struct HeardLevel {
    int sensor = 0; ///< index into Listening::sensors
    double level_db = 0.0;
    double sigma_db = 0.0; ///< from the noise only, >= 0
    double snr_db = 10.0;
    double contact_sigma_db = 0.0; ///< of the sensor's contact, if estimated; 0: unknown
};

/// One source heard by sensors of one kind. Waves in the structure and sound in air are different
/// waves, so each has its own listening. A sensor that was moved is one sensor for each place.
struct Listening {
    ChannelKind kind = ChannelKind::seismic;
    std::vector<Sensor> sensors;
    std::vector<HeardDelay> delays;  ///< of waveforms; at most one for each pair
    std::vector<HeardLevel> levels;  ///< all in one unit; at most one for each sensor
    bool levels_assumed = false;     ///< nobody stated that the sensors are alike
    std::vector<int> untied{};       ///< sensors without delays, since their clocks are not tied
    std::vector<HeardDelay> rises{}; ///< of envelopes; at most one for each pair
    /// probability that `delays`, not `rises`, are those of the waves
    double waveforms_right = 1.0;
};

/// What is known about wave propagation on the site.
struct Medium {
    double lowest_m_s = 300.0,
           highest_m_s = 3500.0; ///< waves in the structure; prior density constant in ln speed
    double air_m_s = 340.3;      ///< sound in air
    double air_share = 0.02;  ///< standard deviation of its speed, relative: draughts, temperature
    double path_share = 0.03; ///< standard deviation between paths, relative to the speed
    /// The stated range may be wrong: up to this factor beyond it, the density is this share of
    /// that within.
    double beyond_factor = 1.0, beyond_density = 0.05;
};

/// Speed of sound in air [ISO 9613-1:1993, A.2]. \param temperature_c above -273.15
[[nodiscard]] double air_speed_m_s(double temperature_c);

[[nodiscard]] Medium medium_of(const Propagation& propagation);

/// Where a source is searched for. All of it is equally likely beforehand, except that teams lay
/// their grid where they search: outside the grid the density is this share of that inside.
inline constexpr double beside_grid = 0.05;
struct SearchSpace {
    Position low{}, high{};   ///< corners [m], low < high in each
    std::optional<Grid> grid; ///< the team's
};

/// The sensors' rectangle extended by half its longer side on each side (at least 5 m), enlarged to
/// hold the team's grid if there is one; from a quarter of the longer side (at least 3 m) below the
/// sensors to 1 m above them.
[[nodiscard]] SearchSpace search_space(const std::vector<Listening>& listenings,
                                       const std::optional<Grid>& grid);

} // namespace lull
