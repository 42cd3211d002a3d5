// SPDX-License-Identifier: GPL-3.0-or-later
//
// Parsing of times.
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace lull {

/// Takes tokens off the front of a text.
struct Scanner {
    std::string_view rest;

    bool take(char c) {
        if (rest.empty() || rest.front() != c) return false;
        rest.remove_prefix(1);
        return true;
    }
    bool digits(std::size_t count, int& value) {
        if (rest.size() < count) return false;
        value = 0;
        for (std::size_t i = 0; i < count; ++i) {
            if (rest[i] < '0' || rest[i] > '9') return false;
            value = value * 10 + (rest[i] - '0');
        }
        rest.remove_prefix(count);
        return true;
    }
    double fraction() {
        if (rest.empty() || (rest.front() != '.' && rest.front() != ',')) return 0.0;
        double value = 0.0, weight = 0.1;
        std::size_t used = 1;
        for (; used < rest.size() && rest[used] >= '0' && rest[used] <= '9'; ++used, weight /= 10.0)
            value += weight * (rest[used] - '0');
        if (used == 1) return 0.0;
        rest.remove_prefix(used);
        return value;
    }
};

/// Takes HH:MM:SS off the front, with that separator (none: '\0'). \return seconds of the day
[[nodiscard]] std::optional<double> take_time_of_day(Scanner& in, char separator);

/// Takes Z, +HH, +HH:MM or +HHMM off the front. \return seconds from UTC
[[nodiscard]] std::optional<int> take_zone(Scanner& in);

} // namespace lull
