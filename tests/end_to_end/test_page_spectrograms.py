#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The spectrograms that the page's script draws of the other channels, set against SciPy pixel by pixel; and
that there are none where the sound was left out."""
import os

import numpy as np

import harness
import test_page_pictures as pictures
from browser import WithBrowser
from harness import noise, run, write_json, write_wav

NAMES = ("stairwell", "north-slab", "lift-shaft")
BURST_S, BURST_PEAK = 12.0, 0.2
TONES_HZ = (500.0, 1200.0, 2600.0)  # one for each channel
LENGTH_S, SEED = 24, 31
GREY_STEP = pictures.GREY_STEP
OFF_SHARE = 0.03  # values at the edge of two greys; the excerpt has 16 bits, and is faded at its ends


class Drawn(WithBrowser):
    rate, window = pictures.RATE, pictures.WINDOW

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.addClassCleanup(setattr, pictures, "RATE", pictures.RATE)
        cls.addClassCleanup(setattr, pictures, "WINDOW", pictures.WINDOW)
        rate = pictures.RATE = cls.rate
        pictures.WINDOW = cls.window
        samples = noise(LENGTH_S, len(NAMES), rate, pictures.NOISE_RMS, SEED)
        t = np.arange(int(0.4 * rate)) / rate
        for channel, hertz in enumerate(TONES_HZ):
            first = int(BURST_S * rate) + 40 * channel
            samples[first:first + len(t), channel] += (BURST_PEAK / (channel + 1) * np.exp(-t / 0.08)
                                                       * np.sin(2 * np.pi * hertz * t))
        cls.samples = samples
        write_wav(os.path.join(cls.folder, "a.wav"), samples, rate, bits=24)
        cls.session = os.path.join(cls.folder, "s.json")
        write_json(cls.session, {
            "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": "seismic", "track": track + 1}
                         for track, name in enumerate(NAMES)]})
        cls.review = cls.reviewed("out")

    @classmethod
    def reviewed(cls, name, *options):
        folder = os.path.join(cls.folder, name)
        done = run("lull-review", cls.session, "-o", folder, "--quiet", *options)
        assert done.returncode == 0, done.stderr
        return folder

    def drawn(self):
        """Of each picture: its channel, its greys from the top down, the time in the middle of each column."""
        self.open(self.review)
        self.all_made()
        self.press("n")
        self.press("s")
        self.until(lambda: self.count("article:focus-within svg image") == len(NAMES), "the other channels")
        return self.chromium.execute_async_script("""
            const done = arguments[0], article = document.querySelector("article[data-number]");
            (async () => {
              const all = [];
              for (const image of article.querySelectorAll("svg image")) {
                const svg = image.ownerSVGElement, { from, to, left, right } = svg.dataset;
                const picture = new Image();
                picture.src = image.getAttribute("href");
                await picture.decode();
                const { width, height } = picture;
                const canvas = document.createElement("canvas");
                Object.assign(canvas, { width, height });
                const brush = canvas.getContext("2d");
                brush.drawImage(picture, 0, 0);
                const values = brush.getImageData(0, 0, width, height).data;
                const greys = [...values].filter((_, i) => i % 4 === 0);
                const x = Number(image.getAttribute("x")), wide = Number(image.getAttribute("width"));
                const seconds = (Number(to) - Number(from)) / (Number(right) - Number(left));
                const names = [...svg.querySelectorAll("text")].map((text) => [text.textContent,
                  Number(text.getAttribute("y")) - Number(image.getAttribute("y")) - 50]);
                const name = names.filter(([text]) => /[a-z]-|stairwell/.test(text))
                  .sort((a, b) => Math.abs(a[1]) - Math.abs(b[1]))[0][0];
                all.push({ name, width, height, greys, onset: [...svg.querySelectorAll("line[stroke-dasharray]")]
                    .map((line) => Number(from) + (Number(line.getAttribute("x1")) - Number(left)) * seconds),
                  begin: Number(from) + (x - Number(left)) * seconds, step: wide * seconds / width });
              }
              return all;
            })().then(done, (fault) => done(String(fault)));""")

    def test_each_channel_is_drawn_as_scipy_would(self):
        drawn = self.drawn()
        self.assertIsInstance(drawn, list, drawn)
        self.assertEqual({one["name"] for one in drawn}, set(NAMES))
        for one in drawn:
            channel = NAMES.index(one["name"])
            image = np.array(one["greys"]).reshape(one["height"], one["width"])
            times = one["begin"] + (np.arange(one["width"]) + 0.5) * one["step"]
            off = np.abs(image - pictures.Pictures.expected(self, channel, times, one["height"]))
            self.assertLessEqual(np.mean(off > GREY_STEP), 0.002, one["name"])
            self.assertLess(np.mean(off > 0), OFF_SHARE, f"{one['name']}, seed {SEED}")
            loudest = np.unravel_index(np.argmin(image + 1e-3 * np.arange(image.shape[0])[:, None]), image.shape)
            hertz = pictures.HIGH_HZ * (one["height"] - loudest[0] - 0.5) / one["height"]
            self.assertAlmostEqual(hertz, TONES_HZ[channel], delta=2 * pictures.HIGH_HZ / one["height"])
            for onset in one["onset"]:
                self.assertAlmostEqual(onset, BURST_S, delta=0.02)

    def test_without_sound_there_is_nothing_to_draw_from(self):
        self.open(self.reviewed("silent", "--no-audio"))
        self.all_made()
        self.assertGreater(self.count("article"), 0)
        self.assertEqual(self.count("[data-key=s], [data-key=l]"), 0)

    def test_a_sound_that_is_gone_is_told(self):
        folder = self.reviewed("gone")
        for name in os.listdir(os.path.join(folder, "excerpts")):
            os.remove(os.path.join(folder, "excerpts", name))
        self.open(folder)
        self.all_made()
        self.press("n")
        self.press("s")
        self.until(lambda: "not in the folder" in self.chromium.execute_script(
            "return document.querySelector('article').innerText + "
            "[...document.querySelectorAll('article output')].map((o) => o.value).join()"), "what is wrong")


class DrawnAtHalfTheRate(Drawn):
    """Up to half the rate: what decoded it must not have rounded off the top."""
    rate, window = 8000, 256


if __name__ == "__main__":
    harness.main()
