// SPDX-License-Identifier: GPL-3.0-or-later
//
// A template of one channel as a filter in time.
#pragma once

#include "detect/tap_template.hpp"
#include "signal/sections.hpp"

#include <vector>

namespace lull {

inline constexpr double template_margin_s = 0.05; ///< by which the whitened template outlasts it

/// The correlating filter of a channel in time: convolving a raw, thinned stream with it reversed
/// gives the channel's share of the product at each sample. Begins `margin` samples before the
/// window, and is length + 2 * margin long.
/// \param band_pass  that the template's streams went through, and the raw stream did not
[[nodiscard]] std::vector<float> correlating_filter(const TapTemplate& from, int channel,
                                                    std::size_t margin, const Sections& band_pass,
                                                    double full_rate_hz);

} // namespace lull
