// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/axis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

int decimals_of(double step) {
    return std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
}

double number_step(double span, int most) {
    double power = std::pow(10.0, std::floor(std::log10(span / most)));
    for (;; power *= 10.0)
        for (const double factor : {1.0, 2.0, 5.0})
            if (span / (factor * power) <= most - 1) return factor * power;
}

double time_step(double span_s, int most) {
    for (const double step : {1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0,
                              1800.0, 3600.0, 7200.0, 14400.0})
        if (span_s / step <= most - 1) return step;
    return 3600.0 * number_step(span_s / 3600.0, most);
}

/// Multiples of the step within [low, high], computed by counting, so that rounding does not add
/// up.
std::vector<double> multiples(double low, double high, double step) {
    std::vector<double> values;
    const auto first = static_cast<long long>(std::ceil(low / step - 1e-9));
    const auto last = static_cast<long long>(std::floor(high / step + 1e-9));
    for (long long i = first; i <= last; ++i)
        values.push_back(static_cast<double>(i) * step);
    return values;
}

} // namespace

std::vector<Tick> number_ticks(double low, double high, int most) {
    std::vector<Tick> ticks;
    if (!(high > low)) return ticks;
    const double step = number_step(high - low, most);
    for (const double value : multiples(low, high, step))
        ticks.push_back(
            {value, fmt::format("{:.{}f}", value == 0.0 ? 0.0 : value, decimals_of(step))});
    return ticks;
}

std::vector<Tick> time_ticks(double low_s, double high_s, int most) {
    std::vector<Tick> ticks;
    if (!(high_s > low_s)) return ticks;
    const double span_s = high_s - low_s;
    const double step = span_s < most - 1 ? number_step(span_s, most) : time_step(span_s, most);
    for (const double value : multiples(low_s, high_s, step))
        ticks.push_back({value, time_label(value, step < 1.0 ? decimals_of(step) : 0)});
    return ticks;
}

std::string time_label(double time_s, int decimals) {
    const double scale = std::pow(10.0, decimals);
    const auto units = static_cast<long long>(std::llround(std::max(0.0, time_s) * scale));
    const auto whole = static_cast<long long>(scale);
    const long long seconds = units / whole;
    std::string label = seconds >= 3600 ? fmt::format("{}:{:02}:{:02}", seconds / 3600,
                                                      seconds / 60 % 60, seconds % 60)
                                        : fmt::format("{}:{:02}", seconds / 60, seconds % 60);
    if (decimals > 0) label += fmt::format(".{:0{}}", units % whole, decimals);
    return label;
}

} // namespace lull
