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

import harness
from browser import DEMO, WithBrowser
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

QUIET_PEAK = 1e-4  # -80 dB full scale: less is no sound at all
POINTED_WITHIN_S = 0.02  # a pixel of the figure is less


class Page(WithBrowser):
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
        self.until(lambda: "1 " in self.chromium.find_element(By.ID, "pending").text, "one not exported")
        rows = self.exported()
        self.assertEqual([row["judgement"] for row in rows], ["agree"])
        self.assertEqual(rows[0]["reviewer"], "R1")
        self.until(lambda: "0 " in self.chromium.find_element(By.ID, "pending").text, "none not exported")
        self.chromium.get(self.url)
        self.until(lambda: self.count("#noted tr") == 1, "the row after a reload")

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

    def test_an_onset_is_moved_by_pointing_and_has_a_column_of_its_own(self):
        self.chromium.find_element(By.ID, "reviewer").send_keys("R1")
        article = self.event_article()
        figure = article.find_element(By.CSS_SELECTOR, "svg[data-from]")
        self.chromium.execute_script("arguments[0].scrollIntoView({block: 'center'})", figure)
        begin, end, left, right = (float(figure.get_attribute("data-" + name))
                                   for name in ("from", "to", "left", "right"))
        box = self.still(figure)
        share = 0.75
        x = box["left"] + (left + share * (right - left)) / 720.0 * box["width"]
        builder = ActionBuilder(self.chromium)
        builder.pointer_action.move_to_location(int(x), int(box["top"] + box["height"] / 2)).click()
        builder.perform()
        self.until(lambda: figure.find_elements(By.CSS_SELECTOR, ".moved"), "the new onset in the figure")
        for key in "aj": # of the event that was pointed at
            self.press(key)
        row = self.exported()[0]
        self.assertNotIn("moved", row["reason"])
        expected = begin + share * (end - begin)
        self.assertAlmostEqual(float(row["new_onset_s"]), expected, delta=POINTED_WITHIN_S)
        self.assertNotAlmostEqual(float(row["onset_s"]), expected, delta=POINTED_WITHIN_S)

        again = self.review_demo("moved", "--judgements", os.path.join(self.folder, "judgements.csv"))
        with open(os.path.join(again, "index.html"), encoding="utf-8") as page:
            self.assertIn(f"<td>{float(row['new_onset_s']):.3f}</td>", page.read())
        grades = os.path.join(self.folder, "grades")
        sheet = os.path.join(self.folder, "sheet.csv")
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(f"time,kind,channel\n{float(row['new_onset_s']):.3f},{row['old kind']},{row['channel']}\n")
        done = harness.run("lull-grade", "--judgements", os.path.join(self.folder, "judgements.csv"),
                           "--reviewer", "R1", "--recording", os.path.join(DEMO, "session.json"),
                           "--sheets", sheet, "-o", grades, "--quiet")
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(grades, "answers.csv"), newline="", encoding="utf-8") as file:
            answer = next(csv.DictReader(file))
        self.assertEqual(answer["event"], "1")
        self.assertAlmostEqual(float(answer["late_s"]), 0.0, places=3)

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
        self.press("s")
        self.until(lambda: slices[0].find_elements(By.CSS_SELECTOR, "svg image"), "spectrograms")
        self.assertEqual([entry for entry in self.chromium.get_log("browser")
                          if entry["level"] == "SEVERE"], [])

    def test_what_is_to_be_left_out_is_left_out_everywhere(self):
        with open(os.path.join(DEMO, "log.csv"), newline="", encoding="utf-8") as file:
            noted = list(csv.DictReader(file))
        with open(os.path.join(DEMO, "session.json"), encoding="utf-8") as file:
            session = json.load(file)
        session["exhibit"] = "Bag 17 from the mill"
        own = os.path.join(self.folder, "own")
        shutil.copytree(DEMO, own)
        harness.write_json(os.path.join(own, "session.json"), session)
        judgements = os.path.join(self.folder, "of-persons.csv")
        with open(judgements, "w", encoding="utf-8") as file:
            file.write("when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\n"
                       f"2026,Somebody,,5,{session['channels'][0]['name']},,agree,horn,a cousin's voice\n")
        folder = self.review_demo("share", "--share", "--pictures", "--judgements", judgements,
                                  session=os.path.join(own, "session.json"))
        for where, _, files in os.walk(folder):
            for name in files:
                self.assertFalse(name.endswith((".flac", ".js")), name)
                with open(os.path.join(where, name), "rb") as file:
                    content = file.read().decode("utf-8", "replace")
                self.assertNotIn(harness.SOURCE, content, name)
                self.assertNotIn("recording.flac", content, name)
                for word in [session["label"], session["exhibit"], *(c["name"] for c in session["channels"])]:
                    self.assertNotIn(word, content, name)
                self.assertNotIn("Somebody", content, name)
                self.assertNotIn("cousin", content, name)
                for row in noted:
                    if len(row["text"]) > 6:
                        self.assertNotIn(row["text"], content, name)
        with open(os.path.join(folder, "READ-FIRST.txt"), encoding="utf-8") as file:
            self.assertIn("No file in this folder contains sound", file.read())
        withheld = os.path.join(self.folder, "withheld.csv")
        with open(withheld, "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n40,60\n")
        folder = self.review_demo("withheld", "--withhold", withheld)
        with open(os.path.join(folder, "events.csv"), newline="", encoding="utf-8") as file:
            onsets = {int(row["event"]): float(row["onset_s"]) for row in csv.DictReader(file)}
        sounds = [int(name[6:9]) for name in os.listdir(os.path.join(folder, "excerpts"))]
        self.assertGreater(len(sounds), 10)
        self.assertTrue(any(40 < onset < 60 for onset in onsets.values()), "nothing was withheld")
        for number in sounds:
            self.assertFalse(39 < onsets[number] < 61, f"event {number} at {onsets[number]} s")

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
            certain = [event for event in events if float(event["confidence"]) >= 0.5]
            self.assertGreaterEqual(len(images), len(certain), "spectrograms on paper")
            for event in certain:
                self.assertTrue(f"Event {event['event']}: {event['kind']}, " in text, event["event"])
            for word in ("Ranks within channels", "Delays: arrival", "time from the start",
                         "Were the channels fit"):
                self.assertTrue(word in text, word + " is not on paper")


if __name__ == "__main__":
    harness.main()
