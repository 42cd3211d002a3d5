// SPDX-License-Identifier: GPL-3.0-or-later
//
// The recorders' clocks.
#pragma once

#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

struct ClockRow {
    int recording = 0; ///< from 1, as in the session
    std::optional<double>
        offset_s; ///< recorder time + offset = reference time, at the recording's start
    std::optional<double> drift_ppm; ///< by which the offset grows
    std::optional<double> sigma_s;   ///< residual of the checks; none with fewer than three
    std::string from;                ///< "3 clock checks", "session", "not tied"
};

/// One row a recording of the session: from its clock checks by least squares (one check: an offset
/// alone), else from what the session says of its channels, else not tied. A single recording
/// needs no tie.
[[nodiscard]] std::vector<ClockRow> clocks_of(const Session& session);

} // namespace lull
