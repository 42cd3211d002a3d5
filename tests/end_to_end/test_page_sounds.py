#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The sound scripts beside the page: events close together share one, and each event's part of it sounds as
its own excerpt does. SoX decodes both."""
import base64
import json
import os
import re
import subprocess

import numpy as np

from harness import Folder, add_at, knock, main, noise, run, write_wav

RATE = 16000
FADE_S = 0.02  # both are faded at their ends, a passage where it ends
LEAST_LIKENESS = 0.999  # both are rounded to 16 bit, each at a gain of its own


def decoded(path):
    """Samples of the first channel, full scale 1."""
    raw = subprocess.run(["sox", path, "-t", "raw", "-e", "signed", "-b", "16", "-", "remix", "1"], check=True,
                         capture_output=True).stdout
    return np.frombuffer(raw, "<i2") / 32768


class Sounds(Folder):
    def review(self, *options):
        samples = noise(60, 2, seed=11)
        for begin in (8.0, 30.0, 50.0):
            for k in range(4):
                add_at(samples, 0, begin + 0.6 * k, knock(RATE), 0.3)
                add_at(samples, 1, begin + 0.6 * k + 0.002, knock(RATE), 0.2)
        write_wav(self.path("a.wav"), samples)
        done = run("lull-review", self.path("a.wav"), "-o", self.path("out"), "--quiet", *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = file.read()
        self.page = json.loads(re.search(r'id="page-data">(.*?)</script>', page).group(1))
        self.onsets = {str(event["n"]): event["onset"] for event in self.page["events"]}

    def script(self, name):
        """{from, tracks} of a script, its sound decoded."""
        with open(self.path("out", "excerpts", name), encoding="utf-8") as file:
            sound = json.loads(re.fullmatch(r"lullSound\((.*)\);\n", file.read(), re.S).group(1))
        for track in sound["tracks"]:
            with open(self.path("track.flac"), "wb") as file:
                file.write(base64.b64decode(track["flac"]))
            track["samples"] = decoded(self.path("track.flac"))
        return sound

    def test_events_close_together_share_one_and_others_do_not(self):
        self.review()
        files = {}
        for number, sound in self.page["sounds"].items():
            files.setdefault(sound["file"], []).append(self.onsets[number])
        self.assertEqual(len(files), 3)
        for onsets in files.values():
            self.assertEqual(len(onsets), 4)
            self.assertLess(max(onsets) - min(onsets), 2.0)

    def test_each_part_sounds_as_its_own_excerpt(self):
        self.review()
        compared = 0
        for number, sound in self.page["sounds"].items():
            name = next(name for name in os.listdir(self.path("out", "excerpts"))
                        if name.startswith(f"event-{int(number):03}-"))
            own = decoded(self.path("out", "excerpts", name))
            whole = self.script(sound["file"])
            self.assertLess(whole["from"], sound["part"][0] + 1e-6)  # told to the microsecond
            track = next(t for t in whole["tracks"] if t["channel"] == sound["channels"][0])
            first = round((sound["part"][0] - whole["from"]) * RATE)
            part = track["samples"][first:first + len(own)]
            self.assertEqual(len(part), len(own))
            fade = int(FADE_S * RATE)
            part, own = part[fade:-fade], own[fade:-fade]
            likeness = part @ own / np.sqrt((part @ part) * (own @ own))
            self.assertGreater(likeness, LEAST_LIKENESS, f"event {number}")
            compared += 1
        self.assertEqual(compared, 12)

    def test_no_script_holds_a_withheld_stretch(self):
        withheld = (29.0, 33.0)
        with open(self.path("withheld.csv"), "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n{},{}\n".format(*withheld))
        self.review("--withhold", self.path("withheld.csv"))
        scripts = [name for name in os.listdir(self.path("out", "excerpts")) if name.endswith(".js")]
        self.assertEqual(len(scripts), 2)
        for name in scripts:
            sound = self.script(name)
            for track in sound["tracks"]:
                to_s = sound["from"] + len(track["samples"]) / RATE
                self.assertTrue(to_s <= withheld[0] or sound["from"] >= withheld[1], (name, sound["from"], to_s))


if __name__ == "__main__":
    main()
