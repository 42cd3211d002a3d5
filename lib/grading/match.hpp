// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pairing answers with truths: the assignment problem [published: Kuhn 1955, Naval Research
// Logistics Quarterly 2, 83-97], solved by shortest augmenting paths in O(rows^2 * columns).
#pragma once

#include <span>
#include <vector>

namespace lull {

/// Cheapest assignment of every row to a column of its own (of every column, when there are fewer).
/// \param costs    row by row, rows * columns finite numbers
/// \return column of each row, -1 for rows left over. Ties fall to the lower index, always alike.
[[nodiscard]] std::vector<int> assign(std::span<const double> costs, int rows, int columns);

/// An answer that may stand for a truth, and how badly it fits.
struct MatchCandidate {
    int answer = 0;    ///< index from 0
    int truth = 0;     ///< index from 0
    double cost = 0.0; ///< finite, >= 0
};

/// The one best matching: as many pairs as can be, and among these the smallest sum of costs. Each
/// answer and each truth is in one pair at most; only candidates are ever paired.
/// \return the pairs used, in order of the answer. Candidates fall into groups that do not touch,
///         each solved alone, so that long lists stay quick.
[[nodiscard]] std::vector<MatchCandidate> best_matching(std::span<const MatchCandidate> candidates);

} // namespace lull
