// SPDX-License-Identifier: GPL-3.0-or-later
//
// Summary of many hours: each hour, each quiet period, and what was not analysed.
#pragma once

#include "account/find.hpp"
#include "health/finding.hpp"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Finds that began in one part of the time line.
struct Tally {
    double from_s = 0.0, to_s = 0.0;
    double analysed_s = 0.0; ///< time analysed of it
    int headline = 0, lower = 0;
    std::array<int, 4> of_kind{}; ///< headline finds, by EventKind
};

/// A quiet period and its finds.
struct QuietTally {
    Tally heard;
    double drop_db = 0.0;
    std::optional<int> best; ///< number of its best find
};

/// All findings of one name on one channel. A channel without findings has one entry without a
/// name.
struct ChannelFault {
    int channel = 0;
    Fitness fitness = Fitness::fit;
    std::string finding; ///< empty: no finding
    int stretches = 0;
    double from_s = 0.0, to_s = 0.0; ///< begin of the first, end of the last
    std::string effect, remedy;
};

/// Something that was recorded, or should have been, and was not analysed.
struct NotAnalysed {
    std::string what; ///< "skipped", "cut short", "damaged", "changed" while read, "gap",
                      ///< "overlap", "outside" of the chosen time, "channel" that was not chosen
    std::string file; ///< or channel; may be empty
    std::optional<double> from_s, to_s;
    std::string why;
};

struct Night {
    std::vector<Tally> hours;
    std::vector<QuietTally> quiet;
    std::vector<ChannelFault> faults; ///< at least one for each channel
    std::vector<NotAnalysed> not_analysed;
    int files = 0, files_skipped = 0; ///< analysed at least in part; not analysed at all
};

/// \param finds  all of them, in order of their numbers
[[nodiscard]] Night sum_up(const FindInput& heard, std::span<const Find> finds);

} // namespace lull
