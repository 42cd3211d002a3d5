#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The page in a real browser: opened from a disk, listened to, by keyboard alone, printed; no request leaves it,
nothing is complained about."""
import base64
import csv
import json
import os
import shutil
import subprocess

import harness
from browser import DEMO, WithBrowser
from selenium.webdriver.common.by import By

QUIET_PEAK = 1e-4  # -80 dB full scale: less is no sound at all


class Page(WithBrowser):
    lists_requests = True

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        cls.url = "file://" + os.path.join(cls.review, "index.html")

    def setUp(self):
        self.chromium.get(self.url)
        self.chromium.execute_script("localStorage.clear()")
        self.chromium.get(self.url)

    def event_article(self):
        self.all_made()
        articles = self.chromium.find_elements(By.CSS_SELECTOR, "article[id^=event-]")
        self.assertGreater(len(articles), 3)
        return articles[0]

    def test_each_ear_hears_the_channel_chosen_for_it(self):
        # The last node before the loudspeakers is tapped, and each ear's sound is measured.
        self.chromium.execute_script("""
            window.heard = [0, 0];
            window.lines = 0;
            new MutationObserver((all) => all.forEach((one) => one.addedNodes.forEach((node) => {
              if (node.classList?.contains("heard")) ++window.lines;
            }))).observe(document.body, {childList: true, subtree: true});
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
        self.until(lambda: self.chromium.execute_script("return window.lines > 1"), "a line that moves along")
        self.press("x")
        self.until(lambda: self.count(".heard") == 0, "no line of a sound that was stopped")

    def test_excerpts_play_from_the_disk(self):
        self.all_made()
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

        def shown_s():
            begin, end = self.chromium.find_element(By.ID, "time-line-range").text.split(" - ")
            seconds = [sum(float(part) * 60 ** i for i, part in enumerate(reversed(text.split(":"))))
                       for text in (begin, end)]
            return seconds[1] - seconds[0]
        self.until(lambda: abs(shown_s() - 1.0) < 0.02, "a second of the time line")
        self.press("0")
        self.until(lambda: self.chromium.find_element(By.ID, "time-line-range").text == whole, "all of it again")

    def test_nothing_leaves_and_nothing_is_complained_about(self):
        article = self.event_article()  # the whole page takes longer to make than this sound lasts
        self.press("n")
        self.press("m")
        self.until(lambda: "playing" in article.text, "sound")
        complaints = [entry for entry in self.chromium.get_log("browser") if entry["level"] in
                      ("SEVERE", "WARNING")]
        self.assertEqual(complaints, [])
        for entry in self.chromium.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                self.assertTrue(url.startswith(("file://", "data:", "blob:")), url)

    def test_a_blind_page_plays_all_and_tells_nothing(self):
        folder = self.review_demo("blind", "--blind")
        self.assertEqual({name for name in os.listdir(folder) if name.endswith((".csv", ".json"))}, set())
        self.chromium.get("file://" + os.path.join(folder, "index.html"))
        self.assertEqual(self.chromium.find_elements(By.CSS_SELECTOR, "[id^=event-], #time-line"), [])
        slices = self.chromium.find_elements(By.TAG_NAME, "article")
        self.assertEqual(len(slices), 5)  # 90 s in slices of 20 s
        self.press("n")
        self.press("m")
        self.until(lambda: "playing" in slices[0].text, "sound")
        self.until(lambda: slices[0].find_elements(By.CSS_SELECTOR, "svg[data-from] path"), "waveforms")
        onset = self.chromium.find_element(By.ID, "added-onset")
        figure = slices[0].find_element(By.CSS_SELECTOR, "svg[data-from]")
        self.point_at(figure, 0.5)
        self.assertEqual(onset.get_attribute("value"), "", "a click alone sets nothing")
        self.press("o")
        expected = self.point_at(figure, 0.5)
        self.assertAlmostEqual(float(onset.get_attribute("value")), expected, delta=0.05)
        self.press("s")
        self.until(lambda: slices[0].find_elements(By.CSS_SELECTOR, "svg image"), "spectrograms")
        self.assertEqual([entry for entry in self.chromium.get_log("browser")
                          if entry["level"] == "SEVERE"], [])

    def test_it_fits_a_phone(self):
        self.as_phone()
        self.all_made()
        self.until(lambda: self.chromium.execute_script(
            "return document.documentElement.scrollWidth <= document.documentElement.clientWidth"),
                   "a page that does not scroll sideways on a phone")

    def test_every_sheet_carries_caution_session_digest_and_number_and_pictures_are_printed(self):
        for program in ("pdftotext", "pdftoppm"):
            if not shutil.which(program):
                self.skipTest(program + " is not installed")
        with open(os.path.join(self.review, "SHA256SUMS"), encoding="utf-8") as sums:
            digest = next(line.split()[0] for line in sums if line.endswith("report.json\n"))[:12]
        with open(os.path.join(DEMO, "session.json"), encoding="utf-8") as file:
            label = json.load(file)["label"]
        with open(os.path.join(self.review, "events.csv"), newline="", encoding="utf-8") as file:
            events = list(csv.DictReader(file))
        self.never_idle()
        for size in ((8.27, 11.69), (8.5, 11.0)):  # A4, Letter, inches
            self.chromium.get(self.url)
            self.assertGreater(self.count("article noscript"), len(events) // 2, "made before it was printed")
            sheet = self.chromium.execute_cdp_cmd("Page.printToPDF", {
                "paperWidth": size[0], "paperHeight": size[1], "preferCSSPageSize": False})
            path = os.path.join(self.folder, "printed.pdf")
            with open(path, "wb") as file:
                file.write(base64.b64decode(sheet["data"]))
            text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True,
                                  check=True).stdout
            sheets = text.split("\f")[:-1]
            self.assertGreater(len(sheets), 2)
            for number, words in enumerate(sheets, 1):
                self.assertIn("nobody is there", " ".join(words.split()), f"sheet {number}")
                self.assertIn(f"{number}/{len(sheets)}", words, f"sheet {number}")
                self.assertIn(label, words, f"sheet {number}")
                self.assertIn(digest, words, f"sheet {number}")
            images = subprocess.run(["pdfimages", "-list", path], capture_output=True, text=True,
                                    check=True).stdout.splitlines()[2:]
            certain = [event for event in events
                       if float(event["confidence"]) >= 0.5 and event["kind"] != "other" and not event["hail"]]
            self.assertGreaterEqual(len(images), len(certain), "spectrograms on paper")
            for event in certain:
                self.assertTrue(f"Event {event['event']}: {event['kind']}, " in text, event["event"])
            for word in ("Ranks within channels", "Delays: arrival", "time from the start",
                         "Were the channels fit"):
                self.assertTrue(word in text, word + " is not on paper")


if __name__ == "__main__":
    harness.main()
