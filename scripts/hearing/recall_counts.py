# SPDX-License-Identifier: GPL-3.0-or-later
"""lib/locate/recall_counts.hpp, from a run of the bench: how many sounds were listed, for lull-audibility.

A sound is counted with every array that heard it (one channel, three, all), at the SNR of the best channel
of that array and at the confidence that counts in headlines.
"""
from collections import Counter

import score
from hearing_cells import MACHINES, SNRS, WEATHER, nearest_snr

NAMES = {"tapping": "knock_counts", "voice-like": "voice_counts"}
FEWEST_CHANNELS = (1, 3, 5)  # of each group
REACH_DB = 3  # beyond the outermost SNRs


def ground_of(scene):
    if scene["ground"] == "calm":
        return "calm"
    return "machines" if scene["ground"] in MACHINES else "weather" if scene["ground"] in WEATHER else "people"


def counts_of(rows, label="lull"):
    """(kind, ground, fewest channels, SNR) to (heard, of)."""
    of, heard = Counter(), Counter()
    for row in rows:
        for key, scene in row["judged"].items():
            if key.split("/")[0] != label:
                continue
            fewest = max(n for n in FEWEST_CHANNELS if n <= scene["channels"])
            for sound in scene["sounds"]:
                snr_db = sound["heard_snr_db"]
                if sound["kind"] not in NAMES or snr_db is None or not (
                        SNRS[0] - REACH_DB <= snr_db <= SNRS[-1] + REACH_DB):
                    continue
                cell = (sound["kind"], ground_of(scene), fewest, nearest_snr(snr_db))
                of[cell] += 1
                heard[cell] += sound["confidence"] >= score.COUNTED
    return {cell: (heard[cell], of[cell]) for cell in sorted(of)}


def header(counts, most_channels, arguments):
    out = ["// SPDX-License-Identifier: GPL-3.0-or-later", "//", "// Not to be edited. Written by:",
           f"//   scripts/evaluate {arguments}", "#pragma once", "", '#include "locate/recall_curve.hpp"', "",
           "#include <array>", "", "namespace lull {", "", "// clang-format off",
           f"inline constexpr int most_counted_channels = {most_channels};"]
    for kind, name in NAMES.items():
        cells = [(cell[1:], hits) for cell, hits in counts.items() if cell[0] == kind]
        out.append(f"inline constexpr std::array<RecallCount, {len(cells)}> {name}{{{{")
        out += [f"    {{RecallGround::{ground}, {fewest}, {float(snr)}, {heard}, {of}}},"
                for (ground, fewest, snr), (heard, of) in cells]
        out.append("}};")
    return "\n".join(out + ["// clang-format on", "", "} // namespace lull", ""])


def write(path, rows, arguments):
    most = max(scene["channels"] for row in rows for scene in row["judged"].values())
    path.write_text(header(counts_of(rows), most, arguments), encoding="utf-8")
