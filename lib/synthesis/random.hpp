// SPDX-License-Identifier: GPL-3.0-or-later
//
// Random numbers of exercises, computed from a counter, so that each can be had by itself.
#pragma once

#include <cstdint>
#include <string_view>

namespace lull {

/// SplitMix64 [published: Steele, Lea & Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014] with a counter: the n-th number depends on key and n only. Children have their own
/// keys. Each thing in an exercise draws from its own sequence, so adding one thing changes no
/// other. Not for secrets.
class Random {
  public:
    explicit Random(std::uint64_t key) : key_(key) {}

    [[nodiscard]] static std::uint64_t scramble(std::uint64_t z) {
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
        return z ^ (z >> 31);
    }
    /// The n-th number of the sequence, all 64 bits.
    [[nodiscard]] std::uint64_t at(std::uint64_t n) const {
        return scramble(key_ + (n + 1) * 0x9e3779b97f4a7c15ULL);
    }
    std::uint64_t bits() { return at(counter_++); }
    double uniform() { return static_cast<double>(bits() >> 11) * 0x1p-53; } ///< [0, 1)
    double between(double low, double high) { return low + (high - low) * uniform(); }
    /// Uniform in the logarithm; 0 < low <= high.
    double between_log(double low, double high);
    /// Whole number from low to high, both included.
    int whole(int low, int high);
    double normal(); ///< mean 0, variance 1 [Box & Muller 1958]

    /// An independent sequence for the n-th or the named part.
    [[nodiscard]] Random child(std::uint64_t n) const;
    [[nodiscard]] Random child(std::string_view name) const;
    [[nodiscard]] std::uint64_t key() const { return key_; }

  private:
    std::uint64_t key_;
    std::uint64_t counter_ = 0;
};

} // namespace lull
