// SPDX-License-Identifier: GPL-3.0-or-later
//
// The analysis band.
#pragma once

#include <algorithm>

namespace lull {

struct Band {
    double low_hz = 0.0;
    double high_hz = 0.0;
};

/// Default analysis band: 60 Hz to the lower of 2000 Hz and 0.4 of the rate.
[[nodiscard]] inline Band default_band(double rate_hz) {
    return {60.0, std::min(2000.0, 0.4 * rate_hz)};
}

} // namespace lull
