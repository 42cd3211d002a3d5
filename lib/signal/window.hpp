// SPDX-License-Identifier: GPL-3.0-or-later
//
// Window functions and their properties [Harris 1978, Proc. IEEE 66(1)].
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

enum class WindowKind { hann, hamming, blackman };

/// Periodic window of n >= 1 points (period n, as a spectrum needs it), peak 1.
[[nodiscard]] std::vector<float> periodic_window(WindowKind kind, std::size_t n);

/// Equivalent noise bandwidth in bins: n * sum(w^2) / sum(w)^2.
[[nodiscard]] double equivalent_noise_bandwidth(std::span<const float> window);
/// Mean of the window.
[[nodiscard]] double coherent_gain(std::span<const float> window);
/// Loss of a tone half way between two bins, in dB, >= 0.
[[nodiscard]] double scallop_loss_db(std::span<const float> window);

} // namespace lull
