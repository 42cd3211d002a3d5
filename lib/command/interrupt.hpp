// SPDX-License-Identifier: GPL-3.0-or-later
//
// SIGINT and SIGTERM become a flag that passes ask after; a second one ends the process at once.
#pragma once

namespace lull {

/// Installs the handlers. SIGPIPE keeps its default: a closed pipe ends a tool quietly.
void watch_for_interrupts();

/// The signal that asked the process to end, or 0.
[[nodiscard]] int interrupt_signal();

/// \throws Interrupted when one arrived
void throw_if_interrupted();

} // namespace lull
