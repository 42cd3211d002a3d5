// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a reviewer decided about a find.
#pragma once

#include <optional>
#include <string>

namespace lull {

/// A row of a judgements file.
struct JudgementRow {
    std::string when, reviewer, report_digest;
    double onset_s = 0.0;
    std::string channel, old_kind, judgement, new_kind, reason;
    std::optional<double> new_onset_s; ///< begin as the reviewer heard it; empty: at onset_s
    std::optional<double> new_end_s;   ///< end as the reviewer heard it; empty: not stated
};

} // namespace lull
