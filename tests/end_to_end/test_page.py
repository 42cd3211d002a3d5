#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The page in a real browser: opened from a disk, listened to, judged, exported, reloaded, by keyboard
alone; no request leaves it, nothing is complained about."""
import base64
import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
import unittest

import harness

try:
    from selenium import webdriver
    from selenium.webdriver.common.by import By
    from selenium.webdriver.common.keys import Keys
except ImportError:
    print("SKIPPED: selenium is not installed (python3-selenium)")
    sys.exit(77)
if not shutil.which("chromium") or not shutil.which("chromedriver"):
    print("SKIPPED: no browser to drive (chromium, chromium-driver)")
    sys.exit(77)

DEMO = os.path.join(harness.SOURCE, "data", "demo")
PATIENCE_S = 30  # a busy machine decodes and draws slowly
QUIET_PEAK = 1e-4  # -80 dB full scale: less is no sound at all


def browser(downloads):
    options = webdriver.ChromeOptions()
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1280,900",
                     "--autoplay-policy=no-user-gesture-required"):
        options.add_argument(argument)
    options.add_experimental_option("prefs", {"download.default_directory": downloads})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options)


class Page(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp(prefix="lull-test-")
        cls.addClassCleanup(shutil.rmtree, cls.folder, ignore_errors=True)
        cls.review = os.path.join(cls.folder, "review")
        done = harness.run("lull-review", os.path.join(DEMO, "session.json"), "-o", cls.review, "--quiet")
        assert done.returncode == 0, done.stderr
        cls.url = "file://" + os.path.join(cls.review, "index.html")
        cls.chromium = browser(cls.folder)

    @classmethod
    def tearDownClass(cls):
        cls.chromium.quit()

    def setUp(self):
        self.chromium.get(self.url)
        self.chromium.execute_script("localStorage.clear()")
        self.chromium.get(self.url)

    def until(self, found, what):
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            result = found()
            if result:
                return result
            time.sleep(0.1)
        self.fail(f"waited {PATIENCE_S} s in vain: {what}")

    def press(self, keys):
        webdriver.ActionChains(self.chromium).send_keys(keys).perform()

    def event_article(self):
        articles = self.chromium.find_elements(By.CSS_SELECTOR, "article[id^=event-]")
        self.assertGreater(len(articles), 3)
        return articles[0]

    def exported(self):
        path = os.path.join(self.folder, "judgements.csv")
        if os.path.exists(path):
            os.remove(path)
        self.press("e")
        self.until(lambda: os.path.exists(path), "the exported file")
        with open(path, newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def test_a_judgement_by_keyboard_alone_survives_a_reload_and_is_read_back(self):
        reviewer = self.chromium.find_element(By.ID, "reviewer")
        reviewer.send_keys("R1" + Keys.ESCAPE)
        self.chromium.execute_script("document.activeElement.blur()")
        for key in "naj":
            self.press(key)
        self.until(lambda: self.chromium.find_elements(By.CSS_SELECTOR, "#noted tr"), "the row")
        self.assertIn("1 ", self.chromium.find_element(By.ID, "pending").text)
        rows = self.exported()
        self.assertEqual([row["judgement"] for row in rows], ["agree"])
        self.assertEqual(rows[0]["reviewer"], "R1")
        self.assertIn("0 ", self.chromium.find_element(By.ID, "pending").text)
        self.chromium.get(self.url)
        self.assertEqual(len(self.chromium.find_elements(By.CSS_SELECTOR, "#noted tr")), 1)

        with open(os.path.join(self.review, "SHA256SUMS"), encoding="utf-8") as sums:
            digest = next(line.split()[0] for line in sums if line.endswith("report.json\n"))
        self.assertEqual(rows[0]["report digest"], digest)
        again = os.path.join(self.folder, "again")
        done = harness.run("lull-review", os.path.join(DEMO, "session.json"), "-o", again, "--quiet",
                           "--judgements", os.path.join(self.folder, "judgements.csv"))
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(again, "index.html"), encoding="utf-8") as page:
            self.assertIn("Judgements of reviewers", page.read())
        with open(os.path.join(again, "events.csv"), encoding="utf-8") as one, \
                open(os.path.join(self.review, "events.csv"), encoding="utf-8") as other:
            self.assertEqual(one.read(), other.read(), "a judgement altered an automatic table")

    def test_a_cell_that_a_spreadsheet_would_run_is_neutralised(self):
        self.chromium.find_element(By.ID, "reviewer").send_keys("=1+1")
        self.chromium.execute_script("document.activeElement.blur()")
        for key in "nuj":
            self.press(key)
        self.assertEqual(self.exported()[0]["reviewer"], "'=1+1")

    def test_each_ear_hears_the_channel_chosen_for_it(self):
        # The last node before the loudspeakers is tapped, and each ear's sound is measured.
        self.chromium.execute_script("""
            window.heard = [0, 0];
            const connect = AudioNode.prototype.connect;
            AudioNode.prototype.connect = function (to, ...more) {
              if (to === this.context.destination) {
                const split = new ChannelSplitterNode(this.context, {numberOfOutputs: 2});
                connect.call(this, split);
                [0, 1].forEach((ear) => {
                  const meter = new AnalyserNode(this.context, {fftSize: 32768});
                  connect.call(split, meter, ear);
                  const values = new Float32Array(32768);
                  setInterval(() => {
                    meter.getFloatTimeDomainData(values);
                    for (const v of values) window.heard[ear] = Math.max(window.heard[ear], Math.abs(v));
                  }, 50);
                });
              }
              return connect.call(this, to, ...more);
            };""")
        article = self.event_article()
        selects = article.find_elements(By.CSS_SELECTOR, ".listen select")
        self.assertNotEqual(selects[0].get_attribute("value"), selects[1].get_attribute("value"))
        self.press("n")
        self.press("l")
        heard = self.until(lambda: (lambda h: h if min(h) > QUIET_PEAK else None)(
            self.chromium.execute_script("return window.heard")), "sound on both ears")
        self.assertLessEqual(max(heard), 1.0)
        self.press("x")
        canvas = article.find_element(By.TAG_NAME, "canvas")
        self.assertTrue(canvas.is_displayed(), "no waveforms")

    def test_excerpts_play_from_the_disk(self):
        state = self.chromium.execute_async_script("""
            const done = arguments[0], audio = document.querySelector("article audio");
            audio.addEventListener("playing", () => done("playing"));
            audio.addEventListener("error", () => done("error"));
            audio.muted = true; audio.play();""")
        self.assertEqual(state, "playing")

    def test_the_time_line_zooms_to_a_second(self):
        self.until(lambda: self.chromium.find_elements(By.CSS_SELECTOR, "#time-line-view svg"), "time line")
        whole = self.chromium.find_element(By.ID, "time-line-range").text
        for _ in range(12):
            self.press("+")
        begin, end = self.chromium.find_element(By.ID, "time-line-range").text.split(" - ")
        seconds = [sum(float(part) * 60 ** i for i, part in enumerate(reversed(text.split(":"))))
                   for text in (begin, end)]
        self.assertAlmostEqual(seconds[1] - seconds[0], 1.0, delta=0.02)
        self.press("0")
        self.assertEqual(self.chromium.find_element(By.ID, "time-line-range").text, whole)

    def test_nothing_leaves_and_nothing_is_complained_about(self):
        self.press("n")
        self.press("m")
        self.until(lambda: "playing" in self.event_article().text, "sound")
        complaints = [entry for entry in self.chromium.get_log("browser") if entry["level"] in
                      ("SEVERE", "WARNING")]
        self.assertEqual(complaints, [])
        for entry in self.chromium.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                self.assertTrue(url.startswith(("file://", "data:", "blob:")), url)

    def review_with(self, name, *options):
        folder = os.path.join(self.folder, name)
        done = harness.run("lull-review", os.path.join(DEMO, "session.json"), "-o", folder, "--quiet",
                           "--log", os.path.join(DEMO, "log.csv"), *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        return folder

    def test_a_blind_page_plays_all_and_tells_nothing(self):
        folder = self.review_with("blind", "--blind")
        self.assertEqual({name for name in os.listdir(folder) if name.endswith((".csv", ".json"))}, set())
        self.chromium.get("file://" + os.path.join(folder, "index.html"))
        self.assertEqual(self.chromium.find_elements(By.CSS_SELECTOR, "[id^=event-], #time-line"), [])
        slices = self.chromium.find_elements(By.TAG_NAME, "article")
        self.assertEqual(len(slices), 5)  # 90 s in slices of 20 s
        self.press("n")
        self.press("m")
        self.until(lambda: "playing" in slices[0].text, "sound")
        self.assertEqual([entry for entry in self.chromium.get_log("browser")
                          if entry["level"] == "SEVERE"], [])

    def test_what_is_to_be_left_out_is_left_out_everywhere(self):
        with open(os.path.join(DEMO, "log.csv"), newline="", encoding="utf-8") as file:
            noted = list(csv.DictReader(file))
        folder = self.review_with("share", "--share", "--pictures")
        for where, _, files in os.walk(folder):
            for name in files:
                self.assertFalse(name.endswith((".flac", ".js")), name)
                with open(os.path.join(where, name), "rb") as file:
                    content = file.read().decode("utf-8", "replace")
                self.assertNotIn(harness.SOURCE, content, name)
                self.assertNotIn("recording.flac", content, name)
                for row in noted:
                    if len(row["text"]) > 6:
                        self.assertNotIn(row["text"], content, name)
        with open(os.path.join(folder, "READ-FIRST.txt"), encoding="utf-8") as file:
            self.assertIn("No file in this folder contains sound", file.read())
        withheld = os.path.join(self.folder, "withheld.csv")
        with open(withheld, "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n40,60\n")
        folder = self.review_with("withheld", "--withhold", withheld)
        with open(os.path.join(folder, "events.csv"), newline="", encoding="utf-8") as file:
            onsets = {int(row["event"]): float(row["onset_s"]) for row in csv.DictReader(file)}
        sounds = [int(name[6:9]) for name in os.listdir(os.path.join(folder, "excerpts"))]
        self.assertGreater(len(sounds), 10)
        self.assertTrue(any(40 < onset < 60 for onset in onsets.values()), "nothing was withheld")
        for number in sounds:
            self.assertFalse(39 < onsets[number] < 61, f"event {number} at {onsets[number]} s")

    def test_it_fits_a_phone_and_prints_with_the_caution_on_every_sheet(self):
        self.chromium.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
            "width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True})
        wider = self.chromium.execute_script(
            "return document.documentElement.scrollWidth - document.documentElement.clientWidth")
        self.chromium.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
        self.assertLessEqual(wider, 0, "the page scrolls sideways on a phone")
        for size in ((8.27, 11.69), (8.5, 11.0)):  # A4, Letter, inches
            sheet = self.chromium.execute_cdp_cmd("Page.printToPDF", {
                "paperWidth": size[0], "paperHeight": size[1], "preferCSSPageSize": False})
            path = os.path.join(self.folder, "printed.pdf")
            with open(path, "wb") as file:
                file.write(base64.b64decode(sheet["data"]))
            if not shutil.which("pdftotext"):
                self.skipTest("pdftotext is not installed")
            text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True,
                                  check=True).stdout
            sheets = text.split("\f")[:-1]
            self.assertGreater(len(sheets), 2)
            for number, words in enumerate(sheets, 1):
                self.assertIn("nobody is there", " ".join(words.split()), f"sheet {number}")
                self.assertIn(f"{number}/{len(sheets)}", words, f"sheet {number}")


if __name__ == "__main__":
    harness.main()
