// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/match.hpp"

#include "conformance.hpp"
#include "synthesis/random.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>

namespace lull {
namespace {

constexpr double sum_rounding = 1e-9; ///< totals of a few dozen costs below 10

nlohmann::json reference() {
    std::ifstream file(LULL_TEST_DATA "/grade_reference.json");
    return file ? nlohmann::json::parse(file) : nlohmann::json();
}

double total(const std::vector<MatchCandidate>& pairs) {
    double sum = 0.0;
    for (const MatchCandidate& pair : pairs)
        sum += pair.cost;
    return sum;
}

/// Tries all pairings: the slow and certain method.
void try_all(const std::vector<MatchCandidate>& candidates, int answer, int answers,
             std::set<int>& used, int pairs, double cost, std::pair<int, double>& best) {
    if (answer == answers) {
        if (pairs > best.first || (pairs == best.first && cost < best.second)) best = {pairs, cost};
        return;
    }
    try_all(candidates, answer + 1, answers, used, pairs, cost, best);
    for (const MatchCandidate& c : candidates)
        if (c.answer == answer && used.insert(c.truth).second) {
            try_all(candidates, answer + 1, answers, used, pairs + 1, cost + c.cost, best);
            used.erase(c.truth);
        }
}

TEST(Match, assignment_costs_as_little_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    double worst = 0.0;
    for (const auto& c : data["assignments"]) {
        const auto costs = c["costs"].get<std::vector<double>>();
        const int rows = c["rows"], columns = c["columns"];
        const std::vector<int> column_of = assign(costs, rows, columns);
        double sum = 0.0;
        std::set<int> used;
        for (int r = 0; r < rows; ++r) {
            const int column = column_of[static_cast<std::size_t>(r)];
            if (column < 0) continue;
            EXPECT_TRUE(used.insert(column).second);
            sum += costs[static_cast<std::size_t>(r * columns + column)];
        }
        EXPECT_EQ(static_cast<int>(used.size()), std::min(rows, columns));
        EXPECT_NEAR(sum, c["total"].get<double>(), sum_rounding) << rows << " x " << columns;
        worst = std::max(worst, std::abs(sum - c["total"].get<double>()));
    }
    check_conformance({"assignment, 14 random and tied tables: largest difference of total cost",
                       "SciPy 1.10.1 linear_sum_assignment", "scripts/reference/grade_reference.py",
                       0.0, worst, sum_rounding, ""});
}

TEST(Match, most_pairs_then_least_cost_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["matchings"]) {
        std::vector<MatchCandidate> candidates;
        for (const auto& x : c["candidates"])
            candidates.push_back({x[0], x[1], x[2]});
        const std::vector<MatchCandidate> pairs = best_matching(candidates);
        EXPECT_EQ(static_cast<int>(pairs.size()), c["pairs"].get<int>());
        EXPECT_NEAR(total(pairs), c["total"].get<double>(), sum_rounding);
    }
}

TEST(Match, agrees_with_trying_everything) {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        Random random(seed);
        const int answers = random.whole(1, 6), truths = random.whole(1, 6);
        std::vector<MatchCandidate> candidates;
        for (int a = 0; a < answers; ++a)
            for (int t = 0; t < truths; ++t)
                if (random.uniform() < 0.5)
                    candidates.push_back({a, t, seed % 2 ? random.uniform() : random.whole(0, 2)});
        std::pair<int, double> best{0, 0.0};
        std::set<int> used;
        try_all(candidates, 0, answers, used, 0, 0.0, best);
        const std::vector<MatchCandidate> pairs = best_matching(candidates);
        EXPECT_EQ(static_cast<int>(pairs.size()), best.first) << "seed " << seed;
        EXPECT_NEAR(total(pairs), best.second, sum_rounding) << "seed " << seed;
    }
}

TEST(Match, one_more_pair_outweighs_any_cost) {
    const std::vector<MatchCandidate> candidates{{0, 0, 0.0}, {0, 1, 100.0}, {1, 0, 100.0}};
    EXPECT_EQ(best_matching(candidates).size(), 2U);
}

TEST(Match, nothing_gives_nothing) {
    EXPECT_TRUE(best_matching({}).empty());
    EXPECT_TRUE(assign({}, 0, 3).empty());
    EXPECT_EQ(assign({}, 2, 0), (std::vector<int>{-1, -1}));
}

TEST(Match, long_lists_fall_into_groups) {
    std::vector<MatchCandidate> candidates;
    for (int i = 0; i < 20000; ++i) {
        candidates.push_back({i, i, 0.25});
        if (i > 0 && i % 3 != 0) candidates.push_back({i, i - 1, 0.5});
    }
    EXPECT_EQ(best_matching(candidates).size(), 20000U);
}

} // namespace
} // namespace lull
