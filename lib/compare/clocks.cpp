// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/clocks.hpp"

#include <fmt/format.h>

#include <cmath>

namespace lull {
namespace {

ClockRow from_checks(int number, const std::vector<ClockCheck>& checks) {
    ClockRow row;
    row.recording = number;
    row.from = fmt::format("{} clock check{}", checks.size(), checks.size() == 1 ? "" : "s");
    const auto n = static_cast<double>(checks.size());
    double mean_t = 0.0, mean_d = 0.0;
    for (const ClockCheck& check : checks) {
        mean_t += check.recorder_s / n;
        mean_d += (check.reference_s - check.recorder_s) / n;
    }
    double tt = 0.0, td = 0.0;
    for (const ClockCheck& check : checks) {
        const double t = check.recorder_s - mean_t;
        tt += t * t;
        td += t * (check.reference_s - check.recorder_s - mean_d);
    }
    const double slope = tt > 0.0 ? td / tt : 0.0;
    row.offset_s = mean_d - slope * mean_t;
    if (tt > 0.0) row.drift_ppm = slope * 1e6;
    if (checks.size() < 3 || !(tt > 0.0)) return row;
    double squares = 0.0;
    for (const ClockCheck& check : checks) {
        const double rest =
            check.reference_s - check.recorder_s - *row.offset_s - slope * check.recorder_s;
        squares += rest * rest;
    }
    row.sigma_s = std::sqrt(squares / (n - 2.0));
    return row;
}

} // namespace

std::vector<ClockRow> clocks_of(const Session& session) {
    std::vector<ClockRow> rows;
    for (std::size_t r = 0; r < session.recordings.size(); ++r) {
        const int number = static_cast<int>(r) + 1;
        if (!session.recordings[r].clock_checks.empty()) {
            rows.push_back(from_checks(number, session.recordings[r].clock_checks));
            continue;
        }
        ClockRow row;
        row.recording = number;
        row.from = session.recordings.size() == 1 ? "one recording, one clock" : "not tied";
        for (const Channel& channel : session.channels)
            if (channel.recording.value_or(number) == number &&
                (channel.clock_offset_s != 0.0 || channel.clock_drift_ppm != 0.0)) {
                row.offset_s = channel.clock_offset_s;
                row.drift_ppm = channel.clock_drift_ppm;
                row.from = "session";
                break;
            }
        rows.push_back(std::move(row));
    }
    return rows;
}

} // namespace lull
