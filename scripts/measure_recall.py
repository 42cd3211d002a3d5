#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Counts how often lull-detect lists a group of knocks or a voice against its SNR, for lull-audibility.

    scripts/measure_recall.py BUILD --scenes N [--write]       makes N scenes an SNR and kind, by turns of site
    scripts/measure_recall.py --state FILE [--write]           counts those that scripts/evaluate kept with --state

Prints the counts; --write puts them into lib/locate/recall_counts.hpp, with the command that gave them. Seeds
from 900000 on: in no fit, no tuning and not among those of scripts/evaluate. A group of knocks, or a voice, is
heard when an event of its kind with confidence 0.5 and more answers it (scripts/evaluation/score.py). SNR: of
the best channel, 50 ms peak energy or the louder half of a voice, as docs of lull-detect have it.
"""
import argparse
import json
import pathlib
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "scripts/train"), str(ROOT / "scripts/evaluation")]

import listen  # noqa: E402
import scenes  # noqa: E402
import score  # noqa: E402

SNRS = [-6, -3, 0, 3, 5, 6, 10, 15, 20]
SCENE_S, FIRST_SEED = 100, 900000
KINDS = {"knocks": ("knock", "tapping"), "voices": ("voice", "voice-like")}


def made(build, count):
    """Rows like those of scripts/evaluate."""
    seed, speech = FIRST_SEED, scenes.SPEECH[1::2]
    for what in KINDS:
        for s, snr in enumerate(SNRS):
            for k in range(count):
                site = scenes.SITES[(k + s * count) % len(scenes.SITES)]
                x, truth = scenes.scene(seed, site, SCENE_S, what, snr, files=speech)[:2]
                seed += 1
                with tempfile.TemporaryDirectory() as folder:
                    path = listen.write_scene(pathlib.Path(folder), x, scenes.RATE)
                    events, _ = listen.detect(build, path, folder)
                yield {"job": {"what": what, "snr": snr, "set": "made"}, "events": events,
                       "truth": [dict(zip(("from_s", "end_s", "kind", "snr", "taps"), row)) for row in truth]}


def counts_of(rows):
    counts = {}
    for row in rows:
        what = row["job"]["what"]
        if what not in KINDS or row["job"]["set"] != "made":
            continue
        for truth in row["truth"]:
            key = (what, row["job"]["snr"])
            heard, of = counts.get(key, (0, 0))
            counts[key] = heard + (score.found(truth, row["events"], KINDS[what][1]) is not None), of + 1
    return counts


def header(counts, command):
    out = ["// SPDX-License-Identifier: GPL-3.0-or-later", "//",
           "// Written by scripts/measure_recall.py; not to be edited. The command:",
           f"//   {command}", "#pragma once", "", '#include "locate/recall_curve.hpp"', "", "#include <array>", "",
           "namespace lull {", ""]
    for what, (name, _) in KINDS.items():
        rows = sorted((snr, c) for (w, snr), c in counts.items() if w == what)
        out.append(f"inline constexpr std::array<RecallCount, {len(rows)}> {name}_counts{{{{")
        out += [f"    {{{float(snr)}, {heard}, {of}}}," for snr, (heard, of) in rows]
        out += ["}};"]
    return "\n".join(out + ["", "} // namespace lull", ""])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("build", nargs="?", default="build")
    parser.add_argument("--scenes", type=int, default=34)
    parser.add_argument("--state", help="rows that scripts/evaluate kept")
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    if options.state:
        with open(options.state, encoding="utf-8") as file:
            rows = [json.loads(line) for line in file]
        rows = [row for row in rows if row["tool"] == rows[-1]["tool"]]
        command = "scripts/evaluate BUILD --state FILE; scripts/measure_recall.py --state FILE --write"
    else:
        rows = made(options.build, options.scenes)
        command = f"scripts/measure_recall.py BUILD --scenes {options.scenes} --write    (seeds from {FIRST_SEED} on)"
    counts = counts_of(rows)
    for (what, snr), (heard, of) in sorted(counts.items()):
        low, high = score.wilson(heard, of)
        print(f"{what} {snr:3d} dB {heard}/{of} = {heard / of:.3f} [{low:.3f}-{high:.3f}]")
    if options.write:
        (ROOT / "lib/locate/recall_counts.hpp").write_text(header(counts, command), encoding="utf-8")


if __name__ == "__main__":
    main()
