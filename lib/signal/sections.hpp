// SPDX-License-Identifier: GPL-3.0-or-later
//
// Recursive filters as cascades of second-order sections.
#pragma once

#include <complex>
#include <vector>

namespace lull {

/// H(z) = (b0 + b1 z^-1 + b2 z^-2) / (1 + a1 z^-1 + a2 z^-2)
struct Section {
    double b0 = 1.0, b1 = 0.0, b2 = 0.0, a1 = 0.0, a2 = 0.0;
};

using Sections = std::vector<Section>; ///< applied one after another

/// Complex response of the cascade at frequency_hz, 0 <= frequency_hz <= rate_hz/2.
[[nodiscard]] std::complex<double> response(const Sections& sections, double frequency_hz,
                                            double rate_hz);

/// Group delay at 0 Hz [samples]: the delay of a low-pass at frequencies far below its corner. No
/// section may be 0 there.
[[nodiscard]] double delay_at_zero(const Sections& sections);

} // namespace lull
