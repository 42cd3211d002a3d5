// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/match.hpp"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <map>
#include <numeric>

namespace lull {
namespace {

constexpr double unreached = std::numeric_limits<double>::infinity();

/// Adds rows one by one. Each row finds the shortest alternating path to a free column under
/// reduced costs, which the potentials keep non-negative. Column 0 is a dummy from which each path
/// starts.
class ShortestPaths {
  public:
    ShortestPaths(std::span<const double> costs, int rows, int columns)
        : costs_(costs), columns_(columns), row_potential_(size(rows), 0.0),
          column_potential_(size(columns), 0.0), row_of_(size(columns), 0),
          before_(size(columns), 0) {}

    void add(int row) {
        row_of_[0] = row;
        std::vector<double> distance(size(columns_), unreached);
        std::vector<char> done(size(columns_), 0);
        int column = 0;
        do {
            done[at(column)] = 1;
            column = step(column, distance, done);
        } while (row_of_[at(column)] != 0);
        while (column != 0) {
            row_of_[at(column)] = row_of_[at(before_[at(column)])];
            column = before_[at(column)];
        }
    }

    [[nodiscard]] int row_of(int column) const { return row_of_[at(column)]; }

  private:
    static std::size_t at(int index) { return static_cast<std::size_t>(index); }
    static std::size_t size(int count) { return static_cast<std::size_t>(count) + 1; }
    [[nodiscard]] double cost(int row, int column) const {
        return costs_[at(row - 1) * at(columns_) + at(column - 1)];
    }

    /// Relaxes from one column and returns the nearest open one.
    int step(int from, std::vector<double>& distance, const std::vector<char>& done) {
        const int row = row_of_[at(from)];
        double nearest = unreached;
        int next = 0;
        for (int column = 1; column <= columns_; ++column) {
            if (done[at(column)]) continue;
            const double reduced =
                cost(row, column) - row_potential_[at(row)] - column_potential_[at(column)];
            if (reduced < distance[at(column)]) {
                distance[at(column)] = reduced;
                before_[at(column)] = from;
            }
            if (distance[at(column)] < nearest) {
                nearest = distance[at(column)];
                next = column;
            }
        }
        for (int column = 0; column <= columns_; ++column) {
            if (done[at(column)]) {
                row_potential_[at(row_of_[at(column)])] += nearest;
                column_potential_[at(column)] -= nearest;
            } else {
                distance[at(column)] -= nearest;
            }
        }
        return next;
    }

    std::span<const double> costs_;
    int columns_;
    std::vector<double> row_potential_, column_potential_;
    std::vector<int> row_of_; ///< of each column, from 1; 0: free
    std::vector<int> before_; ///< the preceding column on the path
};

/// Connected groups of candidates that share answers or truths.
std::vector<std::vector<MatchCandidate>> groups_of(std::span<const MatchCandidate> candidates) {
    std::map<int, int> first_with_truth, first_with_answer;
    std::vector<int> parent(candidates.size());
    std::iota(parent.begin(), parent.end(), 0);
    const auto root = [&](int i) {
        while (parent[static_cast<std::size_t>(i)] != i)
            i = parent[static_cast<std::size_t>(i)];
        return i;
    };
    const auto join = [&](std::map<int, int>& first, int key, int i) {
        const int other = root(first.try_emplace(key, i).first->second);
        const int own = root(i);
        parent[static_cast<std::size_t>(std::max(own, other))] = std::min(own, other);
    };
    for (std::size_t i = 0; i < candidates.size(); ++i) {
        join(first_with_truth, candidates[i].truth, static_cast<int>(i));
        join(first_with_answer, candidates[i].answer, static_cast<int>(i));
    }
    std::map<int, std::vector<MatchCandidate>> by_root;
    for (std::size_t i = 0; i < candidates.size(); ++i)
        by_root[root(static_cast<int>(i))].push_back(candidates[i]);
    std::vector<std::vector<MatchCandidate>> groups;
    for (auto& [unused, group] : by_root)
        groups.push_back(std::move(group));
    return groups;
}

std::map<int, int> numbered(const std::vector<MatchCandidate>& group, int MatchCandidate::*key) {
    std::map<int, int> numbers;
    for (const MatchCandidate& c : group)
        numbers.try_emplace(c.*key, 0);
    int next = 0;
    for (auto& [unused, number] : numbers)
        number = next++;
    return numbers;
}

/// A missing pair costs more than all candidates together, so that one more pair always wins.
void solve(const std::vector<MatchCandidate>& group, std::vector<MatchCandidate>& pairs) {
    const std::map<int, int> rows = numbered(group, &MatchCandidate::answer);
    const std::map<int, int> columns = numbered(group, &MatchCandidate::truth);
    double no_pair = 1.0;
    for (const MatchCandidate& c : group)
        no_pair += c.cost;
    std::vector<double> costs(rows.size() * columns.size(), no_pair);
    std::vector<int> used(costs.size(), -1);
    for (std::size_t i = 0; i < group.size(); ++i) {
        const std::size_t cell =
            static_cast<std::size_t>(rows.at(group[i].answer)) * columns.size() +
            static_cast<std::size_t>(columns.at(group[i].truth));
        if (group[i].cost < costs[cell]) {
            costs[cell] = group[i].cost;
            used[cell] = static_cast<int>(i);
        }
    }
    const std::vector<int> column_of =
        assign(costs, static_cast<int>(rows.size()), static_cast<int>(columns.size()));
    for (std::size_t row = 0; row < column_of.size(); ++row) {
        if (column_of[row] < 0) continue;
        const int candidate = used[row * columns.size() + static_cast<std::size_t>(column_of[row])];
        if (candidate >= 0) pairs.push_back(group[static_cast<std::size_t>(candidate)]);
    }
}

} // namespace

std::vector<int> assign(std::span<const double> costs, int rows, int columns) {
    std::vector<int> column_of(static_cast<std::size_t>(rows), -1);
    if (rows == 0 || columns == 0) return column_of;
    if (rows > columns) { // the method needs the shorter side as rows
        std::vector<double> turned(costs.size());
        for (std::size_t r = 0; r < static_cast<std::size_t>(rows); ++r)
            for (std::size_t c = 0; c < static_cast<std::size_t>(columns); ++c)
                turned[c * static_cast<std::size_t>(rows) + r] =
                    costs[r * static_cast<std::size_t>(columns) + c];
        const std::vector<int> row_of = assign(turned, columns, rows);
        for (std::size_t c = 0; c < row_of.size(); ++c)
            column_of[static_cast<std::size_t>(row_of[c])] = static_cast<int>(c);
        return column_of;
    }
    ShortestPaths paths(costs, rows, columns);
    for (int row = 1; row <= rows; ++row)
        paths.add(row);
    for (int column = 1; column <= columns; ++column)
        if (paths.row_of(column) != 0)
            column_of[static_cast<std::size_t>(paths.row_of(column) - 1)] = column - 1;
    return column_of;
}

std::vector<MatchCandidate> best_matching(std::span<const MatchCandidate> candidates) {
    std::vector<MatchCandidate> pairs;
    for (const std::vector<MatchCandidate>& group : groups_of(candidates))
        solve(group, pairs);
    std::sort(pairs.begin(), pairs.end(),
              [](const MatchCandidate& a, const MatchCandidate& b) { return a.answer < b.answer; });
    return pairs;
}

} // namespace lull
