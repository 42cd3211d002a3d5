// SPDX-License-Identifier: GPL-3.0-or-later
//
// A command of the user's, run when there is something to say.
#pragma once

#include <string>
#include <vector>

namespace lull {

inline constexpr double notify_most_s = 30.0;

/// Runs a program with each text as an argument of its own. No shell is involved, so whatever a
/// text holds is data. The program gets no standard input, writes to standard error, and is ended,
/// with its group, after notify_most_s or when this process is asked to end.
/// \param command  path of the program, or its name on the PATH
/// \return what went wrong, for a person; empty: nothing
/// \throws Interrupted
[[nodiscard]] std::string run_command(const std::string& command,
                                      const std::vector<std::string>& texts);

} // namespace lull
