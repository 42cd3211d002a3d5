#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Delays and clocks by the real executable. Do the intervals hold the difference of first arrivals, on one path
and on many? Are recorders with different clocks tied by shared events? The long form of the first test is
scripts/evaluate_delays.py, whose simulator is used here."""
import os
import pathlib
import sys
import unittest

from harness import BIN, SOURCE, Folder, add_at, knock, main, noise, np, rows_of, run, write_json, write_wav

sys.path.insert(0, os.path.join(SOURCE, "scripts"))

PAIRS = 160   # of each kind
SEED = 77
# Issue 6: 68 +- 5 % and 95 +- 3 % on one path, at least those on many. Two standard deviations of a share of
# 160 are added: 7.4 and 3.4 %.
ONE_PATH = ((0.68 - 0.05 - 0.074, 0.68 + 0.05 + 0.074), (0.95 - 0.03 - 0.034, 1.0))
MANY_PATHS = (0.68 - 0.074, 0.95 - 0.034)
MOST_OVER_BOUND = 1.2 + 0.15  # rms of some hundred errors: spread 6 %, doubled
MOST_GROSS = 3                # beyond five sigma; 1 % of 160 is 1.6


class Intervals(unittest.TestCase):
    def shares(self, kind):
        import evaluate_delays
        found = evaluate_delays.delays_of(pathlib.Path(BIN), kind, PAIRS // 2, SEED)
        error, sigma, usable, snr_db, bound = found.T
        good = usable > 0
        ratio = np.abs(error[good]) / sigma[good]
        self.assertLessEqual(np.sum(ratio > 5), MOST_GROSS, f"{kind}, seed {SEED}")
        loud = good & (snr_db >= 10)
        return (good.mean(), np.mean(ratio <= 1), np.mean(ratio <= 2),
                np.sqrt(np.mean((error[loud] / bound[loud]) ** 2)))

    def test_one_path(self):
        usable, one, two, over_bound = self.shares("direct")
        self.assertGreater(usable, 0.85)
        for share, (low, high) in zip((one, two), ONE_PATH):
            self.assertTrue(low <= share <= high, f"{share}, seed {SEED}")
        self.assertLess(over_bound, MOST_OVER_BOUND, f"seed {SEED}")

    def test_many_paths(self):
        for kind in ("echoes", "coda"):
            usable, one, two, _ = self.shares(kind)
            self.assertGreater(usable, 0.6, kind)
            self.assertGreaterEqual(one, MANY_PATHS[0], f"{kind}, seed {SEED}")
            self.assertGreaterEqual(two, MANY_PATHS[1], f"{kind}, seed {SEED}")


class Floor(Folder):
    """Impacts on a plate of 4 x 6 units with dispersion and reflections: a small form of
    scripts/evaluate_floor.py."""
    FLOORS, IMPACTS, SEED = 4, 12, 3
    # The aim is 0.5; 240 impacts give 0.36 to 0.42 (data/places.md), and medians of single floors lie between
    # 0.3 and 0.7. Without first waves and a prior for the grid it was 3.
    MOST_MEDIAN = 0.8

    def test_near_the_truth(self):
        import evaluate_floor
        ours = []
        for floor in range(self.FLOORS):
            samples, truth = evaluate_floor.make_scene(self.IMPACTS, [self.SEED, floor])
            evaluate_floor.write(pathlib.Path(self.path()), samples, truth)
            ours.append(evaluate_floor.lull(pathlib.Path(BIN), pathlib.Path(self.path()), truth))
        ours = np.where(np.isfinite(np.concatenate(ours)), np.concatenate(ours), np.inf)  # no place is a miss
        self.assertLess(np.median(ours), self.MOST_MEDIAN, f"seed {self.SEED}")


class Grounds(unittest.TestCase):
    """Impacts on a plate and on layered ground that no constant was fitted on: a small form of
    scripts/evaluate_ground.py."""
    SCENES, IMPACTS, SEED, SNR_DB = 3, 8, 21, 30.0

    def errors(self, ground):
        import evaluate_ground
        ours, plain = [], {}
        for number in range(self.SCENES):
            scene = evaluate_ground.grounds.make_scene(ground, "yard", self.IMPACTS, [self.SEED, number], self.SNR_DB)
            ours += [one[0] if one else np.inf for one in evaluate_ground.lull(pathlib.Path(BIN), scene)]
            for name, errors in evaluate_ground.plain_places.plain_errors(scene, evaluate_ground.RATE)[0].items():
                plain.setdefault(name, []).append(errors)
        ours = np.where(np.isfinite(ours), ours, np.inf)  # no place is a miss
        return ours, {name: np.concatenate(parts) for name, parts in plain.items()}

    def test_no_plain_method_is_clearly_ahead_on_a_plate(self):
        """The aim: never behind the best of the plain methods by more than its interval. On layered ground
        correlation of
        the whole burst is ahead (data/places.md)."""
        random = np.random.default_rng(1)
        ours, plain = self.errors("plate")
        for name, errors in plain.items():
            draws = np.median(random.choice(errors, (1000, len(errors))), axis=1)
            self.assertLessEqual(np.median(ours), np.quantile(draws, 0.975), f"{name}, seed {self.SEED}")

    def test_on_layered_ground_levels_and_envelopes_are_behind(self):
        ours, plain = self.errors("layered")
        for name in ("levels", "envelope 0.1, 20-300", "envelope 0.1, 20-100"):
            self.assertLess(np.median(ours), np.median(plain[name]), f"{name}, seed {self.SEED}")


class Recorders(Folder):
    """Two recorders, the second's clock 3.2 s behind. Shared events tie them."""
    OFFSET_S, RATE = 3.2, 8000

    def setUp(self):
        super().setUp()
        random = np.random.default_rng(5)
        self.times = np.sort(random.uniform(8, 170, 14))
        for number, late in ((1, 0.0), (2, self.OFFSET_S)):
            samples = noise(180, 1, rate=self.RATE, rms=0.001, seed=number)
            for t in self.times:
                if t - late > 1:
                    add_at(samples, 0, t - late, knock(self.RATE), 0.1, rate=self.RATE)
            write_wav(self.path(f"{number}.wav"), samples, rate=self.RATE)

    def clocks(self, events, **checks):
        write_json(self.path("s.json"), {
            "format": "lull-session", "version": 1,
            "recordings": [{"file": "1.wav", "start": "2026-03-14T10:00:00Z"},
                           {"file": "2.wav", "start": "2026-03-14T10:00:00Z", **checks}],
            "channels": [{"name": f"c{n}", "kind": "seismic", "recording": n, "track": 1,
                          "position_m": [6 * (n - 1), 0, 0]} for n in (1, 2)]})
        with open(self.path("e.csv"), "w", encoding="utf-8") as file:
            file.write("event,kind,onset_s,end_s,channel,channels\n")
            for k, (onset_s, channel) in enumerate(sorted(events)):
                file.write(f"{k + 1},tapping,{onset_s:.6f},{onset_s + 0.1:.6f},{channel},{channel}\n")
        result = run("lull-delay", self.path("s.json"), "--events", self.path("e.csv"), "--clocks", self.path("c.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("c.csv"), encoding="utf-8") as file:
            return rows_of(file.read())

    def test_clocks_are_tied_by_shared_events(self):
        rows = self.clocks([(t, "c1") for t in self.times] + [(t - self.OFFSET_S, "c2") for t in self.times])
        self.assertEqual(rows[0]["from"], "reference")
        self.assertIn("shared events", rows[1]["from"])
        self.assertAlmostEqual(float(rows[1]["offset_s"]), self.OFFSET_S, delta=0.01)
        self.assertGreater(float(rows[1]["sigma_s"]), 0.01)  # 6 m on unknown ground

    def test_clocks_without_shared_events_are_not_tied(self):
        rows = self.clocks([(10.0, "c1"), (31.0, "c2")])
        self.assertEqual([row["from"] for row in rows], ["not tied"] * 2)
        self.assertEqual(rows[1]["offset_s"], "")


if __name__ == "__main__":
    main()
