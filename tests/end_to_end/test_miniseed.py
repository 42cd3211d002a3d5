#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""miniSEED, written by libmseed, gives the same results as the same samples in WAV, in every tool that reads
audio."""
import csv
import hashlib
import json
import os
import subprocess

import numpy as np

from harness import BIN, Folder, add_at, knock, main, noise, rows_of, run, tool, write_wav

RATE = 8000
LENGTH_S = 20
KNOCKS = [3.0, 3.7, 4.4, 14.0, 14.7, 15.4]
START_US = 1773446400000000  # 2026-03-14T00:00:00Z
STATIONS = ["EAST", "NORTH"]  # in the order of their names, as lull has the channels
STEIM_2 = 11


def scene():
    samples = noise(LENGTH_S, 2, rate=RATE, seed=5)
    for time_s in KNOCKS:
        for channel in (0, 1):
            add_at(samples, channel, time_s, knock(RATE), 0.3, rate=RATE)
    return samples


def append(path, station, samples, start_us=START_US, encoding=STEIM_2):
    counts = np.clip(np.round(samples * 2 ** 23), -2 ** 23, 2 ** 23 - 1).astype(np.int32)
    subprocess.run([os.path.join(BIN, "tests", "miniseed_writer"), path, station, "HHZ", str(RATE), str(start_us),
                    str(encoding), "512"], input=counts.tobytes(), check=True)


def without_clock(text):
    return [{name: value for name, value in row.items() if name not in ("onset_clock", "channel", "channels", "why")}
            for row in rows_of(text)]


class Miniseed(Folder):
    def setUp(self):
        super().setUp()
        self.samples = scene()
        self.file = self.path("a.mseed")
        for number, station in enumerate(STATIONS):
            append(self.file, station, self.samples[:, number])

    def detect(self, path, *more, status=0):
        result = run("lull-detect", path, "--quiet", *more)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def test_events_equal_those_of_the_same_samples_as_wav(self):
        write_wav(self.path("a.wav"), self.samples, rate=RATE, bits=24)
        wav = self.detect(self.path("a.wav")).stdout
        seed = self.detect(self.file).stdout
        self.assertGreaterEqual(len(rows_of(wav)), len(KNOCKS))
        self.assertEqual(without_clock(wav), without_clock(seed))
        self.assertEqual({row["channel"] for row in rows_of(seed)} - {"XX.EAST.00.HHZ", "XX.NORTH.00.HHZ"}, set())
        self.assertTrue(all(row["onset_clock"].startswith("2026-03-14T00:00:") for row in rows_of(seed)))

    def test_it_is_read_from_standard_input_and_by_channel(self):
        with open(self.file, "rb") as file:
            result = run("lull-detect", "-", "--quiet", "--channels", "XX.NORTH.00.HHZ", stdin=file.read())
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn(b"XX.NORTH.00.HHZ", result.stdout)
        self.assertNotIn(b"XX.EAST.00.HHZ", result.stdout)

    def test_a_session_describes_its_tracks_in_order_of_their_names(self):
        session = {"format": "lull-session", "version": 1, "recordings": [{"file": "a.mseed"}],
                   "channels": [{"name": "stairwell", "kind": "seismic", "track": 1},
                                {"name": "north-slab", "kind": "seismic", "track": 2}]}
        with open(self.path("session.json"), "w", encoding="utf-8") as file:
            json.dump(session, file)
        by_session = without_clock(self.detect(self.path("session.json")).stdout)
        self.assertEqual([row["onset_s"] for row in by_session],
                         [row["onset_s"] for row in without_clock(self.detect(self.file).stdout)])

    def test_a_damaged_record_is_reported_as_a_dropout(self):
        with open(self.file, "r+b") as file:
            file.seek(512 * 20 + 64)
            file.write(b"\x5a" * 400)
        result = run("lull-inspect", self.file, "--findings", self.path("f.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertRegex(result.stderr, r"lull-inspect: a\.mseed: is damaged: [\d.]+ s to [\d.]+ s of it are lost")
        rows = {row["channel"]: row for row in rows_of(result.stdout)}
        self.assertGreater(float(rows["XX.EAST.00.HHZ"]["dropout_s"]), 0.0)
        self.assertEqual(float(rows["XX.NORTH.00.HHZ"]["dropout_s"]), 0.0)
        with open(self.path("f.csv"), encoding="utf-8") as file:
            self.assertEqual([row["finding"] for row in csv.DictReader(file)], ["dropout, damaged file"])

    def test_a_folder_of_one_file_a_channel_is_one_recording(self):
        os.mkdir(self.path("night"))
        half = LENGTH_S * RATE // 2
        for number, station in enumerate(STATIONS):
            for part in (0, 1):
                append(self.path("night", f"{station}-{part}.mseed"), station,
                       self.samples[part * half:(part + 1) * half, number],
                       START_US + part * LENGTH_S * 500000)
        result = run("lull-review", self.path("night"), "-o", self.path("out"), "--no-audio")
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertNotIn("skipped", result.stderr)
        with open(self.path("out", "events.csv"), encoding="utf-8") as file:
            folder = without_clock(file.read())
        self.assertEqual([row["onset_s"] for row in folder],
                         [row["onset_s"] for row in without_clock(self.detect(self.file).stdout)])
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            inputs = json.load(file)["inputs"]
        self.assertEqual(len(inputs), 4)
        for one in inputs:
            with open(self.path("night", one["file"]), "rb") as file:
                self.assertEqual(one["sha256"], hashlib.sha256(file.read()).hexdigest())

    def test_a_folder_is_followed(self):
        os.mkdir(self.path("night"))
        os.rename(self.file, self.path("night", "a.mseed"))
        result = run("lull-review", self.path("night"), "-o", self.path("out"), "--follow", "--settled", "1", "--until",
                     "+00:00:09", "--no-audio")
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "events.csv"), encoding="utf-8") as file:
            self.assertGreaterEqual(len(rows_of(file.read())), len(KNOCKS))

    def test_filtered_and_cut_sound_equals_the_recording(self):
        write_wav(self.path("a.wav"), self.samples, rate=RATE, bits=24)
        filtered, sounds = [], []
        for name in ("a.wav", "a.mseed"):
            out, events, cut = (self.path(name + "." + kind) for kind in ("wav", "csv", "cut"))
            self.detect(self.path(name), "-o", events)
            for made in (run("lull-filter", self.path(name), "-o", out, "--format", "float", "--quiet"),
                         run("lull-excerpt", self.path(name), "--events", events, "-o", cut, "--mix", "--quiet")):
                self.assertEqual(made.returncode, 0, made.stderr)
            with open(out, "rb") as file:
                filtered.append(file.read()[-2 * 4 * LENGTH_S * RATE:])
            sounds.append({found: open(os.path.join(cut, found), "rb").read() for found in os.listdir(cut)
                           if found.endswith((".wav", ".flac", ".ogg"))})
        self.assertEqual(filtered[0], filtered[1])
        self.assertGreaterEqual(len(sounds[0]), len(KNOCKS))
        self.assertEqual(len(sounds[0]), len(sounds[1]))


if __name__ == "__main__":
    assert os.path.exists(tool("lull-detect"))
    main()
