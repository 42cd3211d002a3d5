#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How often the regions of lull-locate hold the truth, on scenes of a simulator of its own.

It shares nothing with lull-exercise: amplitudes fall with r^-0.75 and an absorption that grows with
frequency, speed grows with frequency by a power law and differs from path to path, a scattered coda
follows the first wave, contacts differ. Each layout of 3 to 6 sensors is a placement of its own in one
session; the whole chain runs: lull-detect, lull-rank, lull-delay, lull-locate. Some delays are then
replaced by grossly wrong ones.
"""
import argparse
import csv
import json
import pathlib
import re
import sys
import tempfile
import wave as wave_file

import numpy as np

sys.path[:0] = [str(pathlib.Path(__file__).resolve().parent / folder) for folder in ("evaluation", "hearing")]

from rates import wilson  # noqa: E402
from tools import read, run  # noqa: E402

RATE = 8000
STEP_S = 3.0     # from one knock to the next
WRONG_SHARE = 0.05
SENSORS = 6


def knock(random, count):
    """A struck slab: two damped modes after a short push, as a spectrum of `count` samples."""
    t = np.arange(count) / RATE
    wave = np.zeros(count)
    for _ in range(2):
        frequency, decay_s = random.uniform(120, 600), random.uniform(0.008, 0.03)
        wave += random.uniform(0.5, 1.0) * np.exp(-t / decay_s) * np.sin(2 * np.pi * frequency * t)
    return np.fft.rfft(wave)


def travelled(spectrum, count, r, speed, random):
    """The knock after r metres, with spreading, absorption, dispersion and scattering. Lead-in 0.2 s."""
    frequency = np.fft.rfftfreq(count, 1 / RATE)
    own_speed = speed * np.exp(random.normal(0.0, 0.04))
    phase_speed = own_speed * np.maximum(frequency, 20.0) ** 0.02 / 300.0 ** 0.02
    out = spectrum * max(r, 0.3) ** -0.75 * np.exp(-np.pi * frequency * r / (speed * 30.0))
    out = out * np.exp(-2j * np.pi * frequency * (0.2 + r / phase_speed))
    coda = np.zeros(count)
    decay_s = random.uniform(0.02, 0.06)
    length = int(5 * decay_s * RATE)
    t = np.arange(1, length + 1) / RATE
    coda[1:length + 1] = random.normal(size=length) * np.exp(-t / decay_s) * (1 - np.exp(-t / 0.004))
    coda *= np.sqrt(0.02 * r) / np.sqrt(np.sum(coda ** 2))  # energy relative to the first wave, proportional to distance
    return np.fft.irfft(out * (1 + np.fft.rfft(coda)), count)


def make_scene(folder, layouts, seed):
    random = np.random.default_rng(seed)
    frames = int((layouts * STEP_S + 2) * RATE)
    samples = random.normal(0.0, 1.0, (frames, SENSORS)).astype(np.float32)
    for c in range(SENSORS):  # noise that falls towards high frequencies, as on sites
        samples[1:, c] += 0.6 * samples[:-1, c]
    samples *= 0.001 / 1.17
    truth, changes, first = [], [], None
    count = int(1.5 * RATE)
    for k in range(layouts):
        heard = random.integers(3, SENSORS + 1)
        side = random.uniform(12, 30)
        stated = random.uniform(0, side, (SENSORS, 3)) * [1, 1, 0] + random.uniform(-1, 1, (SENSORS, 3)) * [0, 0, 1]
        sigma = random.uniform(0.1, 0.6)
        stood = stated + random.normal(0, sigma, (SENSORS, 3))
        source = np.append(random.uniform(-0.3 * side, 1.3 * side, 2), random.uniform(-4, 0.5))
        speed = np.exp(random.uniform(np.log(300), np.log(3500)))
        spectrum = knock(random, count)
        waves = [travelled(spectrum, count, np.linalg.norm(stood[c] - source), speed, random)
                 * 10 ** (random.normal(0, 5) / 20) for c in range(heard)]
        window = int(0.05 * RATE)
        power = max(np.max(np.convolve(w ** 2, np.ones(window) / window, "valid")) for w in waves)
        gain = 0.001 * np.sqrt(10 ** (random.uniform(0, 30) / 10) / power)
        at = k * STEP_S + 1.0 + random.uniform(-0.3, 0.3)
        begin = int(at * RATE)
        for c, wave in enumerate(waves):
            samples[begin:begin + count, c] += (gain * wave).astype(np.float32)
        places = [{"position_m": [round(float(v), 3) for v in stated[c]],
                   "position_sigma_m": round(float(sigma), 3)} for c in range(SENSORS)]
        if k == 0:
            first = places
        else:
            changes += [{"from": round(k * STEP_S - 0.5, 3), "channel": f"s{c + 1}", **places[c]}
                        for c in range(SENSORS)]
        truth.append((at + 0.2, source, speed, heard))
    with wave_file.open(str(folder / "a.wav"), "wb") as file:
        file.setnchannels(SENSORS)
        file.setsampwidth(2)
        file.setframerate(RATE)
        scale = 0.9 / max(0.9, float(np.max(np.abs(samples))))
        file.writeframes(np.round(samples * (scale * 32767)).astype("<i2").tobytes())
    channels = [{"name": f"s{c + 1}", "kind": "seismic", "track": c + 1, "axis": "vertical", **first[c]}
                for c in range(SENSORS)]
    (folder / "s.json").write_text(json.dumps({"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                                               "channels": channels, "changes": changes}))
    return truth


def write(path, rows):
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0].keys())
        out.writeheader()
        out.writerows(rows)


def keep_knocks(folder, truth):
    """The strongest event near each knock, as an event by itself, whatever its kind."""
    rows, kept = read(folder / "all.csv"), []
    onsets = np.array([float(row["onset_s"]) for row in rows])
    for time_s, source, _, _ in truth:
        near = [i for i in np.flatnonzero((onsets > time_s - 0.05) & (onsets < time_s + 0.35))]
        if not near:
            continue
        row = rows[max(near, key=lambda i: float(rows[i]["snr_db"] or -99))]
        kept.append((row, source))
    events = [{**row, "series": "", "confidence": "1.000"} for row, _ in kept]
    write(folder / "events.csv", events)
    return {row["event"]: source for row, source in kept}


def spoil(folder, random):
    """Makes some usable delays grossly wrong, within what 25 m at 300 m/s allow. Returns their events."""
    rows, spoilt = read(folder / "delays.csv"), set()
    for row in rows:
        if row["usable"] == "yes" and random.uniform() < WRONG_SHARE:
            row["delay_s"] = f"{random.uniform(-0.03, 0.03):.6f}"
            spoilt.add(row["event"])
    write(folder / "delays.csv", rows)
    return spoilt


def holds(polygon, x, y):
    inside = False
    for ring in re.findall(r"\(([-0-9., ]+)\)", polygon):
        points = [tuple(map(float, p.split())) for p in ring.split(",")]
        for (ax, ay), (bx, by) in zip(points, points[1:]):
            if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
                inside = not inside
    return inside


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--build", type=pathlib.Path, default=pathlib.Path("build"))
    parser.add_argument("--layouts", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=pathlib.Path, help="work in this folder and leave it")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.keep or pathlib.Path(temporary)
        folder.mkdir(exist_ok=True)
        truth = make_scene(folder, options.layouts, options.seed)
        session = folder / "s.json"
        run(options.build, "lull-detect", session, "--list-from", "0", "-o", folder / "all.csv")
        sources = keep_knocks(folder, truth)
        run(options.build, "lull-rank", session, "--events", folder / "events.csv", "-o", folder / "ranking.csv")
        run(options.build, "lull-delay", session, "--events", folder / "events.csv", "-o", folder / "delays.csv")
        spoilt = spoil(folder, np.random.default_rng(options.seed + 1))
        run(options.build, "lull-locate", session, "--delays", folder / "delays.csv", "--ranking", folder / "ranking.csv",
            "--events", folder / "events.csv", "-o", folder / "locations.csv")
        report(read(folder / "locations.csv"), sources, spoilt, options)


def report(rows, sources, spoilt, options):
    print(f"{options.layouts} layouts, seed {options.seed}: {len(sources)} knocks listed\n")
    print("| shape | places | 90 % region holds the truth | 95 % interval | median error m | median 90 % area m2 |")
    print("|---|---|---|---|---|---|")
    for label, wanted in (("all with a region or curve", None), ("region", "region"), ("two-places", "two-places"),
                          ("curve", "curve"), ("with a wrong delay", "spoilt")):
        chosen = [row for row in rows if row["polygon90"] and
                  (wanted in (None, row["shape"]) or (wanted == "spoilt" and row["event"] in spoilt))]
        hits = sum(holds(row["polygon90"], *sources[row["event"]][:2]) for row in chosen)
        errors = [np.hypot(float(row["x_m"]) - sources[row["event"]][0], float(row["y_m"]) - sources[row["event"]][1])
                  for row in chosen if row["x_m"]]
        areas = [float(row["area90_m2"]) for row in chosen if row["area90_m2"]]
        low, high = wilson(hits, len(chosen))
        share = 100 * hits / max(1, len(chosen))
        print(f"| {label} | {len(chosen)} | {share:.1f} % | {100 * low:.1f}-{100 * high:.1f} % | "
              f"{np.median(errors) if errors else float('nan'):.2f} | {np.median(areas) if areas else float('nan'):.1f} |")


if __name__ == "__main__":
    main()
