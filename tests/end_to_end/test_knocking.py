#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Continuous knocking is listed as tapping. One strong blow is listed and located."""
import numpy as np

from harness import Folder, add_at, knock, main, noise, rows_of, run, write_json, write_wav

RATE, FLOOR, SPEED = 16000, 0.001, 1200.0
SENSORS = {"stairwell": (0, 0, 0), "north-slab": (12, 0, 0), "lift-shaft": (12, 8, 0), "ramp-edge": (0, 8, 0)}
SOURCE_AT = (5.0, 3.0, 0.0)
RUNS = [(24, 0.6), (24, 0.9), (40, 0.5), (8, 2.5), (10, 4.0)]  # number of knocks, interval
PAUSE_S = 15.0
# White noise over the whole rate: 60-2000 Hz holds 1940 of 8000 Hz.
FLOOR_POWER = FLOOR ** 2 * 1940 / 8000


def power_of(shape):
    """Largest mean power over 50 ms."""
    total = np.cumsum(np.concatenate([[0.0], np.concatenate([shape, np.zeros(800)]) ** 2]))
    return (total[800:] - total[:-800]).max() / 800


class Knocking(Folder):
    def strike(self, samples, time_s, shape, snr_db):
        gain = np.sqrt(FLOOR_POWER * 10 ** (snr_db / 10) / power_of(shape))
        nearest = min(np.linalg.norm(np.subtract(at, SOURCE_AT)) for at in SENSORS.values())
        for track, at in enumerate(SENSORS.values()):
            r = np.linalg.norm(np.subtract(at, SOURCE_AT))
            add_at(samples, track, time_s + r / SPEED, shape, gain * nearest / r)

    def session(self, samples):
        write_wav(self.path("a.wav"), samples, bits=24)
        write_json(self.path("s.json"), {
            "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": "seismic", "track": track + 1, "position_m": at, "position_sigma_m": 0.1}
                         for track, (name, at) in enumerate(SENSORS.items())]})
        return self.path("s.json")

    def read(self, *name):
        with open(self.path(*name), encoding="utf-8", newline="") as file:
            return rows_of(file.read())

    def test_continuous_knocking_is_listed(self):
        rng = np.random.default_rng(11)
        runs, at = [], PAUSE_S
        for count, interval in RUNS:
            steps = interval * (1 + 0.05 * rng.standard_normal(count))
            runs.append(at + np.cumsum(steps))
            at = runs[-1][-1] + PAUSE_S
        samples = noise(at + 1, len(SENSORS), rms=FLOOR, seed=12)
        for run_number, times in enumerate(runs):
            for time_s in times:
                shape = knock(RATE, 240.0 + 60 * run_number, 0.02 * (1 + 0.1 * rng.standard_normal()))
                self.strike(samples, time_s, shape, 15 + 1.5 * rng.standard_normal())
        result = run("lull-detect", self.session(samples), "-o", self.path("events.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        events = self.read("events.csv")
        for (count, interval), times in zip(RUNS, runs):
            own = [e for e in events if np.abs(times - float(e["onset_s"])).min() < 0.05]
            self.assertEqual({e["kind"] for e in own}, {"tapping"}, (count, interval))
            heard = [e for e in own if float(e["confidence"]) >= 0.5]
            self.assertGreaterEqual(len(heard), 0.75 * count, (count, interval))

    def test_one_strong_blow_is_listed_and_located(self):
        samples = noise(40, len(SENSORS), rms=FLOOR, seed=13)
        self.strike(samples, 20.0, knock(RATE, 300.0, 0.012), 26)
        result = run("lull-review", self.session(samples), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        events = self.read("out", "events.csv")
        self.assertEqual([e["kind"] for e in events], ["tapping"])
        event = events[0]
        self.assertLess(float(event["confidence"]), 0.5)
        self.assertGreater(len([r for r in self.read("out", "ranking.csv") if r["event"] == event["event"]]), 3)
        self.assertGreater(len([r for r in self.read("out", "delays.csv") if r["usable"] == "yes"]), 3)
        places = self.read("out", "locations.csv")
        self.assertEqual([(p["event"], p["shape"]) for p in places], [(event["event"], "region")])
        self.assertLess(np.hypot(float(places[0]["x_m"]) - SOURCE_AT[0], float(places[0]["y_m"]) - SOURCE_AT[1]), 1.5)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = file.read()
        finds = self.read("out", "finds.csv")
        self.assertEqual([(f["kind"], f["events"]) for f in finds], [("tapping", event["event"])])
        self.assertIn("strong_blow", finds[0]["evidence"].split(";"))
        self.assertIn('href="#find-1"', page[page.index('id="finds"'):page.index('id="whole"')])
        self.assertIn("a drip, a door, steps or handling can sound the same", event["why"])


if __name__ == "__main__":
    main()
