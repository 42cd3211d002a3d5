#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether somebody who knocks on is listed, and what else that keeps a beat is listed too.

    scripts/evaluation/knocking_on.py BUILD [--tries N] [--scenes N] [--jobs N]

Four sensors in quiet noise. Recorded blows of one object (data/sounds.json, side `report`): 5 to 40 of
them, 0.3 to 6 s apart as a hand keeps it (off by 2 to 8 %), at 6 to 20 dB. Then made sounds that are no
knocks, 100 s of one source each. SNR as everywhere: largest 50 ms over the noise, in 60-2000 Hz, on the
best channel. Recorded sounds are unpacked by `scripts/setup sounds`; nothing is fitted to these scenes.
"""
import argparse
import csv
import functools
import json
import pathlib
import subprocess
import sys
import tempfile
import zlib
from multiprocessing import Pool

import numpy as np
from scipy.io import wavfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "train"), str(HERE), str(HERE.parent / "hearing")]

import beats  # noqa: E402
import sounds  # noqa: E402

RATE, CHANNELS, NEAR_S, LISTED = beats.RATE, beats.CHANNELS, 0.1, 0.5
INTERVALS_S, COUNTS, SNRS_DB = (0.3, 0.5, 0.6, 0.9, 2.5, 4.0, 6.0), (5, 8, 24, 40), (6.0, 10.0, 15.0, 20.0)
LONGEST_S = 120.0


def cells():
    return [(interval_s, count) for interval_s in INTERVALS_S for count in COUNTS
            if interval_s * (count - 1) + 20.0 <= LONGEST_S]


@functools.lru_cache(maxsize=None)
def objects():
    """The recorded blows of each object."""
    return [takes for _, takes in sorted(sounds.Sounds("report").by_source("knock").items())]


def blow(clip):
    x = clip.load(RATE).astype(float)
    loud = np.nonzero(np.abs(x) > 0.02 * np.abs(x).max())[0]
    return x[max(0, loud[0] - 16):loud[-1] + 1][:int(0.8 * RATE)]


def knocking(seed, count, interval_s, snr_db):
    """Samples (channels x frames), and the times of the blows."""
    rng = np.random.default_rng([seed, 1])
    takes = objects()[rng.integers(len(objects()))]
    jitter, spread_db = rng.uniform(0.02, 0.08), rng.uniform(0.5, 2.5)
    seconds = 12.0 + count * interval_s * 1.05 + 14
    x = beats.background(rng, seconds)
    floor = beats.floor_of(x)
    times, at = [], 12.0 + rng.uniform(0, 3)
    for _ in range(count):
        times.append(at)
        at += max(0.1, interval_s * (1 + jitter * rng.standard_normal()))
    times = [t for t in times if t < seconds - 3]
    place = beats.place(rng)
    blows = [blow(takes[rng.integers(len(takes))]) for _ in times]
    beats.lay(x, blows, place, times, floor * 10 ** ((snr_db + spread_db * rng.standard_normal(len(times))) / 10))
    return x, times


def listen(build, x):
    """All events and series."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder)
        wavfile.write(path / "scene.wav", RATE, np.round(x.T * 16000 / np.abs(x).max()).astype(np.int16))
        (path / "session.json").write_text(json.dumps(
            {"format": "lull-session", "version": 1, "recordings": [{"file": "scene.wav"}], "channels": [
                {"name": f"c{c}", "kind": "seismic", "track": c + 1} for c in range(CHANNELS)]}))
        tables = [path / "events.csv", path / "series.csv"]
        subprocess.run([build + "/lull-detect", path / "session.json", "--quiet", "--list-from", "0", "--jobs", "1",
                        "-o", tables[0], "--series", tables[1]], check=True)
        return [list(csv.DictReader(table.read_text().splitlines())) for table in tables]


def of_knocks(job):
    """The number of blows, of those listed as tapping, and of those listed only as `other`."""
    build, seed, interval_s, count, snr_db = job
    x, times = knocking(seed, count, interval_s, snr_db)
    events, _ = listen(build, x)
    listed = other = 0
    for at in times:
        near = [e for e in events if abs(float(e["onset_s"]) - at) < NEAR_S]
        kinds = {e["kind"] for e in near}
        listed += any(e["kind"] == "tapping" and float(e["confidence"]) >= LISTED for e in near)
        other += "tapping" not in kinds and "other" in kinds
    return len(times), listed, other


def of_others(job):
    """Seconds, and the number of listed series."""
    build, seed, name = job
    x = beats.scene(seed, name)
    _, series = listen(build, x)
    return x.shape[1] / RATE, sum(float(s["confidence"]) >= LISTED for s in series)


def show_knocks(build, tries, pool):
    print(f"blows listed as tapping with {LISTED} and more, named `other`, %; {tries} tries a cell")
    for interval_s, count in cells():
        line = f"{interval_s:3.1f} s x {count:2d}"
        for snr_db in SNRS_DB:
            jobs = [(build, zlib.crc32(f"{interval_s}{count}{snr_db}{n}0".encode()), interval_s, count, snr_db)
                    for n in range(tries)]
            there, listed, other = np.sum(pool.map(of_knocks, jobs), axis=0)
            line += f" | {snr_db:2.0f} dB: {100 * listed / there:3.0f} {100 * other / there:3.0f}"
        print(line, flush=True)


def show_others(build, scenes, pool):
    print(f"series listed with {LISTED} and more, an hour; {scenes} scenes of {beats.SECONDS} s each")
    for name in beats.SOURCES:
        seed = 7000 + 100 * list(beats.SOURCES).index(name)
        seconds, series = np.sum(pool.map(of_others, [(build, seed + n, name) for n in range(scenes)]), axis=0)
        print(f"{name:9s} {series * 3600 / seconds:4.0f}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build")
    parser.add_argument("--tries", type=int, default=5)
    parser.add_argument("--scenes", type=int, default=6)
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    if not objects():
        sys.exit("knocking_on.py: no recorded sounds are unpacked; run scripts/setup sounds, or set LULL_SOUNDS")
    with Pool(options.jobs) as pool:
        show_knocks(options.build, options.tries, pool)
        show_others(options.build, options.scenes, pool)


if __name__ == "__main__":
    main()
