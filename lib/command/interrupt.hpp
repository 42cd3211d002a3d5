// SPDX-License-Identifier: GPL-3.0-or-later
//
// SIGINT, SIGTERM and SIGHUP set a flag that passes check. A second signal ends the process at
// once.
#pragma once

namespace lull {

/// Installs the handlers. SIGHUP stays ignored if the process was started so (nohup). A file that
/// exceeds the process's size limit is a failed write and not a fatal signal. SIGPIPE keeps its
/// default action: a closed pipe ends a tool quietly.
void watch_for_interrupts();

/// The signal that asked the process to end, or 0.
[[nodiscard]] int interrupt_signal();

/// \throws Interrupted if a signal has arrived
void throw_if_interrupted();

} // namespace lull
