#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What must not be handed on is handed on nowhere: withheld stretches, sound, pictures of voices."""
import base64
import csv
import json
import os
import re
import shutil
import struct

import numpy as np

from pictures import read_png
from harness import SOURCE, Folder, add_at, knock, main, noise, run, write_json, write_wav

DEMO = os.path.join(SOURCE, "data", "demo")
RATE = 16000
WITHHELD = (19.0, 22.0)
MARGIN_S = 0.5  # transients of a filter beside a stretch


def read_wav(path):
    """Frames x channels of a 16-bit file, full scale 1."""
    with open(path, "rb") as file:
        data = file.read()
    at, channels = 12, 1
    while data[at:at + 4] != b"data":
        if data[at:at + 4] == b"fmt ":
            channels = struct.unpack("<H", data[at + 10:at + 12])[0]
        at += 8 + struct.unpack("<I", data[at + 4:at + 8])[0]
    return np.frombuffer(data[at + 8:], "<i2").reshape(-1, channels) / 32768


SOUND = "data:audio/|ZkxhQ|T2dnU"  # in a page; FLAC and Ogg begin so in base64


class Disclosure(Folder):
    def setUp(self):
        super().setUp()
        samples = noise(40, 2, seed=7)
        for begin in (8.0, 20.0):
            for k in range(4):
                add_at(samples, 0, begin + 0.5 * k, knock(RATE), 0.3)
                add_at(samples, 1, begin + 0.5 * k + 0.002, knock(RATE), 0.2)
        write_wav(self.path("a.wav"), samples)
        with open(self.path("withheld.csv"), "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n{},{}\n".format(*WITHHELD))
        done = run("lull-detect", self.path("a.wav"), "-o", self.path("events.csv"), "--quiet")
        self.assertEqual(done.returncode, 0, done.stderr)

    def rows(self, *parts):
        with open(self.path(*parts), newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def check_listed(self, folder):
        """READ-FIRST.txt names every file with sound, and no other."""
        found = set()
        for where, _, names in os.walk(self.path(folder)):
            found |= {os.path.relpath(os.path.join(where, name), self.path(folder)) for name in names
                      if name.endswith((".flac", ".wav")) or os.path.basename(where) in ("excerpts", "sound")}
        with open(self.path(folder, "READ-FIRST.txt"), encoding="utf-8") as file:
            text = file.read()
        self.assertEqual(set(re.findall(r"^  (\S+)$", text, re.M)), found)
        if not found:
            self.assertIn("No file in this folder contains sound", text)
        return found

    def test_excerpts_cut_alone(self):
        done = run("lull-excerpt", self.path("a.wav"), "--events", self.path("events.csv"), "-o",
                   self.path("out"), "--withhold", self.path("withheld.csv"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertRegex(done.stderr, r"the sound of [1-9]\d* events is withheld")
        cut = {int(re.search(r"event-(\d+)", name).group(1)) for name in self.check_listed("out")}
        onsets = {int(row["event"]): float(row["onset_s"]) for row in self.rows("events.csv")}
        self.assertTrue(cut and cut != set(onsets))
        for number in cut:
            self.assertFalse(WITHHELD[0] - 1.5 < onsets[number] < WITHHELD[1] + 1.0, onsets[number])

    def test_a_filtered_copy_is_silent_in_withheld_stretches_only(self):
        first, end = (int(t * RATE) for t in WITHHELD)
        beside = int(MARGIN_S * RATE)
        for options in ((), ("--band", "60-2000"), ("--band", "60-2000", "--zero-phase"), ("--remove-hum",)):
            for name, more in (("plain.wav", ()), ("silent.wav", ("--withhold", self.path("withheld.csv")))):
                done = run("lull-filter", self.path("a.wav"), "-o", self.path(name), *options, *more)
                self.assertEqual(done.returncode, 0, done.stderr)
            plain, silent = read_wav(self.path("plain.wav")), read_wav(self.path("silent.wav"))
            self.assertGreater(np.abs(plain[first:end]).max(), 0.1)
            self.assertLess(np.abs(silent[first + beside:end - beside]).max(), 0.002, options)
            np.testing.assert_allclose(silent[:first - beside], plain[:first - beside], atol=0.002)
            np.testing.assert_allclose(silent[end + beside:], plain[end + beside:], atol=0.002)

    def test_cards_of_trainees(self):
        with open(self.path("truth.csv"), "w", encoding="utf-8") as file:
            file.write("time_s,end_s,kind,channel\n8,9.6,tapping,1\n20,21.6,tapping,1\n")
        with open(self.path("sheet.csv"), "w", encoding="utf-8") as file:
            file.write("time,kind,channel\n30,horn,1\n")
        done = run("lull-grade", "--truth", self.path("truth.csv"), "--sheets", self.path("sheet.csv"),
                   "--recording", self.path("a.wav"), "--withhold", self.path("withheld.csv"), "-o",
                   self.path("grades"))
        self.assertEqual(done.returncode, 0, done.stderr)
        sounds = self.check_listed("grades")
        misses = self.rows("grades", "misses.csv")
        self.assertEqual([bool(row["excerpt"]) for row in misses], [True, False])
        self.assertIn(f"excerpts/{misses[0]['excerpt']}.flac", sounds)
        with open(self.path("grades", "cards", "sheet.html"), encoding="utf-8") as file:
            links = re.findall(r'href="../(excerpts/[^"]+)"', file.read())
        self.assertTrue(links and set(links) <= sounds, links)

    def review_demo(self, name, *options, session=os.path.join(DEMO, "session.json")):
        done = run("lull-review", session, "-o", self.path(name), "--quiet", "--log", os.path.join(DEMO, "log.csv"),
                   *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        return self.path(name)

    def test_withheld_details_are_left_out_everywhere(self):
        with open(os.path.join(DEMO, "log.csv"), newline="", encoding="utf-8") as file:
            noted = list(csv.DictReader(file))
        with open(os.path.join(DEMO, "session.json"), encoding="utf-8") as file:
            session = json.load(file)
        session["exhibit"] = "Bag 17 from the mill"
        own = self.path("own")
        shutil.copytree(DEMO, own)
        write_json(os.path.join(own, "session.json"), session)
        judgements = self.path("of-persons.csv")
        with open(judgements, "w", encoding="utf-8") as file:
            file.write("when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\n"
                       f"2026,Somebody,,5,{session['channels'][0]['name']},,agree,horn,a cousin's voice\n")
        folder = self.review_demo("share", "--share", "--pictures", "--judgements", judgements,
                                  session=os.path.join(own, "session.json"))
        for where, _, files in os.walk(folder):
            for name in files:
                self.assertFalse(name.endswith(".flac"), name)
                with open(os.path.join(where, name), "rb") as file:
                    content = file.read().decode("utf-8", "replace")
                self.assertNotIn(SOURCE, content, name)
                self.assertNotIn("recording.flac", content, name)
                self.assertIsNone(re.search(SOUND, content), name)
                for word in [session["label"], session["exhibit"], *(c["name"] for c in session["channels"])]:
                    self.assertNotIn(word, content, name)
                self.assertNotIn("Somebody", content, name)
                self.assertNotIn("cousin", content, name)
                for row in noted:
                    if len(row["text"]) > 6:
                        self.assertNotIn(row["text"], content, name)
        with open(os.path.join(folder, "READ-FIRST.txt"), encoding="utf-8") as file:
            self.assertIn("No file in this folder contains sound", file.read())
        withheld = self.path("minute.csv")
        with open(withheld, "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n40,60\n")
        folder = self.review_demo("withheld", "--withhold", withheld)
        with open(os.path.join(folder, "events.csv"), newline="", encoding="utf-8") as file:
            onsets = {int(row["event"]): float(row["onset_s"]) for row in csv.DictReader(file)}
        with open(os.path.join(folder, "finds.csv"), newline="", encoding="utf-8") as file:
            begins = {int(row["find"]): float(row["from_s"]) for row in csv.DictReader(file)}
        sounds = [int(name[5:8]) for name in os.listdir(os.path.join(folder, "excerpts")) if name.startswith("find-")]
        self.assertGreater(len(sounds), 10)
        self.assertTrue(any(40 < onset < 60 for onset in onsets.values()), "nothing was withheld")
        for number in sounds:
            self.assertFalse(39 < begins[number] < 61, f"find {number} at {begins[number]} s")

    def test_a_blind_folder_reveals_no_finds_in_any_language(self):
        with open(os.path.join(SOURCE, "data", "language", "en.json"), encoding="utf-8") as file:
            words = json.load(file)
        words["page"]["title"] = "Titel"
        write_json(self.path("words.json"), words)
        folder = self.review_demo("blind", "--blind", "--language", self.path("words.json"))
        self.assertEqual([name for name in os.listdir(folder) if name.endswith((".csv", ".json"))], [])
        with open(os.path.join(folder, "index.html"), encoding="utf-8") as file:
            page = file.read()
        self.assertIn("<title>Titel</title>", page)
        self.assertEqual(json.loads(re.search(r'id="page-data">(.*?)</script>', page).group(1))["finds"], [])
        self.assertNotIn("tapping</td>", page)
        self.assertTrue(self.check_listed("blind"))

    def test_a_review_lists_files_with_sound_and_withholds_pictures_and_levels(self):
        done = run("lull-review", self.path("a.wav"), "-o", self.path("out"), "--pictures", "--quiet",
                   "--withhold", self.path("withheld.csv"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertTrue(self.check_listed("out"))
        for about, image in self.overviews():
            step_s = (about["to"] - about["from"]) / image.shape[1]
            for column in range(image.shape[1]):
                begin = about["from"] + column * step_s
                if begin + step_s > WITHHELD[0] and begin < WITHHELD[1]:
                    self.assertTrue((image[:, column] == 255).all(), f"column at {begin} s")
            self.assertTrue((image < 255).any())
        for row in self.rows("out", "finds.csv"):
            if WITHHELD[0] < float(row["from_s"]) < WITHHELD[1]:
                self.assertFalse(os.path.exists(self.path("out", "pictures", f"find-{int(row['find']):03}.svg")))

    def overviews(self):
        for about in self.page_data()["overview"]:
            yield about, read_png(base64.b64decode(about["png"]))

    def page_data(self):
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            return json.loads(re.search(r'id="page-data">(.*?)</script>', file.read()).group(1))

    def test_without_audio_there_is_no_picture_of_a_time_with_a_voice(self):
        done = run("lull-review", os.path.join(DEMO, "session.json"), "-o", self.path("out"), "--pictures",
                   "--quiet", "--no-audio")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(self.check_listed("out"), set())
        events = self.rows("out", "events.csv")
        voices = [(float(row["onset_s"]), float(row["end_s"])) for row in events if row["kind"] == "voice-like"]
        self.assertTrue(voices, "the demo has voices")
        seen = 0
        for name in os.listdir(self.path("out", "pictures")):
            if not re.fullmatch(r"find-\d+\.svg", name):
                continue
            with open(self.path("out", "pictures", name), encoding="utf-8") as file:
                begin, end = (float(re.search(f'data-{side}="([^"]+)"', text).group(1))
                              for text in [file.read()] for side in ("from", "to"))
            seen += 1
            for voice in voices:
                self.assertFalse(begin < voice[1] and voice[0] < end, (name, voice))
        self.assertGreater(seen, 0)
        for about, image in self.overviews():
            step_s = (about["to"] - about["from"]) / image.shape[1]
            for voice in voices:
                column = int((voice[0] - about["from"]) / step_s)
                self.assertTrue((image[:, column] == 255).all(), voice)


if __name__ == "__main__":
    main()
