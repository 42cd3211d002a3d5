// SPDX-License-Identifier: GPL-3.0-or-later
//
// The tables of lull, their columns and the order of these fixed (README.md, tables). Levels are in
// the unit that level_unit names: calibrated when the channel's sensitivity and full scale are
// known (recording/channel.hpp), by the channel's settings as they held at that time.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "detect/event.hpp"
#include "detect/hail_chance.hpp"
#include "detect/scores.hpp"
#include "health/health.hpp"
#include "locate/contacts.hpp"
#include "noise/levels.hpp"
#include "noise/quiet.hpp"
#include "recording/recording.hpp"
#include "report/table.hpp"

#include <optional>
#include <span>

namespace lull {

/// \param health       a channel each, in the order of recording.channels
/// \param floor_power  a channel each: mean square of the noise floor in the analysis band, as the
///                     scale at the start reads it; 0 or no entry: unknown
/// \param contacts     of the sensors; where one stood in several places, that of which most
///                     sources tell is shown
/// Levels over gain changes are those of the scale at the start. Further columns: level_a_db, the
/// A-weighted level of air channels (IEC 61672-1); contact_db and its standard deviation.
[[nodiscard]] Table channels_table(std::span<const ChannelHealth> health,
                                   const std::vector<Finding>& findings,
                                   std::span<const double> floor_power,
                                   std::span<const Contact> contacts, const Recording& recording);
[[nodiscard]] Table findings_table(std::span<const Finding> findings, const Recording& recording);
[[nodiscard]] Table noise_table(std::span<const NoiseLevel> levels, const Recording& recording);
[[nodiscard]] Table quiet_table(std::span<const QuietPeriod> periods);
/// Running scores, channel by channel: the largest log likelihood ratios of each step, the
/// confidence of the events of each kind heard there then (0: none), and the noise floor.
[[nodiscard]] Table tracks_table(std::span<const ScoreTrack> channels,
                                 std::span<const Event> events, const Recording& recording);
/// peak_db and snr_db are those of the strongest channel; hail: the team's own that it is part of.
[[nodiscard]] Table events_table(std::span<const Event> events, const Recording& recording);
/// What units heard on single channels, before events are made of it: what is said of it may
/// change.
[[nodiscard]] Table heard_table(std::span<const Arrival> arrivals, const Recording& recording);
[[nodiscard]] Table arrivals_table(std::span<const Event> events, const Recording& recording);
[[nodiscard]] Table series_table(std::span<const Series> series, const Recording& recording);
/// Further columns: how a hail is known, and of all hails together how many occurrences followed,
/// how many chance would have put there, and the permutation test's p (detect/hail_chance.hpp); the
/// events that are the hail itself.
[[nodiscard]] Table hails_table(std::span<const Hail> hails,
                                const std::optional<HailChance>& chance,
                                const Recording& recording);

/// Further column: sigma_db, what noise alone makes uncertain of peak_energy_db.
[[nodiscard]] Table ranking_table(std::span<const RankRow> rows, const Recording& recording);
/// Further column: reason, why a delay is not usable. What is not usable shows no sigma.
[[nodiscard]] Table delays_table(std::span<const DelayEstimate> delays, const Recording& recording);
[[nodiscard]] Table clocks_table(std::span<const ClockRow> rows, const Recording& recording);

} // namespace lull
