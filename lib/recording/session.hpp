// SPDX-License-Identifier: GPL-3.0-or-later
//
// The session file: which recordings and channels belong together, and what is known about them.
#pragma once

#include "recording/channel.hpp"

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace lull {

struct ClockCheck {
    double recorder_s = 0.0;  ///< time since the start of the recording by its own clock [s]
    double reference_s = 0.0; ///< time since the start of the session by the reference clock [s]
};

struct SessionRecording {
    std::string file;                 ///< as written, relative to the session file
    std::optional<std::string> start; ///< ISO 8601, as written
    std::vector<ClockCheck> clock_checks;
};

/// Fields of a channel that change at a time. Only fields that are set change.
struct Change {
    double from_s = 0.0;
    std::string
        from_clock; ///< as written when a clock time; open_recording, which knows the start, then
                    ///< sets from_s (load_session only if the session states the start)
    std::string channel;
    std::optional<Position> position_m;
    std::optional<double> position_sigma_m, full_scale_v, gain_db, clock_offset_s, clock_drift_ppm;
    std::optional<Sensitivity> sensitivity;
    std::optional<int> polarity;
    std::optional<std::string> axis, mount, recorded_through;
};

struct Propagation {
    std::pair<double, double> seismic_m_s{300.0, 3500.0}; ///< lowest and highest wave speed
    double air_temperature_c = 15.0;
    bool stated = false; ///< false: the defaults above, which reports then mention
};

/// The team's own search grid; cells are named by column letter and row number.
struct Grid {
    std::array<double, 2> origin_m{0.0, 0.0};
    double cell_m = 0.0;
    int columns = 0, rows = 0;
    double bearing_deg = 0.0;
    std::string north; ///< "true", "magnetic" or "site"
};

struct Session {
    std::string path; ///< of the session file; empty for a bare recording
    std::string label, exhibit;
    std::optional<std::string> start; ///< ISO 8601, as written
    std::string time_zone;            ///< offset or IANA name, as written; empty: not stated
    double start_sigma_s = 0.0;
    std::optional<double> mains_hz;
    bool exercise = false; ///< "exercise": true
    std::vector<SessionRecording> recordings;
    std::vector<Channel> channels;
    std::vector<Change> changes; ///< in time order
    Propagation propagation;
    std::optional<Grid> grid;
};

/// Reads and checks a session file. Refuses unknown keys and names the nearest known key.
/// \throws Error(input) with the JSON path of the fault as its place
[[nodiscard]] Session load_session(const std::string& path, bool allow_outside);

/// The channel's fields at time_s, with the changes until then.
[[nodiscard]] Channel channel_at(const Session& session, const Channel& channel, double time_s);

} // namespace lull
