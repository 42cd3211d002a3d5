// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pieces of work that do not depend on one another, for a caller that has threads.
#pragma once

#include <cstddef>
#include <functional>

namespace lull {

/// Does `work` for each number from 0 to count - 1, in any order, perhaps several at a time.
using ForEach =
    std::function<void(std::size_t count, const std::function<void(std::size_t)>& work)>;

inline void one_by_one(std::size_t count, const std::function<void(std::size_t)>& work) {
    for (std::size_t i = 0; i < count; ++i)
        work(i);
}

} // namespace lull
