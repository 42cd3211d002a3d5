#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The content of pictures, read from the files and compared with SciPy: a tone at its frequency and level, a click
at its time, the whole recording."""
import base64
import csv
import json
import os
import re
import sys

import numpy as np

import harness
from pictures import read_png
from harness import Folder, noise, run, write_json, write_wav

try:
    from scipy import signal
except ImportError:
    print("SKIPPED: scipy is not installed (python3-scipy)")
    sys.exit(77)

RATE = 16000
SEED = 20
NOISE_RMS, TONE_PEAK, TONE_HZ = 0.001, 0.03, 1000.0
TONE_S, CLICK_S, LENGTH_S = (15.0, 16.5), 26.0, 40
WINDOW = 512  # samples: the picture's 32 ms
GREY_STEP = 17  # sixteen greys; a value between two may become either
RANGE_DB, HIGH_HZ = 60.0, 4000.0
ONSET_WITHIN_S = 0.006  # two columns of a waveform


def number(text, name):
    return float(re.search(rf'{name}="([^"]+)"', text).group(1))


class Pictures(Folder):
    @classmethod
    def setUpClass(cls):
        samples = noise(LENGTH_S, 2, RATE, NOISE_RMS, SEED)
        t = np.arange(int((TONE_S[1] - TONE_S[0]) * RATE)) / RATE
        first = int(TONE_S[0] * RATE)
        samples[first:first + len(t), 0] += TONE_PEAK * np.sin(2 * np.pi * TONE_HZ * t)
        samples[int(CLICK_S * RATE):int(CLICK_S * RATE) + 3, :] += 0.3
        cls.samples = samples

    def setUp(self):
        super().setUp()
        write_wav(self.path("a.wav"), self.samples, RATE, bits=24)
        write_json(self.path("s.json"), {
            "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": "seismic", "track": track + 1}
                         for track, name in enumerate(("stairwell", "north-slab"))]})
        done = run("lull-review", self.path("s.json"), "-o", self.path("out"), "--pictures", "--quiet",
                   "--list-from", "0")
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(self.path("out", "finds.csv"), newline="", encoding="utf-8") as file:
            self.finds = list(csv.DictReader(file))

    def picture(self, time_s):
        """SVG and spectrogram of the find that begins nearest to a time."""
        find = min(self.finds, key=lambda f: abs(float(f["from_s"]) - time_s))
        self.assertAlmostEqual(float(find["from_s"]), time_s, delta=0.1, msg=f"seed {SEED}")
        stem = self.path("out", "pictures", f"find-{int(find['find']):03}")
        with open(stem + ".svg", encoding="utf-8") as file:
            svg = file.read()
        with open(stem + "-spectrogram.png", "rb") as file:
            png = file.read()
        self.assertIn(base64.b64encode(png).decode(), svg)
        return svg, read_png(png), ("stairwell", "north-slab").index(find["channel"])

    def times_of(self, svg, columns):
        """The time in the middle of each column of the spectrogram, from its position on the axis."""
        image = re.search(r"<image [^>]*?href", svg).group()
        begin, end, left, right = (number(svg, "data-" + n) for n in ("from", "to", "left", "right"))
        x = number(image, " x") + (np.arange(columns) + 0.5) / columns * number(image, "width")
        return begin + (x - left) / (right - left) * (end - begin)

    def expected(self, channel, times, height):
        window = signal.get_window("hann", WINDOW)
        firsts = np.round(times * RATE).astype(int) - WINDOW // 2
        frames = np.stack([self.samples[first:first + WINDOW, channel] for first in firsts])
        power = 2 * np.abs(np.fft.rfft(frames * window)) ** 2 / window.sum() ** 2
        edges = np.round(np.arange(height + 1) * HIGH_HZ / height / (RATE / WINDOW)).astype(int)
        rows = np.stack([power[:, low:max(low + 1, high)].max(axis=1)
                         for low, high in zip(edges[:-1], edges[1:])])
        below = 10 * np.log10(power.max() / rows)
        grey = np.round(255 * np.clip(below / RANGE_DB, 0, 1)).astype(int) // GREY_STEP * GREY_STEP
        return grey[::-1]

    def test_a_spectrogram_equals_scipys_pixel_by_pixel(self):
        for time_s in (TONE_S[0], CLICK_S):
            svg, image, channel = self.picture(time_s)
            times = self.times_of(svg, image.shape[1])
            off = np.abs(image - self.expected(channel, times, image.shape[0]))
            self.assertLessEqual(off.max(), GREY_STEP)
            self.assertLess(np.mean(off > 0), 0.02, "more than values at the edge of two greys")

    def test_a_tone_is_at_its_frequency_and_level(self):
        svg, image, channel = self.picture(TONE_S[0])
        self.assertEqual(channel, 0)
        times = self.times_of(svg, image.shape[1])
        during = image[:, (times > TONE_S[0] + 0.1) & (times < TONE_S[1] - 0.1)]
        before = image[:, times < TONE_S[0] - 0.1]
        row = int(np.argmin(during.mean(axis=1)))
        hertz = HIGH_HZ * (image.shape[0] - row - 0.5) / image.shape[0]
        self.assertAlmostEqual(hertz, TONE_HZ, delta=RATE / WINDOW)
        # A sine's mean square relative to noise in the window's equivalent bandwidth of 1.5 bins.
        noise_in_bin = NOISE_RMS ** 2 / (RATE / 2) * 1.5 * RATE / WINDOW
        over_db = 10 * np.log10(TONE_PEAK ** 2 / 2 / noise_in_bin)
        drawn_db = (before[row].mean() - during[row].mean()) / 255 * RANGE_DB
        # The mean of the decibels of noise lies 2.5 dB under its power (1.3 dB above, where a row shows the
        # louder of two bins).
        self.assertAlmostEqual(drawn_db, over_db, delta=4.0)

    def test_a_click_is_at_its_time(self):
        svg, image, _ = self.picture(CLICK_S)
        times = self.times_of(svg, image.shape[1])
        loudest = times[int(np.argmin(image.mean(axis=0)))]
        self.assertAlmostEqual(loudest, CLICK_S, delta=WINDOW / RATE / 2)
        begin, end, left, right = (number(svg, "data-" + n) for n in ("from", "to", "left", "right"))
        waves = re.findall(r'd="M([0-9.]+) ([0-9.]+)((?:[hv]-?\d+)+)"', svg)
        self.assertEqual(len(waves), 2)
        for x, _, moves in waves:
            at, level, best = float(x), 0, (0, 0.0)
            for way, much in re.findall(r"([hv])(-?\d+)", moves):
                at += int(much) if way == "h" else 0
                level += int(much) if way == "v" else 0
                best = max(best, (abs(level), at))
            time_s = begin + (best[1] - left) / (right - left) * (end - begin)
            self.assertAlmostEqual(time_s, CLICK_S, delta=ONSET_WITHIN_S)
        onsets = [begin + (float(x) - left) / (right - left) * (end - begin) for x in
                  re.findall(r'<line x1="([0-9.]+)"[^>]*stroke-dasharray', svg)]
        self.assertEqual(len(onsets), 3)  # on the spectrogram and on each waveform
        for onset in onsets:
            self.assertAlmostEqual(onset, CLICK_S, delta=ONSET_WITHIN_S)

    def test_the_overview_shows_levels_over_the_usual_one_of_each_frequency(self):
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            about = json.loads(re.search(r'id="page-data">(.*?)</script>', file.read()).group(1))["overview"]
        tone, other = (read_png(base64.b64decode(one["png"])) for one in about)
        step_s = (about[0]["to"] - about[0]["from"]) / tone.shape[1]
        self.assertAlmostEqual(about[0]["to"], LENGTH_S, delta=step_s)
        row = tone.shape[0] - 1 - int(TONE_HZ / about[0]["high"] * tone.shape[0])

        def columns(begin, end):
            return slice(int(begin / step_s) + 1, int(end / step_s) - 1)
        during = columns(*TONE_S)
        self.assertLessEqual(tone[row, during].max(), GREY_STEP)  # at least 30 dB over
        self.assertGreater(np.median(other[row, during]), 150, "the other channel has no tone")
        self.assertGreater(np.median(tone[row, columns(2, 14)]), 150, "before it there was none")
        click = columns(CLICK_S - 3 * step_s, CLICK_S + 4 * step_s)
        self.assertTrue(((tone[:, click] < 100).all(axis=0)).any(), "a click has every frequency")


if __name__ == "__main__":
    harness.main()
