#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Impacts on a floor heard by four sensors: lull against band-pass, correlation and a grid search.

    scripts/evaluate_floor.py --build build [--impacts N] [--seed S]

A plate of 4 x 6 units, a sensor near each corner, flexural waves: phase speed grows with the square root of
frequency, group speed is twice it. Reflections from the four edges (image sources of first and second order,
with a loss), impulses of 20 to 40 dB, speeds that nobody knows. Units are whatever the plate's are: the session
gives them as metres and a wide range of speeds. Simulator of its own, nothing shared with lull-exercise.
The plain way: zero-phase band-pass, the largest value of the cross-correlation of each pair, and the place of a
fine grid, with one speed out of many, whose delays have the least sum of squares.
"""
import argparse
import csv
import itertools
import json
import pathlib
import sys
import tempfile
import wave as wave_file

import numpy as np
from scipy.signal import butter, sosfiltfilt

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent / "evaluation"))

from tools import run  # noqa: E402

RATE, STEP_S, COUNT = 8000, 2.0, 8192
WIDE, LONG = 4.0, 6.0
SENSORS = np.array([[0.3, 0.3], [3.7, 0.4], [0.4, 5.6], [3.6, 5.7]])
NOISE = 0.001
SPEEDS = (30.0, 1000.0)  # units a second, as the session states


def images(source, loss):
    """Places and strengths of the source and its reflections in the edges."""
    found = []
    for i, j in itertools.product(range(-2, 3), repeat=2):
        if abs(i) + abs(j) <= 2:
            x = i * WIDE + (source[0] if i % 2 == 0 else WIDE - source[0])
            y = j * LONG + (source[1] if j % 2 == 0 else LONG - source[1])
            found.append((np.array([x, y]), loss ** (abs(i) + abs(j))))
    return found


def make_scene(impacts, seed):
    random = np.random.default_rng(seed)
    frequency = np.fft.rfftfreq(COUNT, 1 / RATE)
    samples = random.normal(0, NOISE, (int((impacts * STEP_S + 3) * RATE), 4))
    speed_at_1k = np.exp(random.uniform(np.log(150), np.log(500)))  # phase speed at 1 kHz, one floor
    loss, damping = random.uniform(0.3, 0.7), random.uniform(0.005, 0.02)
    wave_number = 2 * np.pi * frequency / (speed_at_1k * np.sqrt(np.maximum(frequency, 1) / 1000))
    truth = []
    for k in range(impacts):
        source = random.uniform([0.2, 0.2], [WIDE - 0.2, LONG - 0.2])
        begin = int((1 + k * STEP_S) * RATE)
        push_s = random.uniform(0.0005, 0.002)  # duration of the impact's force
        push = np.exp(-0.5 * (2 * np.pi * frequency * push_s / 2.5) ** 2) * (1 - np.exp(-(frequency / 60) ** 2))
        waves = []
        for sensor in SENSORS:
            spectrum = np.zeros(len(frequency), complex)
            for place, strength in images(source, loss):
                r = max(0.1, np.hypot(*(place - sensor)))
                spectrum += strength / np.sqrt(r) * np.exp(-wave_number * r * (1j + damping))
            waves.append(np.fft.irfft(spectrum * push * np.exp(-2j * np.pi * frequency * 0.05), COUNT)
                         * 10 ** (random.normal(0, 3) / 20))
        power = max(np.max(np.convolve(w ** 2, np.ones(400) / 400, "valid")) for w in waves)
        gain = NOISE * np.sqrt(10 ** (random.uniform(20, 40) / 10) / power)
        for c, wave in enumerate(waves):
            samples[begin:begin + COUNT, c] += gain * wave
        truth.append((begin / RATE + 0.05, source))
    return samples, truth


def plain(samples, truth):
    """Band-pass, correlation, grid search: errors."""
    filtered = sosfiltfilt(butter(4, [60, 2000], "bandpass", fs=RATE, output="sos"), samples, axis=0)
    x, y = np.meshgrid(np.linspace(0, WIDE, 41), np.linspace(0, LONG, 61), indexing="ij")
    r = np.hypot(x[..., None] - SENSORS[:, 0], y[..., None] - SENSORS[:, 1])
    pairs = list(itertools.combinations(range(4), 2))
    apart = np.stack([r[..., b] - r[..., a] for a, b in pairs], -1)
    errors = []
    for time_s, source in truth:
        part = filtered[int((time_s - 0.02) * RATE):int((time_s + 0.25) * RATE)]
        delays = []
        for a, b in pairs:
            cross = np.correlate(part[:, b], part[:, a], "full")
            delays.append((np.argmax(cross) - (len(part) - 1)) / RATE)
        best = None
        for speed in np.geomspace(*SPEEDS, 40):
            misfit = np.sum((apart / speed - delays) ** 2, -1)
            at = np.unravel_index(np.argmin(misfit), misfit.shape)
            if best is None or misfit[at] < best[0]:
                best = (misfit[at], x[at], y[at])
        errors.append(np.hypot(best[1] - source[0], best[2] - source[1]))
    return np.array(errors)


def write(folder, samples, truth):
    with wave_file.open(str(folder / "a.wav"), "wb") as file:
        file.setnchannels(4)
        file.setsampwidth(2)
        file.setframerate(RATE)
        scale = 0.9 / max(0.9, float(np.max(np.abs(samples))))
        file.writeframes(np.round(samples * scale * 32767).astype("<i2").tobytes())
    channels = [{"name": f"s{c + 1}", "kind": "seismic", "track": c + 1, "axis": "vertical",
                 "position_m": [float(v) for v in SENSORS[c]] + [0.0], "position_sigma_m": 0.02} for c in range(4)]
    (folder / "s.json").write_text(json.dumps({
        "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}], "channels": channels,
        "propagation": {"seismic_m_s": list(SPEEDS)},
        "grid": {"origin_m": [0, 0], "cell_m": 1, "columns": int(WIDE), "rows": int(LONG), "bearing_deg": 0, "north": "site"}}))
    with open(folder / "events.csv", "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow("event,kind,onset_s,end_s,channel,channels,confidence,series".split(","))
        for k, (time_s, _) in enumerate(truth):
            out.writerow([k + 1, "tapping", f"{time_s:.6f}", f"{time_s + 0.15:.6f}", "s1", "s1;s2;s3;s4", "1.000", ""])


def lull(build, folder, truth):
    session, events = folder / "s.json", folder / "events.csv"
    run(build, "lull-rank", session, "--events", events, "-o", folder / "ranking.csv")
    run(build, "lull-delay", session, "--events", events, "-o", folder / "delays.csv")
    run(build, "lull-locate", session, "--delays", folder / "delays.csv", "--ranking", folder / "ranking.csv",
        "--events", events, "-o", folder / "locations.csv")
    with open(folder / "locations.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return np.array([np.hypot(float(r["x_m"]) - truth[int(r["event"]) - 1][1][0],
                              float(r["y_m"]) - truth[int(r["event"]) - 1][1][1]) if r["x_m"] else np.nan for r in rows])


def median_interval(errors, random):
    """Median and its 95 % interval by the bootstrap [Efron 1979]."""
    draws = np.median(random.choice(errors, (2000, len(errors))), axis=1)
    return f"{np.median(errors):.2f} ({np.quantile(draws, 0.025):.2f}-{np.quantile(draws, 0.975):.2f})"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--build", type=pathlib.Path, default=pathlib.Path("build"))
    parser.add_argument("--impacts", type=int, default=20, help="on each floor")
    parser.add_argument("--floors", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    plain_errors, lull_errors = [], []
    for floor in range(options.floors):
        samples, truth = make_scene(options.impacts, [options.seed, floor])
        with tempfile.TemporaryDirectory() as temporary:
            folder = pathlib.Path(temporary)
            write(folder, samples, truth)
            lull_errors.append(lull(options.build, folder, truth))
        plain_errors.append(plain(samples, truth))
    random = np.random.default_rng(0)
    ours, theirs = np.concatenate(lull_errors), np.concatenate(plain_errors)
    placed = ours[np.isfinite(ours)]
    print(f"seed {options.seed}, {options.floors} floors of {options.impacts} impacts, plate of {WIDE:g} x {LONG:g}")
    print(f"plain: median error {median_interval(theirs, random)}")
    print(f"lull:  median error {median_interval(placed, random)}, {len(placed)} of {len(ours)} placed; "
          f"those without a place counted as infinitely wrong: {np.median(np.where(np.isfinite(ours), ours, np.inf)):.2f}")


if __name__ == "__main__":
    main()
