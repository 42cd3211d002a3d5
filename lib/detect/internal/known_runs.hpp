// SPDX-License-Identifier: GPL-3.0-or-later
//
// The runs of all chains, by time, and of them the steady ones: what ticks, drips, hammers or turns
// by itself. Impulses of a steady source say nothing about a group that sounds unlike it.
#pragma once

#include "detect/event.hpp"
#include "detect/internal/rhythm.hpp"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace lull {

/// A run of taps, or a part of a long one.
struct KnownRun {
    double from_s = 0.0, to_s = 0.0;
    double taps = 0.0; ///< of the whole run
    bool steady = false;
    std::size_t chain = 0;                ///< the first event of its chain, by which it is known
    std::span<const std::size_t> members; ///< events, rising

    [[nodiscard]] std::size_t middle() const { return members[members.size() / 2]; }
};

class KnownRuns {
  public:
    explicit KnownRuns(const std::vector<Event>& events) : events_(events) {}

    /// Remembers the groups of two taps or more. \param chains outlive this
    void add(const std::vector<Chain>& chains);

    /// Runs that begin within the reach of a time, or as much earlier as a part may last.
    [[nodiscard]] std::span<const KnownRun> near(double time_s, double reach_s) const;

    /// Those of the impulses that may speak against a group: all but those of steady sources that
    /// it sounds unlike.
    /// \param impulses indices of events, rising
    /// \param chain    the first event of the group's chain
    [[nodiscard]] std::vector<std::size_t> rivals(std::span<const std::size_t> impulses,
                                                  std::span<const std::size_t> taps,
                                                  std::size_t chain) const;

  private:
    [[nodiscard]] double likeness(const KnownRun& run, std::span<const std::size_t> taps) const;

    const std::vector<Event>& events_;
    std::vector<KnownRun> runs_;          ///< by from_s
    std::vector<std::int32_t> steady_of_; ///< for each event, the steady run it is of, or -1
};

} // namespace lull
