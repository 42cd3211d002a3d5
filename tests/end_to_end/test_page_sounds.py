#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The sound scripts beside the page: for each find its excerpt as recorded; for the whole recording packed, small
and at the right times. libsndfile decodes them."""
import base64
import json
import os
import re

import numpy as np
import soundfile

from harness import Folder, add_at, knock, main, noise, run, write_wav

RATE = 16000
FADE_S = 0.02  # both are faded at their ends, a passage where it ends
MOST_BYTES_AN_HOUR = 15e6  # for one channel
PACKED_WITHIN_S = 0.002
LEAST_LIKENESS = 0.999  # both are rounded to 16 bit, each with its own gain


def decoded(path):
    """Samples of the first channel, full scale 1."""
    return soundfile.read(path, always_2d=True)[0][:, 0]


class Sounds(Folder):
    def review(self, *options):
        samples = noise(60, 2, seed=11)
        for begin in (8.0, 30.0, 50.0):
            for k in range(4):
                # One tap in every passage is the loudest, to identify its place.
                gain = (0.3 if k else 0.5) * (1 + begin / 100)
                add_at(samples, 0, begin + 0.6 * k, knock(RATE), gain)
                add_at(samples, 1, begin + 0.6 * k + 0.002, knock(RATE), 0.7 * gain)
        write_wav(self.path("a.wav"), samples)
        done = run("lull-review", self.path("a.wav"), "-o", self.path("out"), "--quiet", *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = file.read()
        self.page = json.loads(re.search(r'id="page-data">(.*?)</script>', page).group(1))
        self.whole = [sound for sound in self.page["sounds"] if sound["whole"]]
        self.packed = [sound for sound in self.page["sounds"] if not sound["whole"]]

    def script(self, name):
        """{from, tracks} of a script, with its sound decoded."""
        with open(self.path("out", name), encoding="utf-8") as file:
            sound = json.loads(re.fullmatch(r"lullSound\((.*)\);\n", file.read(), re.S).group(1))
        for track in sound["tracks"]:
            kept = base64.b64decode(track["sound"])
            name = self.path("track.flac" if kept.startswith(b"fLaC") else "track.opus")
            with open(name, "wb") as file:
                file.write(kept)
            track["samples"] = decoded(name)
        return sound

    def test_each_find_has_its_own_excerpt(self):
        self.review()
        self.assertEqual(len(self.whole), 3)
        compared = 0
        for find in self.page["finds"]:
            name = next((name for name in os.listdir(self.path("out", "excerpts"))
                         if name.startswith(f"find-{find['n']:03}-")), None)
            own = decoded(self.path("out", "excerpts", name))
            begin = max(0.0, find["from"] - 1.0)
            sound = next(s for s in self.whole if s["from"] <= begin + 1e-3 and s["to"] > find["to"])
            whole = self.script(sound["file"])
            track = next(t for t in whole["tracks"] if t["channel"] == find["channel"])
            first = round((begin - whole["from"]) * RATE)
            part = track["samples"][first:first + len(own)]
            own = own[:len(part)]
            fade = int(FADE_S * RATE)
            part, own = part[fade:-fade], own[fade:-fade]
            likeness = part @ own / np.sqrt((part @ part) * (own @ own))
            self.assertGreater(likeness, LEAST_LIKENESS, f"find {find['n']}")
            compared += 1
        self.assertGreater(compared, 2)

    def test_the_whole_recording_is_packed_with_right_times_and_small(self):
        self.review()
        self.assertEqual(self.packed[0]["from"], 0.0)
        self.assertAlmostEqual(self.packed[-1]["to"], 60.0, places=3)
        for one, after in zip(self.packed, self.packed[1:]):
            self.assertAlmostEqual(one["to"], after["from"], places=6)
        size = sum(os.path.getsize(self.path("out", sound["file"])) for sound in self.packed)
        self.assertLess(size / 2 * 3600 / 60, MOST_BYTES_AN_HOUR)
        original, compared = decoded(self.path("a.wav")), 0
        for sound in self.packed:
            held = self.script(sound["file"])
            track = held["tracks"][0]
            samples = track["samples"] * 10 ** (-track["gain_db"] / 20)
            rate = self.page["packed_rate_hz"]
            part = original[round(held["from"] * RATE):round(sound["to"] * RATE)]
            if np.abs(part).max() < 10 * np.std(part):
                continue  # noise alone cannot be aligned
            compared += 1
            loudest = np.argmax(np.abs(part)) / RATE
            self.assertAlmostEqual(np.argmax(np.abs(samples)) / rate, loudest, delta=PACKED_WITHIN_S)
        self.assertGreater(compared, 1)

    def test_the_same_sound_gives_the_same_bytes(self):
        self.review()
        first = {}
        for sound in self.packed:
            with open(self.path("out", sound["file"]), "rb") as file:
                first[sound["file"]] = file.read()
        self.review("--jobs", "1")
        for name, held in first.items():
            with open(self.path("out", name), "rb") as file:
                self.assertEqual(file.read(), held, name)

    def test_no_script_holds_a_withheld_stretch(self):
        withheld = (29.0, 33.0)
        with open(self.path("withheld.csv"), "w", encoding="utf-8") as file:
            file.write("from_s,to_s\n{},{}\n".format(*withheld))
        self.review("--withhold", self.path("withheld.csv"))
        self.assertEqual(len(self.whole), 2)
        for held in self.packed:  # silent there
            sound = self.script(held["file"])
            rate = self.page["packed_rate_hz"]
            for track in sound["tracks"]:
                begin, end = (max(0, round((time - sound["from"]) * rate)) for time in (29.1, 32.9))
                part = track["samples"][begin:end]
                if len(part):
                    self.assertLess(np.abs(part).max(), 1e-3 * np.abs(track["samples"]).max(), held["file"])
        for held in self.whole:
            sound = self.script(held["file"])
            name = held["file"]
            for track in sound["tracks"]:
                to_s = sound["from"] + len(track["samples"]) / RATE
                self.assertTrue(to_s <= withheld[0] or sound["from"] >= withheld[1], (name, sound["from"], to_s))


if __name__ == "__main__":
    main()
