#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What searching again for a clear series gives: recall of weak repeats against SNR, with and without.

    scripts/measure_repeats.py BUILD [--scenes N] [--first SEED] [--state FILE]

Scenes of 120 s on four channels: a site's noise, one source that gives a clear group of four knocks and
then groups of two or three at -9 to +9 dB; blows differ in their contact by 30 %. Without the search
stands the first pass's own running score, its threshold set in each scene so that it gives as many false
alarms there as the repeats of confidence 0.5 and more. SNR as everywhere: largest 50 ms over the noise, in 60-2000 Hz, on the
best channel.
"""
import argparse
import csv
import json
import pathlib
import re
import subprocess
import sys
import tempfile
from multiprocessing import Pool

import numpy as np
from scipy import signal
from scipy.io import wavfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE / "hearing"))

from rates import upper_rate, wilson  # noqa: E402

sys.path.insert(0, str(HERE / "train"))

import scenes  # noqa: E402

SECONDS, CHANNELS, CLEAR_DB, NEAR_S = 120, 4, 20.0, 0.05
SNRS = [-9, -6, -3, 0, 3, 6, 9]
RATE = scenes.RATE


def rows_of(path):
    with open(path, newline="", encoding="utf-8") as file:
        return [{k: float(v) if k in ("onset_s", "confidence") else v for k, v in row.items()}
                for row in csv.DictReader(file)]


def blow(rng, width_s):
    width = max(2, int(RATE * width_s * np.exp(0.3 * rng.standard_normal())))
    pulse = np.zeros(int(0.05 * RATE))
    pulse[:width] = np.sin(np.pi * np.arange(width) / width)
    return pulse


def scene(seed, kind):
    """Samples (channels x frames), clear times, and (time, snr_db) of the weak ones."""
    rng = np.random.default_rng(seed)
    n = SECONDS * RATE
    common, _ = scenes.site(rng, kind, SECONDS)
    x = np.zeros((CHANNELS, n))
    own = [scenes.coloured(rng, n, rng.uniform(0, 1.5)) for _ in range(CHANNELS)]
    for c in range(CHANNELS):
        path = np.zeros(400)
        path[rng.integers(0, 300)] = 1.0
        path += 0.15 * rng.standard_normal(400) * np.exp(-np.arange(400) / 60)
        x[c] = signal.oaconvolve(common, path)[:n] + 0.01 * rng.uniform(0.3, 1.0) * own[c]
    noise = [np.median(scenes.in_band(x[c])[:n // 800 * 800].reshape(-1, 800).__pow__(2).mean(axis=1))
             for c in range(CHANNELS)]
    ways = [np.concatenate([np.zeros(rng.integers(0, 400)), scenes.structure(rng)]) for _ in x]
    gains = 10 ** (-rng.uniform(0, 15, CHANNELS) / 20)
    gains[rng.integers(CHANNELS)] = 1.0
    width_s = np.exp(rng.uniform(np.log(0.0004), np.log(0.003)))
    ways = [way * gain / np.sqrt(scenes.peak_energy(signal.oaconvolve(blow(rng, width_s), way)))
            * np.sqrt(noise[c]) for c, (way, gain) in enumerate(zip(ways, gains))]

    def lay(at, snr_db):
        pulse = blow(rng, width_s)
        sounds = [signal.oaconvolve(pulse, way) for way in ways]
        best = max(scenes.peak_energy(sound) / noise[c] for c, sound in enumerate(sounds))
        for c, sound in enumerate(sounds):
            scenes.put(x[c], sound, at, np.sqrt(10 ** (snr_db / 10) / best))

    clear, weak, at = [], [], rng.uniform(15, 25)
    interval = rng.uniform(0.35, 0.9)
    for _ in range(4):
        lay(at, CLEAR_DB + rng.normal(0, 1.5))
        clear.append(at)
        at += interval * rng.uniform(0.93, 1.07)
    at += rng.uniform(5, 9)
    while at < SECONDS - 8:
        snr = float(rng.choice(SNRS))
        for _ in range(rng.integers(2, 4)):
            lay(at, snr)
            weak.append((at, snr))
            at += interval * rng.uniform(0.9, 1.1)
        at += rng.uniform(4, 9)
    return x, clear, weak


def one(job):
    build, seed, kind = job
    x, clear, weak = scene(seed, kind)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        path = folder / "scene.wav"
        wavfile.write(path, RATE, np.round(x.T * 12000 / np.abs(x).max()).astype(np.int16))
        subprocess.run([str(pathlib.Path(build) / "lull-detect"), str(path), "--quiet", "--jobs", "1",
                        "--list-from", "0", "-o", str(folder / "events.csv"),
                        "--tracks", str(folder / "tracks.csv")], check=True)
        events = rows_of(folder / "events.csv")
        tracks = [(float(r["from_s"]), float(r["impulse_score"] or 0))
                  for r in rows_of(folder / "tracks.csv")]
    best = {}
    for t, s in tracks:
        best[t] = max(s, best.get(t, 0.0))
    found = []
    for event in events:
        like = re.search(r"like series (\d+): correlation ([\d.]+), ([\d.]+) dB", event["why"])
        if like:
            found.append({"at": event["onset_s"], "series": like[1], "r": float(like[2]),
                          "s": float(like[3]), "new": event["why"].startswith("found again"),
                          "p": event["confidence"]})
    return {"seed": seed, "site": kind, "clear": clear, "weak": weak, "found": found,
            "events": [(e["onset_s"], e["confidence"], e["kind"]) for e in events],
            "score": sorted(best.items())}


def near(at, times, within=NEAR_S):
    return any(abs(at - t) < within for t in times)


def templated(row):
    return bool(row["found"])


def peaks_outside(row):
    """Peaks of the running score away from every knock, at most one in half a second."""
    known = row["clear"] + [t for t, _ in row["weak"]]
    kept, last = [], -9.0
    for t, s in row["score"]:
        if near(t + 0.05, known, 0.4):
            continue
        if t - last < 0.5:
            kept[-1] = max(kept[-1], s)
        else:
            kept.append(s)
            last = t
    return kept


def report(rows):
    usable = [row for row in rows if templated(row)]
    print(f"a template was made in {len(usable)} of {len(rows)} scenes")
    hours = len(usable) * SECONDS / 3600
    limits, false = [], 0
    for row in usable:
        true = row["clear"] + [t for t, _ in row["weak"]]
        own = sum(f["p"] >= 0.5 and not near(f["at"], true) for f in row["found"])
        false += own
        outside = sorted(peaks_outside(row), reverse=True)
        limits.append(outside[own] if own < len(outside) else 0.0)
    print(f"false repeats of confidence 0.5 and more: {false} in {hours:.2f} h "
          f"(at most {upper_rate(false, hours):.1f} an hour)")
    print("SNR dB    knocks   the first pass's score   listed for other reasons   listed with the search")
    for snr in SNRS:
        scored = before = after = count = 0
        for row, limit in zip(usable, limits):
            again = [f["at"] for f in row["found"]]
            sure = [o for o, c, kind in row["events"] if c >= 0.5 and kind == "tapping"]
            for t, s in row["weak"]:
                if s != snr:
                    continue
                count += 1
                scored += any(v > limit for u, v in row["score"] if -0.1 <= u - t < 0.06)
                before += near(t, [o for o in sure if not near(o, again, 1e-6)])
                after += near(t, sure)
        words = []
        for hits in (scored, before, after):
            low, high = wilson(hits, count)
            words.append(f"{hits / max(1, count):.2f} ({max(0.0, low):.2f}-{high:.2f})")
        print(f"{snr:5d} {count:9d} {words[0]:>24s} {words[1]:>27s} {words[2]:>18s}")
    said, true = [], []
    for row in usable:
        for f in row["found"]:
            if not near(f["at"], row["clear"]):
                said.append(f["p"])
                true.append(near(f["at"], [t for t, _ in row["weak"]]))
    said, true = np.array(said), np.array(true, float)
    for low in np.arange(0, 1, 0.1):
        inside = (said >= low) & (said < low + 0.1)
        if inside.any():
            print(f"  confidence {said[inside].mean():.2f}: true {true[inside].mean():.2f} of {inside.sum()}")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("build")
    parser.add_argument("--scenes", type=int, default=51)
    parser.add_argument("--first", type=int, default=750000,
                        help="first seed (looked at while it was made: 700000, 720000, 730000)")
    parser.add_argument("--state", help="keep what was heard in this file, and use it when it is there")
    options = parser.parse_args()
    if options.state and pathlib.Path(options.state).exists():
        rows = json.loads(pathlib.Path(options.state).read_text())
    else:
        with Pool(2) as pool:
            jobs = [(options.build, options.first + k, scenes.SITES[k % len(scenes.SITES)])
                    for k in range(options.scenes)]
            rows = []
            for row in pool.imap(one, jobs):
                rows.append(row)
                if sys.stderr.isatty():
                    print(f"\r{len(rows)} of {len(jobs)} scenes", end="", file=sys.stderr)
        if options.state:
            pathlib.Path(options.state).write_text(json.dumps(rows))
    report(rows)


if __name__ == "__main__":
    sys.exit(main())
