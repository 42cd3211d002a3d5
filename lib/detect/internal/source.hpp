// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whether two impulses come from one source.
#pragma once

#include "detect/event.hpp"

#include <array>
#include <string_view>

namespace lull {

/// What the model of one source weighs, in order: over the channels that both impulses have.
inline constexpr std::string_view pair_schema =
    "correlation of waveforms; correlation expected of one source at this noise; their ratio; "
    "likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; "
    "ln of the ratio of decays; ln of the ratio of centroids; "
    "asinh of the agreement of phases between channels; its mean cosine; log2 of the channels; "
    "scatter of levels between channels [4 dB]; share of channels that only one is heard on";
inline constexpr std::size_t pair_feature_count = 13;
[[nodiscard]] std::array<double, pair_feature_count> pair_features(const Event& a, const Event& b);

/// Log likelihood ratio of one source against two, -5..5.
[[nodiscard]] double same_source(const Event& a, const Event& b);

} // namespace lull
