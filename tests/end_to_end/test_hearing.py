#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A small version of scripts/evaluate against committed bounds: same scenes, same scoring."""
import os
import pathlib
import sys
import tempfile
import unittest

import numpy as np

from harness import BIN, SOURCE, run, rows_of, write_wav

sys.path[:0] = [os.path.join(SOURCE, "scripts", name) for name in ("train", "evaluation")]
try:
    import listen
    import scenes
    import score
except ImportError as missing:
    print(f"SKIPPED: {missing} (python3-scipy)")
    sys.exit(77)

FIRST_SEED = 900000  # of neither training, tuning nor reporting
SECONDS = 60
CALM = ("white", "pink", "brown", "generator")
# Bounds: of the last release, less two groups (misses) or more two (false ones): a change of a threshold
# may move that many, a fault moves more. False series: the last release had 4 and called the long runs of
# machines and hand tools `other` by their rhythm. No rhythm renames tapping any more, so theirs are allowed
# here too: one more for each of these two sites and the breaker.
LEAST_CALM, LEAST_ALL, MOST_FALSE_SERIES = 17, 63, 9


def hear(seed, site, what, snr):
    samples, truth = scenes.scene(seed, site, SECONDS, what, snr)
    with tempfile.TemporaryDirectory() as folder:
        path = listen.write_scene(pathlib.Path(folder), samples, scenes.RATE)
        events, series = listen.detect(BIN, path, folder)
    return [dict(zip(("from_s", "end_s", "kind", "snr", "taps"), row)) for row in truth], events, series


class Hearing(unittest.TestCase):
    def test_groups_of_knocks_at_10_db(self):
        found = {site: [] for site in scenes.SITES}
        for k, site in enumerate(scenes.SITES):
            truth, events, _ = hear(FIRST_SEED + k, site, "knocks", 10.0)
            found[site] += [score.found(row, events, "tapping") is not None for row in truth]
        calm = [hit for site in CALM for hit in found[site]]
        every = [hit for hits in found.values() for hit in hits]
        print(f"found {sum(calm)}/{len(calm)} on calm sites, {sum(every)}/{len(every)} on all")
        self.assertGreaterEqual(sum(calm), LEAST_CALM, found)
        self.assertGreaterEqual(sum(every), LEAST_ALL, found)

    def test_false_series_where_nobody_knocks(self):
        false = {}
        for k, site in enumerate(scenes.SITES):
            _, _, series = hear(FIRST_SEED + 100 + k, site, "nothing", None)
            false[site] = sum(one["confidence"] >= score.COUNTED for one in series)
        print(f"false series in {len(scenes.SITES)} minutes: {sum(false.values())}")
        self.assertLessEqual(sum(false.values()), MOST_FALSE_SERIES, false)

    def test_tracks_show_a_knock_where_it_is(self):
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            x = 0.001 * np.random.default_rng(5).standard_normal(30 * 16000)
            ring = np.arange(1600) / 16000
            at = int(20.04 * 16000)
            x[at:at + 1600] += 0.2 * np.exp(-ring / 0.02) * np.sin(2 * np.pi * 400 * ring)
            write_wav(folder / "knock.wav", x)
            done = run("lull-detect", folder / "knock.wav", "--tracks", folder / "tracks.csv")
            self.assertEqual(done.returncode, 0, done.stderr)
            rows = rows_of((folder / "tracks.csv").read_text())
            self.assertEqual(len(rows), 300)
            loudest = max(rows, key=lambda row: float(row["impulse_score"]))
            self.assertAlmostEqual(float(loudest["from_s"]), 20.0, places=6)
            self.assertGreater(float(loudest["tapping"]), 0.0)


if __name__ == "__main__":
    unittest.main(verbosity=2)
