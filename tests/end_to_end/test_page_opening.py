#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the page makes only when it is wanted: it is there without a script, on paper, for a link, for the
browser's search and for the keyboard; and what lies in files beside the page comes when asked for."""
import os
import re

import numpy as np

import harness
from browser import WithBrowser
from harness import add_at, knock, noise, run, write_json, write_wav
from selenium.webdriver.common.by import By

RATE, SEED, CHANNELS = 8000, 7, 8
GROUPS, TAPS, APART_S = 26, 4, 5


class Opening(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        with open(os.path.join(cls.review, "index.html"), encoding="utf-8") as file:
            cls.html = file.read()
        cls.events = re.findall(r'<article id="(event-\d+)"', cls.html)

    def in_view(self, name):
        """Whether an event is made, and its heading in the window."""
        return self.chromium.execute_script("""
            const article = document.getElementById(arguments[0]);
            if (!article || article.querySelector("noscript")) return false;
            const box = article.querySelector("h3").getBoundingClientRect();
            return box.top >= -1 && box.bottom <= innerHeight + 1 && article.querySelector("svg") !== null;""",
                                            name)

    def test_nothing_heavy_stands_in_the_page_as_it_opens(self):
        at_once = re.sub(r"<noscript>.*?</noscript>", "", self.html, flags=re.DOTALL)
        for element in ("<svg", "<audio", "<image"):
            self.assertIn(element, self.html)
            self.assertNotIn(element, at_once)

    def test_without_a_script_all_of_it_is_shown(self):
        self.chromium.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        self.addCleanup(self.chromium.execute_cdp_cmd, "Emulation.setScriptExecutionDisabled", {"value": False})
        self.open(self.review)
        root = self.chromium.execute_cdp_cmd("DOM.getDocument", {"depth": 0})["root"]["nodeId"]

        def count(selector):
            return len(self.chromium.execute_cdp_cmd(
                "DOM.querySelectorAll", {"nodeId": root, "selector": selector})["nodeIds"])
        self.assertEqual(count("article svg image"), len(re.findall("<image ", self.html)))
        self.assertEqual(count("article audio"), len(re.findall("<audio ", self.html)))
        self.assertEqual(count("#time-line svg"), 1)

    def test_a_link_leads_to_an_event_that_was_not_made(self):
        self.never_idle()
        self.open(self.review)
        names = self.chromium.execute_script(
            "return [...document.querySelectorAll(`#heard a[href^='#event-']`)].map(a => a.hash.slice(1))")
        self.assertGreater(len(names), 20)
        for name in (names[-1], names[len(names) // 2]):
            self.open(self.review)
            self.chromium.execute_script(
                "document.querySelector(`#heard a[href='#${arguments[0]}']`).click()", name)
            self.until(lambda: self.in_view(name), f"{name} by its link")

    def test_an_address_with_an_event_opens_there(self):
        self.never_idle()
        self.chromium.get("about:blank")
        self.chromium.get(f"file://{self.review}/index.html#{self.events[-1]}")
        self.until(lambda: self.in_view(self.events[-1]), "the event of the address")

    def test_the_browser_finds_what_stands_in_the_last_event(self):
        self.open(self.review)
        self.all_made()
        found = self.chromium.execute_script("""
            const last = [...document.querySelectorAll("article:has(table)")].at(-1);
            const word = [...last.querySelectorAll("td")].map((td) => td.textContent)
              .find((text) => /^-?0\\.\\d{6}$/.test(text));
            getSelection().removeAllRanges();
            while (window.find(word)) if (last.contains(getSelection().anchorNode)) return word;
            return null;""")
        self.assertIsNotNone(found)

    def test_what_is_asked_of_an_event_by_keyboard_makes_it(self):
        self.never_idle()
        self.open(self.review)
        for _ in self.events:
            self.press("n")
        self.until(lambda: self.in_view(self.events[-1]), "the last event by keyboard")
        self.press("u")
        self.until(lambda: self.chromium.execute_script(
            "return document.getElementById(arguments[0]).querySelector('[value=unsure]').checked",
            self.events[-1]), "its judgement")


class More(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        random = np.random.default_rng(SEED)
        samples = noise(GROUPS * APART_S + 10, CHANNELS, RATE, seed=SEED)
        for group in range(GROUPS):
            interval_s, gain, pitch_hz = random.uniform([0.4, 0.05, 250], [0.7, 0.15, 500])
            for tap in range(TAPS):
                time_s = 5 + group * APART_S + tap * interval_s + random.uniform(0, 0.03)
                for channel in range(CHANNELS):
                    add_at(samples, channel, time_s + 0.003 * channel, knock(RATE, pitch_hz), gain, RATE)
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
            cls.inside = re.findall(r'<article id="(event-\d+)"', file.read())
        cls.beside = []
        for part in cls.parts:
            with open(os.path.join(cls.review, "details", part), encoding="utf-8") as file:
                cls.beside.append(re.findall(r'article id=\\"(event-\d+)\\"', file.read()))

    def setUp(self):
        self.assertGreater(len(self.beside), 1, "nothing lies beside the page")
        self.chromium.get_log("browser")  # what another test made it complain about
        self.open(self.review)

    def articles(self):
        return self.chromium.execute_script(
            "return [...document.querySelectorAll('article[id^=event-]')].map((a) => a.id)")

    def test_more_events_come_part_by_part_and_work(self):
        expected = list(self.inside)
        self.assertEqual(self.articles(), expected)
        for part in self.beside:
            more = self.chromium.find_element(By.ID, "more")
            self.chromium.execute_script("arguments[0].scrollIntoView({block: 'center'})", more)
            self.still(more)
            self.chromium.execute_script("arguments[0].click()", more)
            expected += part
            self.until(lambda: len(self.articles()) == len(expected), "more events")
            self.assertEqual(self.articles(), expected)
        self.until(lambda: not self.chromium.find_element(By.ID, "more").is_displayed(), "no more to come")
        self.all_made()
        last = self.chromium.find_element(By.ID, expected[-1])
        self.assertTrue(last.find_elements(By.CSS_SELECTOR, "svg[data-from]"), "no figure")
        self.chromium.execute_script("arguments[0].scrollIntoView(); arguments[0].focus()", last)
        self.press("m")
        self.until(lambda: "playing" in last.text, "its sound")
        self.chromium.find_element(By.ID, "reviewer").send_keys("R1")
        self.chromium.execute_script("arguments[0].focus()", last)
        for key in "dj":
            self.press(key)
        self.until(lambda: self.count("#noted tr") == 1, "its judgement")
        self.assertEqual([entry for entry in self.chromium.get_log("browser") if entry["level"] == "SEVERE"], [])
        self.chromium.execute_script("localStorage.clear()")

    def test_a_link_to_an_event_beside_the_page_brings_it(self):
        name = self.beside[-1][-1]
        link = f"#heard a[href='#{name}']"
        self.until(lambda: self.count(link) == 1, "its row in the table")
        self.chromium.execute_script("document.querySelector(arguments[0]).click()", link)
        self.until(lambda: self.chromium.execute_script("""
            const box = document.getElementById(arguments[0])?.getBoundingClientRect();
            return box !== undefined && box.top >= -1 && box.top < innerHeight;""", name), "the event")
        self.assertEqual(self.articles(), self.inside + sum(self.beside, []))

    def test_the_next_event_after_the_last_comes_from_beside(self):
        self.chromium.execute_script(
            "document.getElementById(arguments[0]).focus()", self.inside[-1])
        self.press("n")
        self.until(lambda: self.chromium.execute_script("return document.activeElement.id") ==
                   self.beside[0][0], "the first of the next part")

    def test_a_part_that_is_not_there_is_told(self):
        path = os.path.join(self.review, "details", self.parts[0])
        os.rename(path, path + ".away")
        self.addCleanup(os.rename, path + ".away", path)
        self.chromium.execute_script("document.getElementById('more').click()")
        self.until(lambda: self.chromium.execute_script(
            "return document.getElementById('more').nextElementSibling.value.includes('not in the folder')"),
            "what is wrong")


if __name__ == "__main__":
    harness.main()
