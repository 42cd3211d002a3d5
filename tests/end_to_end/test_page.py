#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The desk in a real browser: opened from a disk, its first screen, any moment heard and seen, printed; no
request leaves it, nothing is complained about."""
import csv
import json
import os
import re

import harness
from browser import DEMO, WithBrowser
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By

QUIET_PEAK = 1e-4  # -80 dB full scale; less counts as silence
DESK = {"width": 1400, "height": 900, "deviceScaleFactor": 1, "mobile": False}
LEAST_GREYS = 20  # of a spectrogram; an axis has fewer
SHORTEST_S = 0.05  # of a displayed stretch

# Taps the last node before the loudspeakers and measures the sound of each ear.
METER = """
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
    };"""


class Page(WithBrowser):
    lists_requests = True

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        cls.url = "file://" + os.path.join(cls.review, "index.html")
        with open(os.path.join(cls.review, "finds.csv"), newline="", encoding="utf-8") as file:
            cls.finds = list(csv.DictReader(file))

    def setUp(self):
        self.chromium.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", DESK)
        self.addCleanup(self.chromium.execute_cdp_cmd, "Emulation.clearDeviceMetricsOverride", {})
        self.chromium.get(self.url)
        self.chromium.execute_script("localStorage.clear()")
        self.chromium.get(self.url)

    def drawn(self):
        """The stretch that the picture shows, once it is drawn from sound."""
        def stretch():
            text = self.chromium.execute_script(
                "return document.querySelector('#look canvas').dataset.drawn ?? ''")
            return [float(part) for part in text.split()] if re.match(r"[\d.]+ [\d.]+$", text) else None
        return self.until(stretch, "a picture drawn from sound")

    def cursor(self):
        return float(self.chromium.execute_script("return document.querySelector('#look canvas').dataset.cursor"))

    def heard(self):
        return self.until(lambda: (lambda h: h if min(h) > QUIET_PEAK else None)(
            self.chromium.execute_script("return window.heard")), "sound on both ears")

    def test_the_first_screen_shows_everything_on_a_find(self):
        outside = self.chromium.execute_script("""
            return ["p.caution", "#list .find", "#whole canvas", "#look canvas", "#fitness li", "#judge .judgement",
                    "#play", "#export"].filter((name) => {
              const box = document.querySelector(name)?.getBoundingClientRect();
              return !box || box.width < 8 || box.top < 0 || box.bottom > innerHeight || box.right > innerWidth;
            });""")
        self.assertEqual(outside, [])
        numbers = self.chromium.execute_script(
            "return [...document.querySelectorAll('#list .find b')].map((b) => b.textContent)")
        self.assertEqual(numbers, [row["find"] for row in self.finds])
        pictures = self.count("#list .find img")
        self.assertEqual(pictures, min(len(self.finds), 60))
        with open(os.path.join(self.review, "hails.csv"), newline="", encoding="utf-8") as file:
            self.assertEqual(self.count("#list .hail"), len(list(csv.DictReader(file))), "hails stand apart")
        self.assertGreater(self.drawn()[1], float(self.finds[0]["from_s"]))

    def test_one_key_plays_the_first_find_on_both_ears(self):
        self.chromium.execute_script(METER)
        self.drawn()
        self.press(" ")
        self.assertLessEqual(max(self.heard()), 1.0)
        began = self.cursor()
        self.until(lambda: self.cursor() > began, "a cursor that goes with the sound")
        self.press(" ")
        self.until(lambda: "playing" not in self.chromium.find_element(By.ID, "playing").text, "silence")

    def test_any_time_can_be_heard_and_seen(self):
        self.chromium.execute_script(METER)
        whole = self.chromium.find_element(By.CSS_SELECTOR, "#whole canvas")
        ActionChains(self.chromium).move_to_element(whole).click().perform()
        self.assertAlmostEqual(self.cursor(), 45.0, delta=0.2)  # the middle of 90 s
        self.until(lambda: (lambda d: d[0] < 45 < d[1])(self.drawn()), "the stretch of the cursor")
        self.press(" ")
        self.heard()
        self.press("x")

    def test_until_its_sound_is_there_a_find_is_seen_in_the_overview(self):
        self.drawn()
        self.chromium.execute_script("""
            window.lullSound = () => {};  // no further sound ever comes
            const canvas = document.querySelector("#look canvas");
            canvas.getContext("2d").clearRect(0, 0, canvas.width, canvas.height);""")
        self.press("n")
        self.until(lambda: len(self.chromium.execute_script("""
            const canvas = document.querySelector("#look canvas"), high = Math.floor(canvas.height / 2);
            const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, high);
            return [...new Set(data.filter((_, i) => i % 4 === 0))];""")) > LEAST_GREYS, "the overview's stretch")

    def test_zoom_goes_from_everything_to_fifty_milliseconds(self):
        self.press("0")
        readout = self.chromium.find_element(By.ID, "readout")
        self.until(lambda: readout.text.startswith(("0:00", "02:00", "00:00")) or readout.text, "all of it")
        for _ in range(12):
            self.press("+")
        self.until(lambda: abs((lambda d: d[1] - d[0])(self.drawn()) - SHORTEST_S) < 1e-6, "50 ms")

    def test_a_drag_selects_and_shows_duration_and_frequencies(self):
        self.drawn()
        look = self.chromium.find_element(By.CSS_SELECTOR, "#look canvas")
        ActionChains(self.chromium).move_to_element_with_offset(look, -100, -60).click_and_hold() \
            .move_by_offset(120, 40).release().perform()
        begin, end = self.drawn()
        width = self.chromium.execute_script("return arguments[0].clientWidth", look)
        text = self.chromium.find_element(By.ID, "readout").text
        seconds, low, high = re.search(r"selected: ([\d.]+) s, (\d+)-(\d+) Hz", text).groups()
        self.assertAlmostEqual(float(seconds), 120 / width * (end - begin), delta=2 / width * (end - begin))
        self.assertLess(int(low), int(high))

    def test_links_and_the_way_back(self):
        second = self.finds[1]["find"]
        self.press("n")
        self.until(lambda: self.chromium.current_url.endswith("#find-" + second), "the address of the second")
        self.until(lambda: self.count(f"#find-{second}.current svg") > 0, "its article")
        self.chromium.back()
        self.until(lambda: self.count("article.current") == 0 or "#find-" not in self.chromium.current_url, "back")
        self.chromium.get("about:blank")
        self.chromium.get(self.url + "#find-" + self.finds[-1]["find"])
        self.until(lambda: self.count("#list [aria-current]") == 1 and self.chromium.find_element(
            By.CSS_SELECTOR, "#list [aria-current] b").text == self.finds[-1]["find"], "the find of the address")

    def test_filters_and_orders(self):
        self.chromium.execute_script("document.getElementById('filters').open = true")
        kind = self.chromium.find_elements(By.CSS_SELECTOR, "#filters select")[1]
        kind.send_keys("horn")
        horns = [row for row in self.finds if row["kind"] == "horn"]
        self.until(lambda: self.count("#list .find") == len(horns), "horns alone")

    def test_there_are_no_requests_and_no_browser_errors(self):
        self.drawn()
        self.press("n")
        self.until(lambda: "playing" in self.chromium.find_element(By.ID, "playing").text, "sound")
        complaints = [entry for entry in self.chromium.get_log("browser") if entry["level"] in
                      ("SEVERE", "WARNING")]
        self.assertEqual(complaints, [])
        for entry in self.chromium.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                self.assertTrue(url.startswith(("file://", "data:", "blob:", "about:")), url)
        with open(os.path.join(self.review, "index.html"), encoding="utf-8") as file:
            policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', file.read()).group(1)
        scripts = next(part for part in policy.split(";") if part.strip().startswith("script-src"))
        self.assertNotIn("unsafe-inline", scripts)

    def test_a_blind_page_plays_everything_and_reveals_no_finds(self):
        folder = self.review_demo("blind", "--blind")
        self.assertEqual({name for name in os.listdir(folder) if name.endswith((".csv", ".json"))}, set())
        self.chromium.get("file://" + os.path.join(folder, "index.html"))
        self.chromium.execute_script(METER)
        self.assertEqual(self.count("[id^=find-], #list .find, #fitness"), 0)
        self.drawn()
        self.press(" ")
        self.heard()
        self.assertEqual([entry for entry in self.chromium.get_log("browser")
                          if entry["level"] == "SEVERE"], [])

    def test_it_fits_a_phone(self):
        self.as_phone()
        self.chromium.get(self.url)
        self.until(lambda: self.chromium.execute_script(
            "return document.documentElement.scrollWidth <= document.documentElement.clientWidth"),
                   "a page that does not scroll sideways on a phone")

    def check_sheets(self, sheets):
        with open(os.path.join(self.review, "SHA256SUMS"), encoding="utf-8") as sums:
            digest = next(line.split()[0] for line in sums if line.endswith("report.json\n"))[:12]
        with open(os.path.join(DEMO, "session.json"), encoding="utf-8") as file:
            label = json.load(file)["label"]
        for number, words in enumerate(sheets, 1):
            self.assertIn("nobody is there", " ".join(words.split()), f"sheet {number}")
            self.assertIn(f"{number}/{len(sheets)}", words, f"sheet {number}")
            self.assertIn(label, words, f"sheet {number}")
            self.assertIn(digest, words, f"sheet {number}")

    def test_every_sheet_carries_caution_session_digest_and_number_and_every_find_is_printed(self):
        for size in ((8.27, 11.69), (8.5, 11.0)):  # A4, Letter, inches
            sheets = self.printed(self.url, size)
            self.assertGreater(len(sheets), 2)
            self.check_sheets(sheets)
            text = "\f".join(sheets)
            for find in self.finds:
                if float(find["confidence"]) >= 0.5:
                    self.assertIn(f"Find {find['find']}: ", text, find["kind"])
            for word in ("Ranks within channels", "Delays: arrival", "Hails and what followed",
                         "Were the channels fit"):
                self.assertIn(word, text)

    def test_the_summary_is_two_sheets_and_needs_no_script(self):
        path = os.path.join(self.review, "summary.html")
        with open(path, encoding="utf-8") as file:
            self.assertNotIn("<script", file.read())
        sheets = self.printed("file://" + path)
        self.assertEqual(len(sheets), 2)
        self.check_sheets(sheets)
        for word in ("What was heard", "Were the channels fit", "What was not analysed", "Limits", "Signature"):
            self.assertIn(word, "\f".join(sheets))


if __name__ == "__main__":
    harness.main()
