#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The picture of a stretch, which the page draws from sound: each channel's tone at its frequency and time, and a
notice where there is no sound."""
import os
import shutil
import time

import numpy as np

import harness
from browser import WithBrowser
from harness import add_at, knock, noise, run, write_wav
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By

RATE, LENGTH_S, SEED = 16000, 60, 9
TONES_HZ, TONE_S = (700.0, 1900.0), (41.0, 42.0)  # one a channel, without other sound
HERTZ_WITHIN = 60.0  # two bins of the window
WAVE_SHARE, AXIS = 0.28, 18  # of the picture's height, as page/view.js divides it


class Spectrograms(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        samples = noise(LENGTH_S, 2, RATE, 0.001, SEED)
        for k in range(4):
            for channel in range(2):
                add_at(samples, channel, 10.0 + 0.6 * k, knock(RATE), 0.3)
        t = np.arange(int((TONE_S[1] - TONE_S[0]) * RATE)) / RATE
        first = int(TONE_S[0] * RATE)
        for channel, hertz in enumerate(TONES_HZ):
            samples[first:first + len(t), channel] += 0.05 * np.sin(2 * np.pi * hertz * t)
        write_wav(os.path.join(cls.folder, "a.wav"), samples, RATE)
        cls.review = os.path.join(cls.folder, "out")
        done = run("lull-review", os.path.join(cls.folder, "a.wav"), "-o", cls.review, "--quiet")
        assert done.returncode == 0, done.stderr

    def seen(self, channel):
        """Grey values of the picture of 38 to 45 s, from low frequencies up, and its stretch."""
        self.chromium.find_element(By.CSS_SELECTOR, "#look select").send_keys(f"ch{channel + 1}")
        def drawn():
            return self.chromium.execute_script("return document.querySelector('#look canvas').dataset.drawn")
        self.until(lambda: drawn() not in (None, "overview", "none"), "a picture")
        size, pixels = self.chromium.execute_script(f"""
            const canvas = document.querySelector("#look canvas"), scale = canvas.width / canvas.clientWidth;
            const high = Math.round(scale * Math.round((canvas.clientHeight - {AXIS}) * {1 - WAVE_SHARE}));
            const image = canvas.getContext("2d").getImageData(0, 0, canvas.width, high);
            return [[high, canvas.width], [...image.data].filter((_, i) => i % 4 === 0)];""")
        begin, end = (float(part) for part in drawn().split())
        return np.array(pixels).reshape(size)[::-1], begin, end

    def test_each_channel_shows_its_own_tone_at_its_time(self):
        self.open(self.review)
        self.chromium.execute_script("localStorage.setItem('lull-look', 'light')")
        self.open(self.review)
        for channel, hertz in enumerate(TONES_HZ):
            whole = self.chromium.find_element(By.CSS_SELECTOR, "#whole canvas")
            width = self.still(whole)["width"]
            ActionChains(self.chromium).move_to_element_with_offset(
                whole, int((TONE_S[0] + 0.5) / LENGTH_S * width - width / 2), 0).click().perform()
            time.sleep(1.0)  # a new picture replaces the last one
            grey, begin, end = self.seen(channel)
            self.assertLess(begin, TONE_S[0])
            columns = [int((t - begin) / (end - begin) * grey.shape[1]) for t in (TONE_S[0] + 0.2, TONE_S[1] - 0.2)]
            row = int(np.argmin(grey[:, columns[0]:columns[1]].mean(axis=1)))
            self.assertAlmostEqual((row + 0.5) / grey.shape[0] * 4000, hertz, delta=HERTZ_WITHIN)
            before = int((TONE_S[0] - 0.3 - begin) / (end - begin) * grey.shape[1])
            self.assertGreater(grey[row, :before].mean(), grey[row, columns[0]:columns[1]].mean() + 60)

    def test_a_missing_sound_is_reported(self):
        gone = os.path.join(self.folder, "gone")
        shutil.copytree(self.review, gone)
        shutil.rmtree(os.path.join(gone, "sound"))
        shutil.rmtree(os.path.join(gone, "excerpts"))
        self.open(gone)
        self.until(lambda: "no sound" in self.chromium.find_element(By.ID, "playing").text, "what is wrong")


if __name__ == "__main__":
    harness.main()
