// SPDX-License-Identifier: GPL-3.0-or-later
//
// Eight channels side by side, for vector instructions.
#pragma once

#include <new>
#include <vector>

namespace lull {

inline constexpr int float_lanes = 8;
using FloatLanes = float __attribute__((vector_size(float_lanes * sizeof(float))));

/// Allocates storage that can be accessed as whole lanes.
template <class T>
struct LaneAllocator {
    using value_type = T;
    static constexpr std::align_val_t boundary{sizeof(FloatLanes)};
    LaneAllocator() = default;
    template <class U>
    explicit LaneAllocator(const LaneAllocator<U>&) {}
    T* allocate(std::size_t n) { return static_cast<T*>(::operator new(n * sizeof(T), boundary)); }
    void deallocate(T* storage, std::size_t) { ::operator delete(storage, boundary); }
    bool operator==(const LaneAllocator&) const { return true; }
};
using LaneVector = std::vector<float, LaneAllocator<float>>; ///< [frame * float_lanes + lane]

} // namespace lull
