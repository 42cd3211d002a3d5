// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pairs answers with truths: the assignment problem [published: Kuhn 1955, Naval Research Logistics
// Quarterly 2, 83-97], solved by shortest augmenting paths in O(rows^2 * columns).
#pragma once

#include <span>
#include <vector>

namespace lull {

/// Cheapest assignment of every row to a different column (of every column, if there are fewer).
/// \param costs    row by row, rows * columns finite numbers
/// \return column of each row, -1 for rows left over. On a tie the lower index wins
[[nodiscard]] std::vector<int> assign(std::span<const double> costs, int rows, int columns);

/// An answer that may belong to a truth, and the cost of the pair.
struct MatchCandidate {
    int answer = 0;    ///< index from 0
    int truth = 0;     ///< index from 0
    double cost = 0.0; ///< finite, >= 0
};

/// The best matching: as many pairs as possible, and among these the smallest sum of costs. Each
/// answer and each truth is in at most one pair, and only candidates are paired.
/// \return the pairs, in order of the answer. Unconnected groups of candidates are solved
///         separately, so that long lists are fast
[[nodiscard]] std::vector<MatchCandidate> best_matching(std::span<const MatchCandidate> candidates);

} // namespace lull
