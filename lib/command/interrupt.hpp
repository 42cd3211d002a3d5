// SPDX-License-Identifier: GPL-3.0-or-later
//
// SIGINT, SIGTERM and SIGHUP become a flag that passes ask after; a second one ends the process at
// once.
#pragma once

namespace lull {

/// Installs the handlers. A hang-up that the process was started to ignore (nohup) stays ignored. A
/// file that grows beyond the process's limit is a write that fails, not a signal that kills.
/// SIGPIPE keeps its default: a closed pipe ends a tool quietly.
void watch_for_interrupts();

/// The signal that asked the process to end, or 0.
[[nodiscard]] int interrupt_signal();

/// \throws Interrupted when one arrived
void throw_if_interrupted();

} // namespace lull
