// SPDX-License-Identifier: GPL-3.0-or-later
//
// What no handler catches ends a tool in order: one line and status 1, not a core dump.
#pragma once

namespace lull {

/// From its construction on, an exception that leaves main, a thread or a destructor ends the
/// process so. Allocates nothing. What was being written stays unfinished, and the next run of the
/// same command clears it away.
class LastResort {
  public:
    LastResort() noexcept;
};

} // namespace lull
