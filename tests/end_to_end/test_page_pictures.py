#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the pictures show, read back from the files and set against SciPy: a tone at its frequency and
level, a click at its time."""
import base64
import csv
import json
import os
import re
import struct
import sys
import zlib

import numpy as np

import harness
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
GREY_STEP = 17  # sixteen greys: a value at the edge of two may fall to either
RANGE_DB, HIGH_HZ = 60.0, 4000.0
LEVEL_WITHIN_DB = 1.5  # the noise floor is estimated from the recording, and levels drawn in pixels
ONSET_WITHIN_S = 0.006  # two columns of a waveform


def read_png(data):
    """Grey, 8 bit, not interlaced: ISO/IEC 15948, by its own filters."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed, width, height = 8, b"", 0, 0
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour, *_ = struct.unpack(">IIBBBBB", body)
            assert (depth, colour) == (8, 0)
        packed += body if kind == b"IDAT" else b""
        at += 12 + size
    raw = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, width + 1).astype(int)
    image = np.zeros((height, width), int)
    for y, (rule, *line) in enumerate(raw):
        above = image[y - 1] if y else np.zeros(width, int)
        for x, value in enumerate(line):
            left, up = (image[y][x - 1] if x else 0), above[x]
            corner = above[x - 1] if x else 0
            guess = left + up - corner
            near = min((left, up, corner), key=lambda v: abs(guess - v))
            image[y][x] = (value + (0, left, up, (left + up) // 2, near)[rule]) % 256
    return image


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
        with open(self.path("out", "events.csv"), newline="", encoding="utf-8") as file:
            self.events = list(csv.DictReader(file))

    def picture(self, time_s):
        """SVG, and spectrogram, of the event that begins nearest to a time."""
        event = min(self.events, key=lambda e: abs(float(e["onset_s"]) - time_s))
        self.assertAlmostEqual(float(event["onset_s"]), time_s, delta=0.1, msg=f"seed {SEED}")
        stem = self.path("out", "pictures", f"event-{int(event['event']):03}")
        with open(stem + ".svg", encoding="utf-8") as file:
            svg = file.read()
        with open(stem + "-spectrogram.png", "rb") as file:
            png = file.read()
        self.assertIn(base64.b64encode(png).decode(), svg)
        return svg, read_png(png), ("stairwell", "north-slab").index(event["channel"])

    def times_of(self, svg, columns):
        """The time in the middle of each column of the spectrogram, from where it stands on the axis."""
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

    def test_a_spectrogram_is_that_of_scipy_pixel_by_pixel(self):
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
        # A sine's mean square against noise through the window's equivalent bandwidth of 1.5 bins.
        noise_in_bin = NOISE_RMS ** 2 / (RATE / 2) * 1.5 * RATE / WINDOW
        over_db = 10 * np.log10(TONE_PEAK ** 2 / 2 / noise_in_bin)
        drawn_db = (before[row].mean() - during[row].mean()) / 255 * RANGE_DB
        # The mean of the decibels of noise lies 2.5 dB under its power (1.3 dB above, where a row
        # shows the louder of two bins).
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

    def level_of(self, from_s, to_s):
        """Largest mean power of any 50 ms in the band, over the noise's own, by SciPy, in dB."""
        band = signal.butter(4, [60, 2000], "bandpass", fs=RATE, output="sos")
        power = signal.sosfilt(band, self.samples[:, 0]) ** 2
        running = np.convolve(power, np.ones(800) / 800, "valid")
        quiet = power[2 * RATE:14 * RATE].mean()
        return 10 * np.log10(running[int(from_s * RATE):int(to_s * RATE) - 800].max() / quiet)

    def test_the_level_is_that_of_scipy_on_the_page_and_in_the_picture(self):
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = json.loads(re.search(r'id="page-data">(.*?)</script>', file.read()).group(1))
        course = page["courses"][0]
        steps = np.frombuffer(base64.b64decode(course["db"]), np.uint8)
        levels = steps / 4 - 20.25
        with open(self.path("out", "pictures", "time-line.svg"), encoding="utf-8") as file:
            svg = file.read()
        points = [tuple(map(float, pair.split(","))) for pair in
                  re.search(r'points="([^"]+)"', svg).group(1).split()]
        for begin in (5, 10, 15, 16):
            expected = self.level_of(begin, begin + 1)
            on_page = levels[int((begin - course["first"]) / course["step"])]
            self.assertAlmostEqual(on_page, expected, delta=LEVEL_WITHIN_DB, msg=f"second {begin}")
            x = 130 + (begin + 0.5) / LENGTH_S * (960 - 130 - 20)
            y = min(points, key=lambda p: abs(p[0] - x))[1]
            drawn = (26 + 56 - y) / 56 * 40
            self.assertAlmostEqual(drawn, max(expected, 0), delta=LEVEL_WITHIN_DB, msg=f"second {begin}")


if __name__ == "__main__":
    harness.main()
