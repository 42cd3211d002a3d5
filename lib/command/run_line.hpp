// SPDX-License-Identifier: GPL-3.0-or-later
//
// Who ran what when: the one thing about a run that is not part of its result.
#pragma once

#include <string>

namespace lull {

/// "2026-11-25T07:18:31Z user@machine lull-review a.wav -o out", on one line.
[[nodiscard]] std::string run_line(int argc, char** argv);
/// "2026-11-25T07:18:31Z lull-review": for a folder that is to name neither people nor paths.
[[nodiscard]] std::string run_line(const std::string& tool);

} // namespace lull
