// SPDX-License-Identifier: GPL-3.0-or-later
//
// Who ran which command when. It is the only part of an output that differs between equal runs.
#pragma once

#include <string>

namespace lull {

/// "2026-11-25T07:18:31Z user@machine lull-review a.wav -o out", on one line.
[[nodiscard]] std::string run_line(int argc, char** argv);
/// "2026-11-25T07:18:31Z lull-review": for a folder that must name neither people nor paths.
[[nodiscard]] std::string run_line(const std::string& tool);

} // namespace lull
