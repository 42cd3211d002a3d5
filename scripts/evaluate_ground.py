#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Places on several made grounds: lull beside plain methods, and how often its regions hold the truth.

    scripts/evaluate_ground.py --build build [--scenes N] [--impacts N] [--side report] [--grounds plate,layered]

Every scene is a room of its own with some impacts. The whole chain runs: lull-detect, lull-rank, lull-delay,
lull-locate; of what is detected near an impact the strongest is placed. The plain methods know the time of the
impact and the room; lull knows the room as the team's grid. The bound is Cramer and Rao's for delays as good as
lull's own, with one unknown speed, where lull says how good they are. Other simulators, which share nothing with
these: evaluate_places.py, evaluate_floor.py.
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

import grounds  # noqa: E402
import plain_places  # noqa: E402
from rates import wilson  # noqa: E402
from tools import read, run  # noqa: E402

RATE = grounds.RATE


def write_scene(folder, scene):
    count = scene.samples.shape[1]
    with wave_file.open(str(folder / "a.wav"), "wb") as file:
        file.setnchannels(count)
        file.setsampwidth(3)
        file.setframerate(RATE)
        scale = 0.9 / max(0.9, float(np.max(np.abs(scene.samples))))
        whole = np.round(scene.samples * (scale * 8388607)).astype("<i4")
        file.writeframes(np.ascontiguousarray(whole).view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    channels = [{"name": f"s{c + 1}", "kind": "seismic", "track": c + 1, "axis": "vertical",
                 "position_m": [round(float(v), 3) for v in scene.sensors[c]] + [0.0],
                 "position_sigma_m": round(float(scene.sigma_m), 3)} for c in range(count)]
    cell_m = float(max(0.25, np.min(scene.size) / 8))
    (folder / "s.json").write_text(json.dumps({
        "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}], "channels": channels,
        "propagation": {"seismic_m_s": list(scene.speeds)},
        "grid": {"origin_m": [float(v) for v in scene.corner], "cell_m": cell_m,
                 "columns": int(np.ceil(scene.size[0] / cell_m)), "rows": int(np.ceil(scene.size[1] / cell_m)),
                 "bearing_deg": 0, "north": "site"}}))


def keep_impacts(folder, truth):
    """The strongest event near each impact. Returns the impact's index by event."""
    rows, kept = read(folder / "all.csv"), {}
    for k, (time_s, _) in enumerate(truth):
        near = [row for row in rows if time_s - 0.05 < float(row["onset_s"]) < time_s + 0.3]
        if near:
            row = max(near, key=lambda row: float(row["snr_db"] or -99))
            kept[row["event"]] = (k, {**row, "series": "", "confidence": "1.000"})
    if kept:
        with open(folder / "events.csv", "w", encoding="utf-8", newline="") as file:
            out = csv.DictWriter(file, rows[0].keys())
            out.writeheader()
            out.writerows(row for _, row in kept.values())
    return {event: k for event, (k, _) in kept.items()}


def holds(polygon, x, y):
    parts = [[tuple(map(float, corner)) for corner in re.findall(r"(-?[\d.]+) (-?[\d.]+)", ring)]
             for ring in re.findall(r"\(([^()]+)\)", polygon)]
    inside = False
    for ring in parts:
        for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1]):
            if (y0 > y) != (y1 > y) and x < (x1 - x0) * (y - y0) / (y1 - y0) + x0:
                inside = not inside
    return inside


def bound_of(scene, source, rows, speed):
    """Root of the trace of the bound's covariance of a place, from the sigmas of one event's delays."""
    usable = [row for row in rows if row["usable"] == "yes"]
    if len(usable) < 3 or not speed > 0:
        return np.nan
    r = np.hypot(*(scene.sensors - source).T)
    direction = (source - scene.sensors) / np.maximum(r, 0.1)[:, None]
    information = np.diag([12 / scene.size[0] ** 2, 12 / scene.size[1] ** 2, 12 / np.log(3500 / 300) ** 2])
    for row in usable:
        a, b = int(row["channel_a"][1:]) - 1, int(row["channel_b"][1:]) - 1
        slope = np.append((direction[b] - direction[a]) / speed, -(r[b] - r[a]) / speed)
        # Of n(n-1)/2 delays only n-1 are independent.
        information += np.outer(slope, slope) / float(row["sigma_s"]) ** 2 * 2 / len(scene.sensors)
    return float(np.sqrt(np.trace(np.linalg.inv(information)[:2, :2])))


def lull(build, scene):
    """One row an impact: error, whether the region holds the truth, area, shape, bound."""
    found = [None] * len(scene.truth)
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        write_scene(folder, scene)
        session, events = folder / "s.json", folder / "events.csv"
        run(build, "lull-detect", session, "--list-from", "0", "-o", folder / "all.csv")
        impact_of = keep_impacts(folder, scene.truth)
        if not impact_of:
            return found
        run(build, "lull-rank", session, "--events", events, "-o", folder / "ranking.csv")
        run(build, "lull-delay", session, "--events", events, "-o", folder / "delays.csv")
        run(build, "lull-locate", session, "--delays", folder / "delays.csv", "--ranking", folder / "ranking.csv",
            "--events", events, "-o", folder / "locations.csv")
        delays = read(folder / "delays.csv")
        for row in read(folder / "locations.csv"):
            k = impact_of[row["event"]]
            source = scene.truth[k][1]
            error = np.hypot(float(row["x_m"]) - source[0], float(row["y_m"]) - source[1]) if row["x_m"] else np.nan
            found[k] = (error, holds(row["polygon90"], *source) if row["polygon90"] else None,
                        float(row["area90_m2"] or "nan"), row["shape"],
                        bound_of(scene, source, [d for d in delays if d["event"] == row["event"]], float(row["speed_m_s"] or 0)))
    return found


def median_interval(errors, random):
    """Median and its 95 % interval by the bootstrap [Efron 1979]."""
    draws = np.median(random.choice(errors, (1000, len(errors))), axis=1)
    return f"{np.median(errors):.2f} ({np.quantile(draws, 0.025):.2f}-{np.quantile(draws, 0.975):.2f})"


def scene_of(ground, options, number):
    scene = grounds.make_scene(ground, options.side, options.impacts, [options.seed, number], options.snr_db)
    if options.speeds:
        scene.speeds = tuple(map(float, options.speeds.split("-")))
    return scene


def evaluate(ground, options):
    plain, ours, rooms = {name: [] for name in plain_places.METHODS}, [], []
    for number in range(options.scenes):
        scene = scene_of(ground, options, number)
        ours += lull(options.build, scene)
        rooms += [float(np.prod(scene.size))] * len(scene.truth)
        for name, errors in plain_places.plain_errors(scene, RATE)[0].items():
            plain[name].append(errors)
    random = np.random.default_rng(0)
    print(f"\n### {ground}: {options.scenes} scenes of {options.impacts} impacts, side {options.side}, seed {options.seed}"
          + (f", {options.snr_db:g} dB" if options.snr_db is not None else "") + "\n")
    print("| method | median error m | 75 % within m |")
    print("|---|---|---|")
    for name, parts in plain.items():
        errors = np.concatenate(parts)
        print(f"| {name} | {median_interval(errors, random)} | {np.quantile(errors, 0.75):.2f} |")
    errors = np.array([one[0] if one else np.nan for one in ours])
    placed = np.isfinite(errors)
    print(f"| lull, of {placed.sum()} of {len(errors)} placed | {median_interval(errors[placed], random)} | {np.quantile(errors[placed], 0.75):.2f} |")
    print(f"| bound of lull's delays | {np.nanmedian([one[4] if one else np.nan for one in ours]):.2f} | |")
    told = [(one, room) for one, room in zip(ours, rooms) if one and one[1] is not None]
    hits = sum(one[1] for one, _ in told)
    low, high = wilson(hits, len(told))
    areas = [one[2] for one, _ in told if np.isfinite(one[2])]
    shares = [one[2] / room for one, room in told if np.isfinite(one[2])]
    print(f"\n90 % region holds the truth: {100 * hits / max(1, len(told)):.1f} % ({100 * low:.1f}-{100 * high:.1f}) of {len(told)}; "
          f"median area {np.median(areas):.1f} m2, {np.median(shares):.2f} of the room", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--build", type=pathlib.Path, default=pathlib.Path("build"))
    parser.add_argument("--scenes", type=int, default=24)
    parser.add_argument("--impacts", type=int, default=10, help="in each scene")
    parser.add_argument("--side", choices=("tune", "report", "yard"), default="report",
                        help="tune: where constants may be chosen; yard: four sensors round 4 x 6 m")
    parser.add_argument("--grounds", default=",".join(grounds.GROUNDS))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--snr-db", type=float, help="of every impact on its best channel; else 12 to 38")
    parser.add_argument("--speeds", help="LOW-HIGH: what the sessions say, else 300-3500")
    options = parser.parse_args()
    for ground in options.grounds.split(","):
        evaluate(ground, options)


if __name__ == "__main__":
    main()
