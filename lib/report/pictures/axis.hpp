// SPDX-License-Identifier: GPL-3.0-or-later
//
// Axes: conversion from values to pixels, and ticks.
#pragma once

#include <string>
#include <vector>

namespace lull {

/// Linear from values [low, high] to pixels [at_low, at_high]; low < high.
struct Axis {
    double low = 0.0, high = 1.0;
    double at_low = 0.0, at_high = 1.0;

    [[nodiscard]] double at(double value) const {
        return at_low + (value - low) / (high - low) * (at_high - at_low);
    }
};

struct Tick {
    double value = 0.0;
    std::string label;
};

/// Ticks at 1, 2 or 5 times a power of ten, at most `most` of them, most >= 2.
[[nodiscard]] std::vector<Tick> number_ticks(double low, double high, int most);

/// Ticks of a time axis at round seconds, minutes or hours, labelled m:ss or h:mm:ss.
[[nodiscard]] std::vector<Tick> time_ticks(double low_s, double high_s, int most);

/// "2:05", "1:02:05", "0:02.5": a time for people.
[[nodiscard]] std::string time_label(double time_s, int decimals = 0);

} // namespace lull
