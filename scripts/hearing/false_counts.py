# SPDX-License-Identifier: GPL-3.0-or-later
"""lib/detect/false_counts.hpp, from a run of the bench: the confidences above which there were so many false
finds an hour, for --false-per-hour. At every rate at most 1 % of other time is marked (rates.py)."""
import rates
from finds import KINDS

PER_HOUR = (1, 3, 10, 30)


def header(scenes, arguments):
    out = ["// SPDX-License-Identifier: GPL-3.0-or-later", "//", "// Not to be edited. Written by:",
           f"//   scripts/evaluate {arguments}", "#pragma once", "", "#include <array>", "", "namespace lull {", "",
           "/// From this confidence on there were so many false finds of a kind an hour.",
           "struct FalseCount {", "    double per_hour = 0.0, confidence = 0.0;", "};", "", "// clang-format off"]
    for kind in KINDS:
        tally = rates.Tally(scenes, kind)
        rows = ", ".join(f"{{{float(rate)}, {min(1.0, tally.threshold(rate)):.3f}}}" for rate in PER_HOUR)
        out.append(f"inline constexpr std::array<FalseCount, {len(PER_HOUR)}> "
                   f"{kind.replace('-', '_')}_false{{{{{rows}}}}};")
    return "\n".join(out + ["// clang-format on", "", "} // namespace lull", ""])


def write(path, rows, arguments):
    scenes = [row["judged"]["lull/all"] for row in rows]
    path.write_text(header(scenes, arguments), encoding="utf-8")
