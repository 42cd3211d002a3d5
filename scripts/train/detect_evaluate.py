#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judges detection on seeded scenes that training never saw (seeds from 500000, other speech).

    scripts/train/detect_evaluate.py BUILD_FOLDER [--minutes M] [--scenes N]

Prints, at confidence 0.5: groups of knocks and voices found against SNR, with 95 % Wilson
intervals, over all sites; onset error; false events an hour per site type. Beside it the textbook
short-over-long-term detector [Allen 1978] at the threshold that gives the same false alarms.
"""
import argparse
import sys
from multiprocessing import Pool

import numpy as np

import scenes
from detect_weights import build, listen

FIRST_SEED = 500000
SNRS = [0, 3, 5, 6, 10, 15]
COLLAR_S, VOICE_COLLAR_S = 0.2, 1.0


def wilson(hits, n, z=1.96):
    if n == 0:
        return 0.0, 1.0
    p = hits / n
    mid, half = p + z * z / 2 / n, z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n)
    return (mid - half) / (1 + z * z / n), (mid + half) / (1 + z * z / n)


def short_over_long(x, short_s=0.02, long_s=1.0):
    """Peaks (time, ratio) of the ratio of a 20 ms to a 1 s mean power before it, in the band."""
    power = scenes.in_band(x) ** 2
    total = np.concatenate([[0], np.cumsum(power)])
    short, long = int(short_s * scenes.RATE), int(long_s * scenes.RATE)
    at = np.arange(long, len(power) - short, short // 4)
    ratio = (total[at + short] - total[at]) / short / ((total[at] - total[at - long]) / long + 1e-20)
    peaks = []
    for i in np.nonzero(ratio > 2)[0]:
        if peaks and at[i] / scenes.RATE - peaks[-1][0] < 0.1:
            if ratio[i] > peaks[-1][1]:
                peaks[-1] = (peaks[-1][0], ratio[i])
            continue
        peaks.append((at[i] / scenes.RATE, ratio[i]))
    return peaks


def one(job):
    binary, seed, site, what, snr, seconds = job
    x, truth = scenes.scene(seed, site, seconds, what, snr, files=scenes.SPEECH[1::2])
    sure = [r for r in listen(binary, x) if r["confidence"] >= 0.5]
    events = [r for r in sure if r["what"] == "event"]
    series = [r for r in sure if r["what"] == "series"]
    return site, what, snr, seconds, truth, events, series, short_over_long(x)


def hit(truth, events, kind):
    if kind == "tapping":
        return any(e["kind"] == kind and min(abs(e["on"] - t) for t in truth[4]) <= COLLAR_S
                   for e in events)
    return any(e["kind"] == kind and abs(e["on"] - truth[0]) <= VOICE_COLLAR_S for e in events)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build")
    parser.add_argument("--minutes", type=float, default=20, help="of nothing but noise, a site")
    parser.add_argument("--scenes", type=int, default=15, help="a kind and SNR, spread over the sites")
    options = parser.parse_args()
    binary = build(options.build)
    jobs, seed = [], FIRST_SEED
    for site in scenes.SITES:
        for _ in range(max(1, int(options.minutes / 5))):
            jobs.append((binary, seed, site, "nothing", None, 300))
            seed += 1
    for what in ("knocks", "voices"):
        for snr in SNRS:
            for k in range(options.scenes):
                jobs.append((binary, seed, scenes.SITES[k % len(scenes.SITES)], what, snr, 150))
                seed += 1
    with Pool(2) as pool:
        done = pool.map(one, jobs, chunksize=2)
    false_of = {"tapping": 0, "voice-like": 0, "horn": 0, "series": 0}
    hours = 0.0
    ratios = []
    print("false events an hour at confidence 0.5: tapping, voice-like, horn, series")
    for site in scenes.SITES:
        mine = [d for d in done if d[0] == site and d[1] == "nothing"]
        h = sum(d[3] for d in mine) / 3600
        counts = {k: sum(e["kind"] == k for d in mine for e in d[5]) for k in false_of if k != "series"}
        counts["series"] = sum(len(d[6]) for d in mine)
        for k in false_of:
            false_of[k] += counts[k]
        hours += h
        ratios += [r for d in mine for _, r in d[7]]
        print(f"  {site:12s} " + " ".join(f"{counts[k] / h:8.1f}" for k in false_of))
    print(f"  all          " + " ".join(f"{false_of[k] / hours:8.1f}" for k in false_of)
          + f"   ({hours:.1f} h)")
    ratios = sorted(ratios, reverse=True)
    threshold = ratios[min(len(ratios) - 1, false_of["tapping"])] if ratios else 1e9
    errors = []
    for what, kind in (("knocks", "tapping"), ("voices", "voice-like")):
        print(f"{kind}: found against SNR")
        for snr in SNRS:
            mine = [d for d in done if d[1] == what and d[2] == snr]
            pairs = [(t, d) for d in mine for t in d[4]]
            hits = sum(hit(t, d[5], kind) for t, d in pairs)
            low, high = wilson(hits, len(pairs))
            base = sum(any(r > threshold and min(abs(at - s) for s in t[4]) <= COLLAR_S
                           for at, r in d[7]) for t, d in pairs) if what == "knocks" else 0
            quiet = [(t, d) for t, d in pairs if d[0] in ("white", "pink", "brown", "generator")]
            calm = sum(hit(t, d[5], kind) for t, d in quiet)
            print(f"  {snr:3d} dB  {hits}/{len(pairs)} = {hits / len(pairs):.3f} "
                  f"[{low:.3f}-{high:.3f}]  steady sites {calm}/{len(quiet)}"
                  + (f"  short-over-long {base / len(pairs):.3f}" if what == "knocks" else ""))
            if what == "knocks":
                errors += [min(abs(e["on"] - s) for s in t[4]) for t, d in pairs for e in d[5]
                           if e["kind"] == kind and min(abs(e["on"] - s) for s in t[4]) < 0.05]
    if errors:
        print(f"onset of knocks: median error {1e3 * np.median(errors):.2f} ms of {len(errors)}")


if __name__ == "__main__":
    sys.exit(main())
