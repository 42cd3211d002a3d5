#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole work on the desk, by keyboard, with its keys counted: open, hear the first find, judge ten, undo one,
add one, export, read back."""
import csv
import os

import harness
from browser import DEMO, WithBrowser
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

MOST_KEYS_A_FIND = 3
LETTERS = "naudozihcexlp+-[]0"  # each a key of the page
JUDGED = 10


class Judging(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        cls.file = os.path.join(cls.folder, "judgements.csv")
        cls.url = "file://" + os.path.join(cls.review, "index.html")
        with open(os.path.join(cls.review, "finds.csv"), newline="", encoding="utf-8") as file:
            cls.finds = list(csv.DictReader(file))

    def setUp(self):
        if os.path.exists(self.file):
            os.remove(self.file)
        self.chromium.get(self.url)
        self.chromium.execute_script("localStorage.clear()")
        self.chromium.get(self.url)
        self.keys = 0
        self.until(lambda: self.count("article.current svg"), "the first find in hand")

    def key(self, one):
        self.keys += 1
        self.press(one)

    def name(self, text="R1"):
        self.chromium.execute_script("localStorage.setItem('lull-reviewer', arguments[0])", text)

    def pending(self):
        return self.chromium.find_element(By.ID, "pending").text

    def exported(self):
        self.press("e")
        self.until(lambda: os.path.exists(self.file), "the exported file")
        with open(self.file, newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def in_hand(self):
        return self.chromium.find_element(By.CSS_SELECTOR, "#list [aria-current] b").text

    def drag(self, canvas, begin, end):
        box = self.still(canvas)
        ActionChains(self.chromium).move_to_element_with_offset(canvas, int((begin - 0.5) * box["width"]), 0) \
            .click_and_hold().move_by_offset(int((end - begin) * box["width"]), 10).release().perform()

    def test_judging_takes_at_most_three_keys_a_find(self):
        self.key(" ")
        self.until(lambda: "playing" in self.chromium.find_element(By.ID, "playing").text, "the first find")
        self.key("a")  # it asks for a name, once
        self.until(lambda: self.chromium.switch_to.active_element.get_attribute("id") == "reviewer", "the question")
        self.press("R1" + Keys.ENTER)
        self.until(lambda: self.pending().startswith("1 "), "the first judgement")
        for number in range(2, JUDGED + 1):
            self.key("n")
            self.until(lambda: self.in_hand() == str(number), f"find {number}")
            self.key("adu"[number % 3])
            self.until(lambda: self.pending().startswith(f"{number} "), f"{number} judgements")
        self.assertLessEqual(self.keys / JUDGED, MOST_KEYS_A_FIND)
        self.press("z")
        self.until(lambda: self.pending().startswith(f"{JUDGED - 1} "), "one undone")
        look = self.chromium.find_element(By.CSS_SELECTOR, "#look canvas")
        self.drag(look, 0.3, 0.5)
        kind = self.chromium.find_element(By.CSS_SELECTOR, "#add select")
        kind.send_keys("voice-like")
        kind.send_keys(Keys.ESCAPE)
        self.press("i")
        self.until(lambda: self.pending().startswith(f"{JUDGED} "), "one added")

        rows = self.exported()
        self.assertEqual(len(rows), JUDGED)
        self.assertEqual({row["reviewer"] for row in rows}, {"R1"})
        for row, find in zip(rows[:-1], self.finds):
            self.assertAlmostEqual(float(row["onset_s"]), float(find["from_s"]), places=5)
            self.assertEqual((row["channel"], row["old kind"]), (find["channel"], find["kind"]))
        self.assertEqual((rows[-1]["old kind"], rows[-1]["new kind"]), ("", "voice-like"))
        self.assertGreater(float(rows[-1]["new_end_s"]), float(rows[-1]["onset_s"]))
        with open(os.path.join(self.review, "SHA256SUMS"), encoding="utf-8") as sums:
            digest = next(line.split()[0] for line in sums if line.endswith("report.json\n"))
        self.assertEqual(rows[0]["report digest"], digest)

        again = os.path.join(self.folder, "again")
        done = harness.run("lull-review", os.path.join(DEMO, "session.json"), "-o", again, "--quiet",
                           "--log", os.path.join(DEMO, "log.csv"), "--judgements", self.file)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(again, "finds.csv"), newline="", encoding="utf-8") as file:
            judged = list(csv.DictReader(file))
        self.assertEqual([row["judged"] for row in judged[:3]],
                         [f"{row['judgement']} (R1)" for row in rows[:3]])
        for row, before in zip(judged, self.finds):
            self.assertEqual({**row, "judged": ""}, {**before, "judged": ""}, "a judgement altered a find")
        self.chromium.get("file://" + os.path.join(again, "index.html"))
        self.until(lambda: "R1" in self.chromium.find_element(By.ID, "noted").text, "judged, with by whom")

    def test_edges_are_moved_only_in_their_own_mode(self):
        self.name()
        look = self.chromium.find_element(By.CSS_SELECTOR, "#look canvas")
        self.press("o")
        box = self.still(look)
        ActionChains(self.chromium).move_to_element_with_offset(look, int(0.4 * box["width"]), 0).click().perform()
        self.press("a")
        self.until(lambda: self.pending().startswith("1 "), "the judgement")
        ActionChains(self.chromium).move_to_element_with_offset(look, int(-0.3 * box["width"]), 0).click().perform()
        self.press("u")
        self.until(lambda: self.pending().startswith("2 "), "the second")
        moved, plain = self.exported()
        self.assertTrue(moved["new_end_s"] or moved["new_onset_s"])
        self.assertEqual(plain["new_onset_s"], "", "a click alone moves nothing")

    def test_letters_in_a_field_are_text(self):
        self.name()
        for selector in ("#judge input", "#judge select", "#filters input[type=search]"):
            self.chromium.execute_script("document.getElementById('filters').open = true")
            field = self.chromium.find_element(By.CSS_SELECTOR, selector)
            self.chromium.execute_script("arguments[0].focus()", field)
            before = self.in_hand() if self.count("#list [aria-current]") else ""
            self.press(LETTERS)
            self.assertEqual(self.chromium.switch_to.active_element, field)
            self.assertTrue(self.pending().startswith("0 "), self.pending())
            if selector == "#judge input":
                self.assertEqual(field.get_attribute("value"), LETTERS)
                self.assertEqual(self.in_hand(), before)
        self.assertFalse(os.path.exists(self.file), "exported")

    def test_reviewers_are_shown_side_by_side_with_their_differences(self):
        for reviewer, key in (("R1", "a"), ("R2", "d")):
            self.name(reviewer)
            self.press(key)
            self.until(lambda: reviewer in self.chromium.find_element(By.ID, "noted").text, reviewer)
        self.assertIn("differ", self.chromium.find_element(By.ID, "noted").text)

    def test_a_cell_that_a_spreadsheet_would_run_is_neutralised(self):
        self.name("=1+1")
        self.press("u")
        self.until(lambda: self.pending().startswith("1 "), "the judgement")
        self.assertEqual(self.exported()[0]["reviewer"], "'=1+1")


if __name__ == "__main__":
    harness.main()
