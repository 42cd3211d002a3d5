#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judging on the page: by keyboard alone, by pointing, undone, exported, reloaded, read back."""
import csv
import os

import harness
from browser import DEMO, WithBrowser
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

POINTED_WITHIN_S = 0.02  # a pixel of the figure is less
LETTERS = "naudjeosmlpx+-[]0"  # each a key of the page


class Judging(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review")
        cls.file = os.path.join(cls.folder, "judgements.csv")
        cls.url = "file://" + os.path.join(cls.review, "index.html")

    def setUp(self):
        if os.path.exists(self.file):
            os.remove(self.file)
        self.chromium.get(self.url)
        self.chromium.execute_script("localStorage.clear()")
        self.chromium.get(self.url)

    def name(self, text="R1"):
        self.chromium.find_element(By.ID, "reviewer").send_keys(text + Keys.ENTER)

    def rows(self):
        return self.count("#noted tr")

    def first_event(self):
        """Goes to the first event, and makes it."""
        self.press("n")
        return self.until(lambda: self.chromium.find_elements(By.CSS_SELECTOR, "article:focus .judge"), "it")[0]\
            .find_element(By.XPATH, "./..")

    @staticmethod
    def onset_of(article):
        return article.find_element(By.CSS_SELECTOR, ".judge input[type=number]")

    def exported(self):
        self.press("e")
        self.until(lambda: os.path.exists(self.file), "the exported file")
        with open(self.file, newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def undo(self):
        ActionChains(self.chromium).key_down(Keys.CONTROL).send_keys("z").key_up(Keys.CONTROL).perform()

    def test_a_judgement_by_keyboard_alone_survives_a_reload_and_is_read_back(self):
        for key in "naj":  # the name that it asks for is typed, and the keys are keys again
            self.press(key)
        self.assertEqual(self.chromium.switch_to.active_element.get_attribute("id"), "reviewer")
        self.press("R1" + Keys.ENTER)
        self.press("j")
        self.until(lambda: self.rows() == 1, "the row")
        self.until(lambda: "1 " in self.chromium.find_element(By.ID, "pending").text, "one not exported")
        rows = self.exported()
        self.assertEqual([row["judgement"] for row in rows], ["agree"])
        self.assertEqual(rows[0]["reviewer"], "R1")
        self.until(lambda: "0 " in self.chromium.find_element(By.ID, "pending").text, "none not exported")
        self.chromium.get(self.url)
        self.until(lambda: self.rows() == 1, "the row after a reload")

        with open(os.path.join(self.review, "SHA256SUMS"), encoding="utf-8") as sums:
            digest = next(line.split()[0] for line in sums if line.endswith("report.json\n"))
        self.assertEqual(rows[0]["report digest"], digest)
        again = os.path.join(self.folder, "again")
        done = harness.run("lull-review", os.path.join(DEMO, "session.json"), "-o", again, "--quiet",
                           "--log", os.path.join(DEMO, "log.csv"), "--judgements", self.file)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(again, "index.html"), encoding="utf-8") as page:
            self.assertIn("Judgements of reviewers", page.read())
        with open(os.path.join(again, "events.csv"), encoding="utf-8") as one, \
                open(os.path.join(self.review, "events.csv"), encoding="utf-8") as other:
            self.assertEqual(one.read(), other.read(), "a judgement altered an automatic table")

    def test_an_onset_is_moved_by_pointing_and_has_a_column_of_its_own(self):
        self.name()
        article = self.first_event()
        self.press("o")
        expected = self.point_at(article.find_element(By.CSS_SELECTOR, "svg[data-from]"), 0.75)
        self.until(lambda: article.find_elements(By.CSS_SELECTOR, "svg .moved"), "the new onset in the figure")
        for key in "aj":  # of the event that was pointed at
            self.press(key)
        row = self.exported()[0]
        self.assertNotIn("moved", row["reason"])
        self.assertAlmostEqual(float(row["new_onset_s"]), expected, delta=POINTED_WITHIN_S)
        self.assertNotAlmostEqual(float(row["onset_s"]), expected, delta=POINTED_WITHIN_S)

        again = self.review_demo("moved", "--judgements", self.file)
        with open(os.path.join(again, "index.html"), encoding="utf-8") as page:
            self.assertIn(f"<td>{float(row['new_onset_s']):.3f}</td>", page.read())
        grades = os.path.join(self.folder, "grades")
        sheet = os.path.join(self.folder, "sheet.csv")
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(f"time,kind,channel\n{float(row['new_onset_s']):.3f},{row['old kind']},{row['channel']}\n")
        done = harness.run("lull-grade", "--judgements", self.file,
                           "--reviewer", "R1", "--recording", os.path.join(DEMO, "session.json"),
                           "--sheets", sheet, "-o", grades, "--quiet")
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(grades, "answers.csv"), newline="", encoding="utf-8") as file:
            answer = next(csv.DictReader(file))
        self.assertEqual(answer["event"], "1")
        self.assertAlmostEqual(float(answer["late_s"]), 0.0, places=3)

    def test_a_click_in_a_picture_moves_an_onset_only_when_asked_to(self):
        article = self.first_event()
        figure = article.find_element(By.CSS_SELECTOR, "svg[data-from]")
        onset = self.onset_of(article)
        found = onset.get_attribute("value")
        button = article.find_element(By.CSS_SELECTOR, "[data-key=o]")
        self.point_at(figure, 0.75)
        self.assertEqual(onset.get_attribute("value"), found, "nobody had asked")
        self.press("o")
        self.assertEqual(button.get_attribute("aria-pressed"), "true")
        self.press(Keys.ESCAPE)
        self.point_at(figure, 0.75)
        self.assertEqual(onset.get_attribute("value"), found, "it had been left by Escape")
        self.press("o")
        self.press("o")
        self.point_at(figure, 0.75)
        self.assertEqual(onset.get_attribute("value"), found, "it had been left by its button")
        self.press("o")
        self.press("n")
        self.press("p")
        self.point_at(figure, 0.75)
        self.assertEqual(onset.get_attribute("value"), found, "it had been left for another event")
        button.click()
        expected = self.point_at(figure, 0.75)
        self.assertAlmostEqual(float(onset.get_attribute("value")), expected, delta=POINTED_WITHIN_S)
        self.assertEqual(button.get_attribute("aria-pressed"), "false")
        self.point_at(figure, 0.25)
        self.assertAlmostEqual(float(onset.get_attribute("value")), expected, delta=POINTED_WITHIN_S)
        back = next(one for one in article.find_elements(By.CSS_SELECTOR, ".judge button") if found in one.text)
        back.click()
        self.assertEqual(onset.get_attribute("value"), found)
        self.assertFalse(back.is_displayed())
        self.assertEqual(article.find_elements(By.CSS_SELECTOR, "svg .moved"), [])

    def test_letters_in_a_field_are_text(self):
        article = self.first_event()
        speed = article.find_elements(By.CSS_SELECTOR, ".listen select")[-1]
        self.chromium.execute_script("""
            const note = document.createElement("p");
            note.id = "own"; note.contentEditable = "true";
            document.getElementById("judge").append(note);""")
        fields = [self.chromium.find_element(By.ID, "reviewer"), self.chromium.find_element(By.ID, "own"), speed,
                  *self.chromium.find_elements(By.CSS_SELECTOR, "#judge fieldset input, #judge fieldset select"),
                  *article.find_elements(By.CSS_SELECTOR, ".judge input:not([type=radio]), .judge select")]
        self.assertGreater(len(fields), 8)
        shown = self.chromium.find_element(By.ID, "time-line-range").text
        for field in fields:
            self.chromium.execute_script("arguments[0].focus()", field)
            self.press(LETTERS)
            self.assertEqual(self.chromium.switch_to.active_element, field)
        self.assertEqual(fields[0].get_attribute("value"), LETTERS)
        self.assertEqual(fields[1].text, LETTERS)
        self.assertEqual(self.count(".judge :checked:not(option)"), 0)
        self.assertEqual(self.count("[aria-pressed=true]"), 0)
        self.assertEqual(self.rows(), 0)
        self.assertEqual(self.chromium.find_element(By.ID, "time-line-range").text, shown)
        self.assertFalse(os.path.exists(self.file), "exported")

    def test_steps_are_undone_one_by_one_until_they_are_exported(self):
        self.name()
        article = self.first_event()
        figure = article.find_element(By.CSS_SELECTOR, "svg[data-from]")
        onset = self.onset_of(article)
        values = [onset.get_attribute("value")]
        for share in (0.75, 0.25):
            self.press("o")
            self.point_at(figure, share)
            values.append(onset.get_attribute("value"))
        self.assertEqual(len(set(values)), 3)
        for key in "ajuj":
            self.press(key)
        self.assertEqual(self.rows(), 2)
        onset.send_keys("5" + Keys.ENTER)
        self.assertNotEqual(onset.get_attribute("value"), values[2])

        self.undo()
        self.assertEqual(onset.get_attribute("value"), values[2])
        self.undo()
        self.assertEqual(self.rows(), 1)
        self.assertIn("unsure", article.find_elements(By.CSS_SELECTOR, "output")[-1].text)
        self.assertIn("1 ", self.chromium.find_element(By.ID, "pending").text)
        self.chromium.find_element(By.CSS_SELECTOR, "article:focus-within .undo").click()
        self.assertEqual(self.rows(), 0)
        for value in (values[1], values[0], values[0]):
            self.undo()
            self.assertEqual(onset.get_attribute("value"), value)
        self.assertEqual(self.count("svg .moved"), 0)

        reason = article.find_element(By.CSS_SELECTOR, ".judge input[size]")
        for key in "ajd":
            self.press(key)
        reason.send_keys("a word")
        self.undo()
        self.assertEqual(self.rows(), 1, "in a field it is the field's own")
        reason.send_keys(Keys.ESCAPE)
        self.chromium.get(self.url)
        self.name("")
        self.undo()
        self.assertEqual(self.rows(), 0, "after a reload too")
        self.name()
        for key in "naj":
            self.press(key)
        self.assertEqual(len(self.exported()), 1)
        self.undo()
        self.assertEqual(self.rows(), 1, "what was exported stays")

    def test_a_cell_that_a_spreadsheet_would_run_is_neutralised(self):
        self.name("=1+1")
        for key in "nuj":
            self.press(key)
        self.assertEqual(self.exported()[0]["reviewer"], "'=1+1")


if __name__ == "__main__":
    harness.main()
