// SPDX-License-Identifier: GPL-3.0-or-later
//
// What many hours came to: hour by hour, quiet period by quiet period, and what was not analysed.
#pragma once

#include "account/find.hpp"
#include "health/finding.hpp"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Finds that began in a stretch of time.
struct Tally {
    double from_s = 0.0, to_s = 0.0;
    double analysed_s = 0.0; ///< of it
    int headline = 0, lower = 0;
    std::array<int, 4> of_kind{}; ///< of the headline ones, by EventKind
};

/// A quiet period and what was heard in it.
struct QuietTally {
    Tally heard;
    double drop_db = 0.0;
    std::optional<int> best; ///< number of its best find
};

/// All findings of one name on one channel; none: a channel without any.
struct ChannelFault {
    int channel = 0;
    Fitness fitness = Fitness::fit;
    std::string finding; ///< empty: none
    int stretches = 0;
    double from_s = 0.0, to_s = 0.0; ///< first begin to last end
    std::string effect, remedy;
};

/// Something that was there, or should have been, and was not analysed.
struct NotAnalysed {
    std::string what; ///< "skipped", "cut short", "damaged", "changed" while it was read,
                      ///< "gap", "overlap", "outside" the stretch asked for, "channel" that was not
    std::string file; ///< or channel; may be empty
    std::optional<double> from_s, to_s;
    std::string why;
};

struct Night {
    std::vector<Tally> hours;
    std::vector<QuietTally> quiet;
    std::vector<ChannelFault> faults; ///< each channel at least once
    std::vector<NotAnalysed> not_analysed;
    int files = 0, files_skipped = 0; ///< analysed at least in part; not at all
};

/// \param finds  all of them, by number
[[nodiscard]] Night sum_up(const FindInput& heard, std::span<const Find> finds);

} // namespace lull
