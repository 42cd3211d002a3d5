// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/sections.hpp"

#include <numbers>

namespace lull {

std::complex<double> response(const Sections& sections, double frequency_hz, double rate_hz) {
    const std::complex<double> delay =
        std::polar(1.0, -2.0 * std::numbers::pi * frequency_hz / rate_hz);
    std::complex<double> product = 1.0;
    for (const Section& s : sections)
        product *= (s.b0 + delay * (s.b1 + delay * s.b2)) / (1.0 + delay * (s.a1 + delay * s.a2));
    return product;
}

double delay_at_zero(const Sections& sections) {
    double delay = 0.0;
    for (const Section& s : sections)
        delay +=
            (s.b1 + 2.0 * s.b2) / (s.b0 + s.b1 + s.b2) - (s.a1 + 2.0 * s.a2) / (1.0 + s.a1 + s.a2);
    return delay;
}

} // namespace lull
