// SPDX-License-Identifier: GPL-3.0-or-later
//
// The imprint of an impulse: its beginning as a spectrum, by which impulses of one source and one
// place are known from others that only share their bands.
#pragma once

#include "detect/event.hpp"

#include <cstddef>
#include <span>

namespace lull {

inline constexpr double imprint_from_hz = 60.0; ///< about: the first bin
inline constexpr double imprint_to_hz = 2000.0; ///< the last, or 0.45 of the rate
inline constexpr std::size_t most_imprint_bins = 160;

/// Takes the imprint from a band-passed waveform.
/// \param first_s     time of the waveform's first sample
/// \param onset       index of the onset in it
/// \param floor_power mean square of the noise, > 0 or unknown (0)
[[nodiscard]] Imprint take_imprint(std::span<const float> waveform, double first_s,
                                   std::size_t onset, double rate_hz, double floor_power);

} // namespace lull
