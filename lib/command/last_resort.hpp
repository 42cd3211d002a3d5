// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exception that nobody catches ends a tool in order: one message and status 1, no core dump.
#pragma once

namespace lull {

/// Does so for an exception that leaves main, a thread or a destructor, from before main on.
/// Allocates nothing. Unfinished output stays; the next run of the same command removes it.
class LastResort {
  public:
    LastResort() noexcept;
};

} // namespace lull
