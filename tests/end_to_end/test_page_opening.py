#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the page makes only on demand: it is there without scripts, on paper, for a link, for the browser's search
and for the keyboard. What lies in files beside the page is loaded on demand."""
import os
import re

import numpy as np

import harness
from browser import WithBrowser
from harness import add_at, knock, noise, run, write_json, write_wav
from selenium.webdriver.common.by import By

RATE, SEED, CHANNELS = 8000, 7, 8
GROUPS, TAPS, APART_S = 90, 4, 3


class Opening(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        with open(os.path.join(cls.review, "index.html"), encoding="utf-8") as file:
            cls.html = file.read()
        cls.finds = re.findall(r'<article id="(find-\d+)"', cls.html)

    def test_the_page_opens_without_heavy_elements(self):
        at_once = re.sub(r"<noscript>.*?</noscript>", "", self.html, flags=re.DOTALL)
        for element in ("<svg", "<audio", "<image"):
            self.assertIn(element, self.html)
            self.assertNotIn(element, at_once)

    def test_without_scripts_everything_is_shown(self):
        self.chromium.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        self.addCleanup(self.chromium.execute_cdp_cmd, "Emulation.setScriptExecutionDisabled", {"value": False})
        self.open(self.review)
        root = self.chromium.execute_cdp_cmd("DOM.getDocument", {"depth": 0})["root"]["nodeId"]

        def count(selector):
            return len(self.chromium.execute_cdp_cmd(
                "DOM.querySelectorAll", {"nodeId": root, "selector": selector})["nodeIds"])
        self.assertEqual(count("article svg image"), len(re.findall("<image ", self.html)))
        self.assertEqual(count("article audio"), len(re.findall("<audio ", self.html)))
        self.assertEqual(count("#whole img"), 1)
        self.assertGreater(count("#finds tbody tr"), 5)


class More(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        random = np.random.default_rng(SEED)
        samples = noise(GROUPS * APART_S + 10, CHANNELS, RATE, seed=SEED)
        for group in range(GROUPS):
            # Each from another place, since those from one place are one find.
            interval_s, pitch_hz = random.uniform([0.3, 150], [0.5, 1500])
            nearest = random.permutation(CHANNELS)
            for tap in range(TAPS):
                time_s = 5 + group * APART_S + tap * interval_s + random.uniform(0, 0.03)
                for channel in range(CHANNELS):
                    add_at(samples, channel, time_s + 0.004 * nearest[channel], knock(RATE, pitch_hz),
                           0.2 * 0.6 ** nearest[channel], RATE)
        write_wav(os.path.join(cls.folder, "a.wav"), samples, RATE)
        names = ["stairwell", "north-slab", "lift-shaft", "ramp-edge", "boiler-room", "south-wall", "canteen",
                 "court"]
        write_json(os.path.join(cls.folder, "s.json"), {
            "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": "seismic", "track": track + 1}
                         for track, name in enumerate(names)]})
        cls.review = os.path.join(cls.folder, "out")
        done = run("lull-review", os.path.join(cls.folder, "s.json"), "-o", cls.review, "--quiet")
        assert done.returncode == 0, done.stderr
        cls.parts = sorted(os.listdir(os.path.join(cls.review, "details")))
        with open(os.path.join(cls.review, "index.html"), encoding="utf-8") as file:
            cls.inside = re.findall(r'<article id="(find-\d+)"', file.read())
        cls.beside = []
        for part in cls.parts:
            with open(os.path.join(cls.review, "details", part), encoding="utf-8") as file:
                cls.beside.append(re.findall(r'article id=\\"(find-\d+)\\"', file.read()))

    def setUp(self):
        self.assertGreater(len(self.beside), 0, "nothing lies beside the page")
        self.chromium.get_log("browser")  # errors of an earlier test
        self.open(self.review)

    def current(self):
        return self.chromium.execute_script("return document.querySelector('article.current')?.id")

    def test_a_find_in_a_separate_file_is_loaded_when_opened(self):
        name = self.beside[-1][-1]
        self.chromium.get(f"file://{self.review}/index.html#{name}")
        self.until(lambda: self.current() == name, "the find of the address")
        self.assertTrue(self.chromium.find_elements(By.CSS_SELECTOR, "article.current svg[data-from]"), "no figure")
        self.press("h")
        self.until(lambda: "playing" in self.chromium.find_element(By.ID, "playing").text, "its sound")
        self.chromium.execute_script("localStorage.setItem('lull-reviewer', 'R1')")
        self.press("d")
        self.until(lambda: self.count("#noted td") > 0, "its judgement")
        self.assertEqual([entry for entry in self.chromium.get_log("browser") if entry["level"] == "SEVERE"], [])
        self.chromium.execute_script("localStorage.clear()")

    def test_the_find_after_the_last_loaded_one_is_loaded(self):
        self.chromium.get(f"file://{self.review}/index.html#{self.inside[-1]}")
        self.until(lambda: self.current() == self.inside[-1], "the last in the page")
        self.press("n")
        self.until(lambda: self.current() == self.beside[0][0], "the first of the next part")


if __name__ == "__main__":
    harness.main()
