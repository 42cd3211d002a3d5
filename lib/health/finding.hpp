// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is wrong with a channel, in words that a technician can act on.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace lull {

struct Finding {
    int channel = 0;
    std::string finding; ///< "clipping", "dropout", "mains hum", "dead", ...
    double from_s = 0.0, to_s = 0.0;
    std::optional<double> amount;
    std::string unit;   ///< of the amount: "s", "dB", "Hz", "samples"
    std::string effect; ///< on the results
    std::string remedy; ///< what a technician can do
    int severity = 1;   ///< 0: for information; 1: makes the channel doubtful; 2: makes it unfit
    /// its levels cannot be compared with other channels' during the finding
    bool levels_mislead = false;
};

enum class Fitness { fit, doubtful, unfit };

[[nodiscard]] const char* name_of(Fitness fitness); ///< "fit", "doubtful", "unfit"

struct FitnessVerdict {
    Fitness fitness = Fitness::fit;
    std::string why; ///< the findings that decide it, worst first; empty for a fit channel
};

/// The worst severity among the channel's findings decides.
[[nodiscard]] FitnessVerdict fitness_of(int channel, const std::vector<Finding>& findings);

} // namespace lull
