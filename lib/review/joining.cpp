// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/joining.hpp"

#include <iterator>
#include <utility>

namespace lull {
namespace {

template <class Part>
void join_parts(std::vector<Part>& whole, std::vector<Part>&& next) {
    if (whole.empty()) {
        whole = std::move(next);
        return;
    }
    for (std::size_t c = 0; c < next.size(); ++c)
        whole[c].append(next[c]);
}

template <class Part>
void append_parts(std::vector<Part>& whole, const std::vector<Part>& next) {
    whole.resize(next.size());
    for (std::size_t c = 0; c < next.size(); ++c)
        append(whole[c], next[c]);
}

} // namespace

void join(UnitResult& whole, UnitResult&& next) {
    join_parts(whole.health, std::move(next.health));
    join_parts(whole.levels, std::move(next.levels));
    append_parts(whole.courses, next.courses);
    append_parts(whole.scores, next.scores);
    whole.arrivals.insert(whole.arrivals.end(), std::make_move_iterator(next.arrivals.begin()),
                          std::make_move_iterator(next.arrivals.end()));
}

} // namespace lull
