// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/hail_words.hpp"

#include <fmt/format.h>

namespace lull {

std::string hail_sentence(const HailChance& chance, const Language& say) {
    const auto rounded = [](double value, int decimals) {
        return fmt::format("{:.{}f}", value, decimals);
    };
    return say.filled("hail_sentence", {{"hails", std::to_string(chance.hails)},
                                        {"followed", std::to_string(chance.followed)},
                                        {"answer", rounded(chance.answer_s, 0)},
                                        {"expected", rounded(chance.expected, 2)},
                                        {"low", rounded(chance.expected_low, 2)},
                                        {"high", rounded(chance.expected_high, 2)},
                                        {"elsewhere", std::to_string(chance.elsewhere)},
                                        {"listened", rounded(chance.listened_s, 0)},
                                        {"p", rounded(chance.p, 4)},
                                        {"shifts", std::to_string(chance.shifts)},
                                        {"smallest", rounded(chance.smallest_p, 4)}});
}

} // namespace lull
