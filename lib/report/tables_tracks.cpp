// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/cells.hpp"
#include "report/tables.hpp"

#include <algorithm>
#include <array>

namespace lull {
namespace {

constexpr std::array kinds{EventKind::tapping, EventKind::voice_like, EventKind::horn};

/// Confidence of each kind in each step of one channel: the largest of the events heard then.
std::vector<std::array<double, kinds.size()>> heard(const ScoreTrack& scores, int channel,
                                                    std::span<const Event> events, double rate_hz) {
    std::vector<std::array<double, kinds.size()>> steps(scores.impulse.size());
    const auto step_of = [&](double time_s) {
        const double step = (time_s * rate_hz - static_cast<double>(scores.first)) /
                            static_cast<double>(scores.hop);
        return static_cast<std::size_t>(
            std::clamp(step, 0.0, static_cast<double>(steps.size()) - 1.0));
    };
    if (steps.empty()) return steps;
    for (const Event& event : events) {
        const auto kind = std::ranges::find(kinds, event.kind);
        if (kind == kinds.end()) continue;
        for (const Arrival& arrival : event.arrivals) {
            if (arrival.channel != channel) continue;
            for (std::size_t s = step_of(arrival.onset_s); s <= step_of(arrival.end_s); ++s) {
                double& held = steps[s][static_cast<std::size_t>(kind - kinds.begin())];
                held = std::max(held, event.confidence);
            }
        }
    }
    return steps;
}

} // namespace

Table tracks_table(std::span<const ScoreTrack> channels, std::span<const Event> events,
                   const Recording& recording) {
    Table table{"tracks",
                {{"from_s", time_decimals},
                 {"channel"},
                 {"impulse_score", level_decimals},
                 {"lasting_score", level_decimals},
                 {"tapping", share_decimals},
                 {"voice_like", share_decimals},
                 {"horn", share_decimals},
                 {"floor_db", level_decimals},
                 {"level_unit"}},
                {}};
    for (std::size_t c = 0; c < channels.size(); ++c) {
        const ScoreTrack& scores = channels[c];
        const int channel = static_cast<int>(c);
        const auto confidence = heard(scores, channel, events, recording.rate_hz);
        for (std::size_t s = 0; s < confidence.size(); ++s) {
            const double from_s =
                recording.seconds(scores.first + static_cast<Frame>(s) * scores.hop);
            const LevelScale scale = scale_at(recording, channel, from_s);
            table.rows.push_back(
                {from_s, channel_cell(recording, channel), static_cast<double>(scores.impulse[s]),
                 static_cast<double>(scores.lasting[s]), confidence[s][0], confidence[s][1],
                 confidence[s][2], power_cell(scores.floor[s], scale), scale.unit});
        }
    }
    return table;
}

} // namespace lull
