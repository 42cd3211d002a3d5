#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The words of the page: all from one file, which a team can translate."""
import glob
import json
import os
import re

import harness
from harness import SOURCE, Folder, run

ENGLISH = os.path.join(SOURCE, "data", "language", "en.json")
DEMO = os.path.join(SOURCE, "data", "demo", "session.json")
PLACES = re.compile(r"\{[a-z_]+\}")


def shifted(text):
    """Letters moved on, places in braces kept: no word of it is English any more."""
    def moved(part):
        return "".join(chr(0x3B1 + (ord(c.lower()) - 97) % 24) if c.isascii() and c.isalpha() else c
                       for c in part)
    out, at = "", 0
    for place in PLACES.finditer(text):
        out += moved(text[at:place.start()]) + place.group()
        at = place.end()
    return out + moved(text[at:])


class Language(Folder):
    def setUp(self):
        super().setUp()
        with open(ENGLISH, encoding="utf-8") as file:
            self.english = json.load(file)
        self.other = {"format": "lull-language", "version": 1, "code": "el"}
        for section in ("page", "columns", "values", "script", "keys"):
            self.other[section] = {key: shifted(text) for key, text in self.english[section].items()}

    def review(self, words, *options):
        with open(self.path("words.json"), "w", encoding="utf-8") as file:
            json.dump(words, file)
        return run("lull-review", DEMO, "-o", self.path("out"), "--language", self.path("words.json"),
                   *options)

    def page(self):
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            return file.read()

    def test_a_translated_page_shows_no_text_of_the_english_one(self):
        done = self.review(self.other)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("not translated", done.stderr)
        page = self.page()
        self.assertIn('<html lang="el">', page)
        self.assertIn(self.other["page"]["caution_text"], page)
        script = page.rindex("<script>")
        for section in ("page", "script", "keys"):
            for key, text in self.english[section].items():
                longest = max(PLACES.split(text), key=len)
                if len(longest) > 12:
                    self.assertNotIn(longest, page[:script], f"{section}.{key}")
        self.assertIn(f"<td>{self.other['values']['tapping']}</td>", page)

    def test_tables_and_the_report_are_the_same_in_every_language(self):
        self.assertEqual(self.review(self.other, "--quiet").returncode, 0)
        self.assertEqual(run("lull-review", DEMO, "-o", self.path("english"), "--quiet").returncode, 0)
        for name in ("report.json", "events.csv", "READ-FIRST.txt"):
            with open(self.path("out", name), "rb") as one, open(self.path("english", name), "rb") as other:
                self.assertEqual(one.read(), other.read(), name)

    def test_what_a_translation_lacks_stays_in_english_and_is_told(self):
        del self.other["page"]["heard"]
        done = self.review(self.other)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertRegex(done.stderr, r"words\.json: 1 texts are not translated, page\.heard first")
        self.assertIn(self.english["page"]["heard"], self.page())

    def test_an_unknown_key_and_a_lost_place_are_refused(self):
        for section, key, text, word in (("page", "herd", "x", "heard"), ("page", "slice", "x", "{number}")):
            words = json.loads(json.dumps(self.other))
            words[section][key] = text
            self.assert_refused(self.review(words), 3, "words.json", section, word)
        self.assert_refused(self.review({"format": "lull-session"}), 3, "words.json")

    def test_words_of_a_translation_cannot_become_markup(self):
        harm = "</script><img src=x onerror=alert(1)>"
        for section in ("page", "columns", "values", "script", "keys"):
            self.other[section] = {key: harm + "".join(sorted(set(PLACES.findall(text))))
                                   for key, text in self.english[section].items()}
        self.assertEqual(self.review(self.other, "--quiet").returncode, 0)
        self.assertNotIn("<img src=x", self.page())
        self.assertEqual(self.page().count("</script"), 2)

    def test_every_text_is_used_and_every_text_used_is_there(self):
        sources = scripts = ""
        for pattern in ("lib/report/*.cpp", "lib/report/internal/*.cpp", "lib/review/*.cpp", "lib/report/page/*.js"):
            for path in glob.glob(os.path.join(SOURCE, pattern)):
                with open(path, encoding="utf-8") as file:
                    text = file.read()
                sources += text
                scripts += text if path.endswith(".js") else ""
        for key in self.english["page"]:
            if not key.startswith("north_"):
                self.assertIn(f'"{key}"', sources, f"page.{key} is not used")
        for key in self.english["script"]:
            self.assertRegex(sources, rf"words\.{key}\b", f"script.{key} is not used")
        for key in re.findall(r"\bwords\.([a-z_]+)[^(a-z_]", scripts):
            self.assertIn(key, [*self.english["script"], "keys", "values", "columns"], key)
        for key in re.findall(r'\bsay\["([a-z_]+)"\]', sources):
            if key != "north_":
                self.assertIn(key, self.english["page"], key)


if __name__ == "__main__":
    harness.main()
