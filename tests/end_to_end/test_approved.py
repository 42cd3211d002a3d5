#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whole outputs of three small recordings against approved files. Changes are made deliberately: LULL_APPROVE=1
with this test writes the files anew, and the difference is read before it is committed. Other kinds of processor
may round figures differently: they may differ by a fiftieth, and digests are left out."""
import os
import re

import numpy as np

from harness import Folder, add_at, knock, main, noise, run, write_json, write_wav

RATE, LENGTH_S = 8000, 30
APPROVED = os.path.join(os.path.dirname(os.path.abspath(__file__)), "approved")
# The files that a person acts on and reads. report.json and index.html hold the same figures.
NAMES = ("finds.csv", "finds.labels.txt", "series.csv", "hails.csv", "quiet.csv", "handover.txt",
         "READ-FIRST.txt", "summary.html")
FIGURE = re.compile(r"\d+\.\d+")
APPROVING = os.environ.get("LULL_APPROVE") == "1"


def knocks(samples, begin_s, count, gain):
    for k in range(count):
        for channel in range(samples.shape[1]):
            add_at(samples, channel, begin_s + 0.6 * k + 0.002 * channel, knock(RATE, 300), gain / (1 + channel), RATE)


def horn(samples, begin_s, length_s):
    t = np.arange(int(length_s * RATE)) / RATE
    first = int(begin_s * RATE)
    tone = sum(np.sin(2 * np.pi * 420 * n * t) / n for n in (1, 2, 3, 4)) * 0.05
    samples[first:first + len(t)] += (tone * np.hanning(len(t)) ** 0.1)[:, None]


class Approved(Folder):
    def review(self, name, samples, session=None, *options):
        write_wav(self.path("a.wav"), samples, RATE)
        given = "a.wav"
        if session:
            write_json(self.path("s.json"), session)
            given = "s.json"
        done = run("lull-review", self.path(given), "-o", self.path(name), "--quiet", *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        kept = os.path.join(APPROVED, name)
        for file in NAMES:
            path = self.path(name, file)
            text = ""
            if os.path.exists(path):
                with open(path, encoding="utf-8") as opened:
                    text = opened.read()
            # Other tests check the content of pictures.
            text = re.sub(r"base64,[A-Za-z0-9+/=]+", "base64,", text)
            text = re.sub(r"\b([0-9a-f]{64}|[0-9a-f]{12})\b", "DIGEST", text)
            if APPROVING:
                os.makedirs(kept, exist_ok=True)
                if text:
                    with open(os.path.join(kept, file), "w", encoding="utf-8") as opened:
                        opened.write(text)
                continue
            expected = ""
            if os.path.exists(os.path.join(kept, file)):
                with open(os.path.join(kept, file), encoding="utf-8") as opened:
                    expected = opened.read()
            self.assertEqual(FIGURE.sub("#", text).splitlines(), FIGURE.sub("#", expected).splitlines(),
                             f"{name}/{file}")
            np.testing.assert_allclose([float(x) for x in FIGURE.findall(text)],
                                       [float(x) for x in FIGURE.findall(expected)], rtol=0.02, atol=0.02,
                                       err_msg=f"{name}/{file}")

    def test_knocks_on_three_sensors_with_a_hail(self):
        samples = noise(LENGTH_S, 3, RATE, 0.002, seed=31)
        knocks(samples, 6.0, 3, 0.3)
        knocks(samples, 14.0, 5, 0.1)
        with open(self.path("log.csv"), "w", encoding="utf-8") as file:
            file.write("time,person,action,channels,text\n5.5,A,call-out,,three knocks\n")
        positions = ([0, 0, 0], [6, 0, 0], [0, 5, 0])
        self.review("knocks", samples, {
            "format": "lull-session", "version": 1, "label": "Approved: knocks",
            "recordings": [{"file": "a.wav"}], "channels": [
                {"name": name, "kind": "seismic", "track": k + 1, "position_m": positions[k]}
                for k, name in enumerate(("stairwell", "north-slab", "lift-shaft"))]},
            "--log", self.path("log.csv"))

    def test_a_horn_signal_and_one_blow(self):
        samples = noise(LENGTH_S, 3, RATE, 0.002, seed=32)
        for k in range(3):
            horn(samples, 5.0 + 1.6 * k, 0.9)
        knocks(samples, 20.0, 1, 0.6)
        self.review("horn", samples)

    def test_nothing_but_noise(self):
        self.review("noise", noise(LENGTH_S, 2, RATE, 0.002, seed=33))


if __name__ == "__main__":
    main()
