// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cells of tables from the quantities of the library.
#pragma once

#include "recording/recording.hpp"
#include "report/table.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Decimals of the quantities in all tables.
inline constexpr int time_decimals = 6, level_decimals = 2, hertz_decimals = 3, share_decimals = 3;

/// A cell that may be unknown.
template <class Number>
[[nodiscard]] Cell cell_of(const std::optional<Number>& value) {
    return value ? Cell(*value) : Cell();
}
[[nodiscard]] inline Cell cell_of(int value) {
    return std::int64_t{value};
}
[[nodiscard]] inline Cell cell_of(const std::optional<int>& value) {
    return value ? cell_of(*value) : Cell();
}

/// An SNR in JSON too: "inf" over a digitally silent floor; unknown where it is, and without a
/// signal.
[[nodiscard]] Cell snr_cell(std::optional<double> snr_db);
/// A channel's name; unknown for an index that is none.
[[nodiscard]] Cell channel_cell(const Recording& recording, int channel);
/// The scale of a channel's levels as it holds at that time, gain changes applied.
[[nodiscard]] LevelScale scale_at(const Recording& recording, int channel, double time_s);
/// The level of a power; unknown for 0.
[[nodiscard]] Cell power_cell(double power, const LevelScale& scale);
/// The level of an amplitude; unknown for 0.
[[nodiscard]] Cell amplitude_cell(double amplitude, const LevelScale& scale);
/// "3;4;7"; unknown when there are none.
[[nodiscard]] Cell numbers_cell(std::span<const int> numbers);
/// The index of the channel that a table names, by name or number from 1.
[[nodiscard]] std::optional<int> channel_named(const Recording& recording, const std::string& name);
/// Parts of "a;b", blanks round them dropped, empty ones left out.
[[nodiscard]] std::vector<std::string> split_list(const std::string& text);

} // namespace lull
