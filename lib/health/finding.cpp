// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/finding.hpp"

#include <algorithm>

namespace lull {

const char* name_of(Fitness fitness) {
    switch (fitness) {
    case Fitness::fit:
        return "fit";
    case Fitness::doubtful:
        return "doubtful";
    case Fitness::unfit:
        return "unfit";
    }
    return "";
}

FitnessVerdict fitness_of(int channel, const std::vector<Finding>& findings) {
    FitnessVerdict verdict;
    std::vector<std::string> told;
    for (int severity = 2; severity >= 1; --severity)
        for (const Finding& finding : findings) {
            if (finding.channel != channel || finding.severity != severity) continue;
            if (verdict.fitness == Fitness::fit)
                verdict.fitness = severity == 2 ? Fitness::unfit : Fitness::doubtful;
            if (std::ranges::find(told, finding.finding) != told.end()) continue;
            told.push_back(finding.finding);
            verdict.why += (verdict.why.empty() ? "" : "; ") + finding.finding;
        }
    return verdict;
}

} // namespace lull
