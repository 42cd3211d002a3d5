#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The grounds of scripts/bench: exercise plans of six channels at 16 kHz, 24 bit, that differ in what
the site does. Seeded: the same bytes every time from one build.

Usage: bench_grounds.py GROUND SECONDS FOLDER   makes FOLDER/trainee/recording.wav with build/lull-exercise
"""
import json
import os
import subprocess
import sys

PLACES = {"stairwell": [0, 0, 0], "north-slab": [6, 8, 0.5], "lift-shaft": [12, 1, 0], "ramp-edge": [13, 11, 1],
          "cellar-door": [3, 13, -1], "void-mic": [7, 5, -2]}
AREA = [[1, 12], [0, 11], [-3, -0.5]]
AMBIENT = {"kind": "ambient", "level_db": -62, "air_level_db": -60}

# What sounds on each ground beside the same knocks and calls.
SITES = {
    "calm": [AMBIENT],
    "rain": [AMBIENT, {"kind": "rain", "level_db": -52}, {"kind": "wind", "level_db": -58},
             *({"kind": "drips", "level_db": level, "interval_s": interval}
               for level, interval in ((-48, 0.31), (-50, 0.47), (-52, 0.73), (-54, 1.1), (-50, 1.9)))],
    "engine": [AMBIENT, {"kind": "generator", "position_m": [-12, 9, 0], "level_db": -42, "stops_in_quiet": False},
               {"kind": "traffic", "level_db": -52, "stops_in_quiet": False},
               {"kind": "breaker", "level_db": -40, "stops_in_quiet": False}],
    "people": [AMBIENT, {"kind": "traffic", "level_db": -58},
               *({"kind": kind, "level_db": level}
                 for kind, level in (("hand-tools", -40), ("hand-tools", -44), ("breaker", -46), ("footsteps", -44),
                                     ("footsteps", -48), ("debris", -46))),
               {"kind": "radio", "level_db": -46, "interval_s": 8}],
}
TALK_S = 12.0  # on ground where people work, somebody calls or speaks so often


def plan_of(ground, seconds):
    """A plan as lull-exercise reads it."""
    sounds = [{"kind": "knocks", "repeat": max(1, round(seconds / 60)), "count": [3, 5], "interval_s": [0.4, 0.9]},
              {"kind": ["call", "cry"], "repeat": max(1, round(seconds / 120))}]
    if ground == "people":
        sounds.append({"kind": ["call", "murmur", "movement", "scratching"], "repeat": round(seconds / TALK_S)})
    for sound in sounds:
        sound.update({"time_s": [4, seconds - 12], "position_m": AREA, "snr_db": [8, 20]})
    return {"format": "lull-plan", "version": 1, "label": f"Bench, {ground}", "duration_s": seconds, "rate_hz": 16000,
            "seed": 20260314, "recording": "wav-24",
            "medium": {"structure": {"speed_m_s": [500, 1400], "speed_spread": 0.04, "tail_decay_s": 0.15},
                       "air": {"temperature_c": 12, "absorption_db_m": 0.5}},
            "channels": [{"name": name, "kind": "air" if name.endswith("mic") else "seismic", "position_m": place}
                         for name, place in PLACES.items()],
            "site": SITES[ground], "events": sounds}


def make(ground, seconds, folder):
    """The path of the ground's recording."""
    plan = folder + ".json"
    with open(plan, "w", encoding="utf-8") as file:
        json.dump(plan_of(ground, seconds), file)
    subprocess.run(["build/lull-exercise", plan, "-o", folder, "--quiet"], check=True)
    return os.path.join(folder, "trainee", "recording.wav")


if __name__ == "__main__":
    print(make(sys.argv[1], int(sys.argv[2]), sys.argv[3]))
