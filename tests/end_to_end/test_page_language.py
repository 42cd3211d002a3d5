#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The words of the page: all come from one file, which a team can translate."""
import glob
import json
import os
import html
import re
import shutil
import subprocess

import numpy as np

import harness
from harness import SOURCE, Folder, run

ENGLISH = os.path.join(SOURCE, "data", "language", "en.json")
DEMO = os.path.join(SOURCE, "data", "demo", "session.json")
PLACES = re.compile(r"\{[a-z_]+\}")
SECTIONS = ("page", "columns", "values", "phrases", "script", "keys")
# The sources of sentences that the page shows, and the texts in them that no page shows as they are: parts of a
# sentence that is in the file as a whole, and the clocks' own table.
WORDED = ("lib/health/*.cpp", "lib/health/internal/*.cpp", "lib/detect/[!h]*.cpp", "lib/detect/horns.cpp",
          "lib/detect/internal/*.cpp", "lib/compare/*.cpp", "lib/locate/internal/agreement.cpp")
NOT_SHOWN = {"in 7 shared events it agrees with the others 7 % as well as they do with each other",
             "found again on 7 channel7", "7 % of its modulation at 2-8 Hz",
             "one recording, one clock"}
UNITS = {"Hz", "dB", "SNR", "SHA", "PCM", "FLAC", "WAV", "bit", "lull", "review"}


def shifted(text):
    """Shifts letters and keeps placeholders in braces, so that no English word is left."""
    def moved(part):
        return "".join(chr(0x3B1 + (ord(c.lower()) - 97) % 24) if c.isascii() and c.isalpha() else c
                       for c in part)
    out, at = "", 0
    for place in PLACES.finditer(text):
        out += moved(text[at:place.start()]) + place.group()
        at = place.end()
    return out + moved(text[at:])


def phrases_of_the_analysis():
    """What the sources can say about events, delays, places and channels, with figures in place of
    placeholders."""
    said = re.compile(r"(?:why \+?=|finding\(|[.>](?:finding|effect|remedy|unit|reason|evidence) \+?=|return|"
                      r"words \+?=|text \+?=|evidence =|push_back\(|\?|:|<<|,|\{)\s*"
                      r'((?:fmt::format\()?\s*"(?:[^"\\]|\\.)*"(?:\s*"(?:[^"\\]|\\.)*")*)')
    for pattern in WORDED:
        for path in sorted(glob.glob(os.path.join(SOURCE, pattern))):
            with open(path, encoding="utf-8") as file:
                text = re.sub(r"//.*|#include.*", "", file.read())
            for literal in said.findall(text):
                whole = "".join(re.findall(r'"((?:[^"\\]|\\.)*)"', literal))
                for part in whole.strip("; ,").split("; "):
                    filled = re.sub(r"\{[^}]*\}", "7", part)
                    if len(re.findall(r"[a-z]{2,}", filled)) >= 3 and filled not in NOT_SHOWN:
                        yield os.path.relpath(path, SOURCE), filled


class Language(Folder):
    def setUp(self):
        super().setUp()
        with open(ENGLISH, encoding="utf-8") as file:
            self.english = json.load(file)
        self.other = {"format": "lull-language", "version": 1, "code": "el"}
        for section in SECTIONS:
            self.other[section] = {key: shifted(text) for key, text in self.english[section].items()}

    @staticmethod
    def clip(recording):
        """Flattens the peaks of a channel and sets an offset on another, to get findings."""
        raw = subprocess.run(["sox", recording, "-t", "raw", "-e", "signed", "-b", "16", "-"], check=True,
                             capture_output=True).stdout
        info = subprocess.run(["soxi", recording], check=True, capture_output=True, text=True).stdout
        channels, rate = (re.search(rf"{name}\s*: (\d+)", info).group(1) for name in ("Channels", "Sample Rate"))
        samples = np.frombuffer(raw, "<i2").reshape(-1, int(channels)).astype(int)
        samples[:, 0] = np.clip(samples[:, 0] * 30, -32768, 32767)
        samples[:, 1] = np.clip(samples[:, 1] + 3000, -32768, 32767)
        subprocess.run(["sox", "-t", "raw", "-e", "signed", "-b", "16", "-c", channels, "-r", rate, "-", recording],
                       check=True, input=samples.astype("<i2").tobytes())

    def review(self, words, *options, session=DEMO):
        with open(self.path("words.json"), "w", encoding="utf-8") as file:
            json.dump(words, file)
        return run("lull-review", session, "-o", self.path("out"), "--language", self.path("words.json"),
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
        self.assertIn(f"<td>{self.other['values']['tapping']}", page)
        with open(self.path("out", "summary.html"), encoding="utf-8") as file:
            summary = file.read()
        self.assertIn(self.other["page"]["limits"], summary)
        self.assertNotIn(self.english["page"]["limits_text"], summary)

    def test_only_names_and_settings_stay_english_on_the_page(self):
        session = self.path("session")
        shutil.copytree(os.path.dirname(DEMO), session)
        self.clip(os.path.join(session, "recording.flac"))
        self.other["code"] = "el"
        done = self.review(self.other, "--log", os.path.join(session, "log.csv"), "--quiet",
                           session=os.path.join(session, "session.json"))
        self.assertIn(done.returncode, (0, 4), done.stderr)
        page = self.page()
        shown = page[page.index("<body>"):page.index('<script type="application/json"')]
        shown = shown[:shown.index('<section id="made">')]  # files and settings by their own names
        texts = re.findall(r'(?:aria-label|title)="([^"]*)"', shown)
        texts += re.sub(r"<[^>]*>", "\n", re.sub(r'<a href="excerpts[^<]*</a>', "", shown)).split("\n")
        with open(os.path.join(session, "session.json"), encoding="utf-8") as file:
            own = file.read()
        with open(os.path.join(session, "log.csv"), encoding="utf-8") as file:
            own += file.read()
        allowed = {word for word in re.findall(r"[A-Za-z]+", own)} | UNITS
        left = {}
        for text in texts:
            for word in re.findall(r"[A-Za-z]{3,}", html.unescape(text)):
                if word not in allowed and not re.fullmatch(r"[0-9a-f]+", word):
                    left.setdefault(word, text)
        self.assertEqual(left, {})
        with open(self.path("out", "findings.csv"), encoding="utf-8") as file:
            self.assertIn("clipping", file.read(), "the tables keep their English")
        with open(self.path("out", "events.csv"), encoding="utf-8") as file:
            self.assertIn("dB over the floor in", file.read())

    def test_every_phrase_of_the_analysis_is_in_the_language_file(self):
        patterns = [re.compile(".+".join(map(re.escape, PLACES.split(text))))
                    for text in self.english["phrases"].values()]
        count = 0
        for path, phrase in phrases_of_the_analysis():
            count += 1
            self.assertTrue(any(pattern.fullmatch(phrase) for pattern in patterns), f"{path}: {phrase}")
        self.assertGreater(count, 70, "the sources are not read as they are written")

    def test_tables_and_the_report_are_the_same_in_every_language(self):
        self.assertEqual(self.review(self.other, "--quiet").returncode, 0)
        self.assertEqual(run("lull-review", DEMO, "-o", self.path("english"), "--quiet").returncode, 0)
        for name in ("report.json", "events.csv", "READ-FIRST.txt"):
            with open(self.path("out", name), "rb") as one, open(self.path("english", name), "rb") as other:
                self.assertEqual(one.read(), other.read(), name)

    def test_untranslated_texts_stay_english_and_are_reported(self):
        del self.other["page"]["heard"]
        done = self.review(self.other)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertRegex(done.stderr, r"words\.json: 1 texts are not translated, page\.heard first")
        self.assertIn(self.english["page"]["heard"], self.page())

    def test_an_unknown_key_and_a_lost_place_are_refused(self):
        for section, key, text, word in (("page", "herd", "x", "heard"), ("page", "overview_of", "x", "{channel}")):
            words = json.loads(json.dumps(self.other))
            words[section][key] = text
            self.assert_refused(self.review(words), 3, "words.json", section, word)
        self.assert_refused(self.review({"format": "lull-session"}), 3, "words.json")

    def test_words_of_a_translation_cannot_become_markup(self):
        harm = "</script><img src=x onerror=alert(1)>"
        for section in SECTIONS:
            self.other[section] = {key: harm + "".join(sorted(set(PLACES.findall(text))))
                                   for key, text in self.english[section].items()}
        self.assertEqual(self.review(self.other, "--quiet").returncode, 0)
        self.assertNotIn("<img src=x", self.page())
        self.assertEqual(self.page().count("</script"), 2)

    def test_every_text_is_used_and_every_used_text_exists(self):
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
