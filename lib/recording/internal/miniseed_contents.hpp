// SPDX-License-Identifier: GPL-3.0-or-later
//
// The contents of a miniSEED file, before they are placed on a time line.
#pragma once

#include "recording/internal/miniseed_record.hpp"

#include <cstdint>
#include <set>
#include <string>
#include <vector>

namespace lull {

/// A record as read from the file.
struct FoundRecord {
    std::int64_t at = 0, start_us = 0;
    std::int32_t bytes = 0, samples = 0;
    bool whole_ticks = false, damaged = false;
};

struct MiniseedContents {
    struct Source {
        double rate_hz = 0.0;
        std::string name;
        std::vector<FoundRecord> records; ///< in order of the file
    };
    std::vector<Source> sources;
    std::vector<std::int64_t> damage;        ///< offsets at which bytes begin that are no record
    std::set<std::string> encodings, unread; ///< names of the encodings read; sources with others
    bool only_integers = true, cut_short = false;
};

/// Whether two rates are equal.
[[nodiscard]] bool is_same_rate(double rate_hz, double other_hz);

/// Reads every record of a file and decodes it once.
[[nodiscard]] MiniseedContents miniseed_contents(ByteWindow& file);

} // namespace lull
