#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Damaged compressed recordings: sound after the damage keeps its time, the loss is reported, status 4."""
import json
import os

from harness import (FLAC, MP3, OPUS, VORBIS, Folder, add_at, knock, main, noise, rows_of, run, write_sound,
                     write_wav)

RATE = 16000
LENGTH_S = 30
KNOCKS = [3.0, 3.7, 4.4, 22.0, 22.7, 23.4]  # the damage lies between the two groups




def scene(seed=1):
    samples = noise(LENGTH_S, 2, rate=RATE, seed=seed)
    for time_s in KNOCKS:
        for channel in (0, 1):
            add_at(samples, channel, time_s, knock(RATE), 0.3, rate=RATE)
    return samples


class Compressed(Folder):
    def make(self, form, name="a.bin"):
        path = self.path(name)
        write_sound(path, scene(), form, RATE)
        with open(path, "rb") as file:
            return path, file.read()

    def onsets(self, path, status):
        result = run("lull-detect", path)
        self.assertEqual(result.returncode, status, result.stderr)
        return [float(row["onset_s"]) for row in rows_of(result.stdout) if float(row["confidence"]) >= 0.5], result

    def damage(self, path, data):
        with open(path, "wb") as file:
            file.write(data)


class Damaged(Compressed):
    def test_a_hole_is_reported_and_shifts_nothing(self):
        for form, slack_s in ((VORBIS, 1e-6), (OPUS, 1e-3), (FLAC, 1e-6), (MP3, 1e-6)):
            with self.subTest(form=hex(form)):
                path, data = self.make(form)
                whole, _ = self.onsets(path, 0)
                self.assertEqual(len(whole), len(KNOCKS))
                middle = len(data) // 2
                self.damage(path, data[:middle] + data[middle + len(data) // 20:])
                found, result = self.onsets(path, 4)
                lines = [line for line in result.stderr.splitlines() if "a.bin" in line]
                self.assertEqual(len(lines), 1, result.stderr)
                self.assertRegex(lines[0], r"^lull-detect: a\.bin: is damaged: [\d.]+ s to [\d.]+ s of it are lost")
                for time_s in whole:
                    self.assertTrue(any(abs(time_s - one) <= slack_s for one in found), (whole, found))

    def test_one_flipped_bit_in_flac_is_a_dropout_of_one_frame(self):
        path, data = self.make(FLAC, "a.flac")
        flipped = bytearray(data)
        flipped[len(data) // 2] ^= 1
        self.damage(path, bytes(flipped))
        result = run("lull-inspect", "--quiet", path, "--findings", self.path("f.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertEqual([row["dropout_s"] for row in rows_of(result.stdout)], ["0.256000"] * 2)
        with open(self.path("f.csv"), encoding="utf-8") as file:
            found = rows_of(file.read())
        self.assertEqual([row["finding"] for row in found], ["dropout, damaged file"] * 2)
        self.assertAlmostEqual(float(found[0]["to_s"]) - float(found[0]["from_s"]), 0.256)

    def test_a_cut_end_is_reported(self):
        for form in (VORBIS, OPUS, FLAC, MP3):
            with self.subTest(form=hex(form)):
                path, data = self.make(form)
                self.damage(path, data[:len(data) // 2 + 7])
                found, result = self.onsets(path, 4)
                self.assertEqual(result.stderr.count("a.bin"), 1, result.stderr)
                self.assertIn("a.bin: is cut ", result.stderr)
                self.assertEqual(len(found), 3)

    def test_sound_without_a_known_time_is_refused(self):
        path, data = self.make(VORBIS)
        self.damage(path, data + data)
        self.assert_refused(run("lull-detect", "--quiet", path), 3, "a.bin", "several Ogg streams")
        path, data = self.make(MP3)
        self.damage(path, data[144:])  # the frame with the count
        self.assert_refused(run("lull-detect", "--quiet", path), 3, "a.bin")

    def test_the_mpeg_decoder_writes_nothing_to_the_terminal(self):
        path, data = self.make(MP3)
        damaged = bytearray(data)
        for at in range(len(data) // 3, len(data) * 2 // 3, 997):
            damaged[at] ^= 0x5A
        self.damage(path, bytes(damaged))
        for line in run("lull-detect", "--quiet", path).stderr.splitlines():
            self.assertTrue(line.startswith("lull-detect: "), line)


class DamagedNight(Compressed):
    def test_damage_and_gaps_in_the_summary(self):
        os.mkdir(self.path("night"))
        first = self.path("night", "2026-03-14_02-00-00.flac")
        write_sound(first, scene(), FLAC, RATE)
        write_sound(self.path("night", "2026-03-14_02-01-30.flac"), scene(2), FLAC, RATE)  # a minute is missing
        run("lull-review", "--quiet", self.path("night"), "-o", self.path("whole"))
        fitness = json.loads(self.read("whole", "report.json"))["channels"]
        self.assertEqual([(row["fitness"], row["dropout_s"]) for row in fitness], [("fit", 0)] * 2)
        self.assertIn("Gap between files: 1", self.read("whole", "handover.txt"))
        self.assertIn("None found on any channel.", self.read("whole", "handover.txt"))
        with open(first, "r+b") as file:
            file.seek(os.path.getsize(first) // 2)
            file.write(b"\x55" * 40)
        result = run("lull-review", "--quiet", self.path("night"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 4, result.stderr)
        report = json.loads(self.read("out", "report.json"))
        self.assertAlmostEqual(report["inputs"][0]["lost_s"], 0.256)
        self.assertEqual(report["inputs"][1]["lost_s"], 0)
        self.assertEqual([row["dropout_s"] for row in report["channels"]], [0.256] * 2)
        self.assertEqual({row["fitness"] for row in report["channels"]}, {"doubtful"})
        night = json.loads(self.read("out", "night.json"))
        damaged = [row for row in night["not_analysed"] if row["what"] == "damaged"]
        self.assertEqual(len(damaged), 1)
        self.assertAlmostEqual(damaged[0]["to_s"] - damaged[0]["from_s"], 0.256)
        self.assertIn("Doubtful: 2026-03-14_02-00-00.flac, is damaged", self.read("out", "handover.txt"))

    def read(self, *parts):
        with open(self.path(*parts), encoding="utf-8") as file:
            return file.read()

    def test_jobs_change_nothing(self):
        path, data = self.make(FLAC, "a.flac")
        self.damage(path, data[:len(data) // 2] + data[len(data) // 2 + 3000:])
        for jobs in ("1", "4"):
            run("lull-review", "--quiet", path, "--jobs", jobs, "-o", self.path("out" + jobs))
        self.assertEqual(self.read("out1", "report.json"), self.read("out4", "report.json"))


class Gap(Folder):
    def test_a_gap_between_files_is_no_fault_of_a_sensor(self):
        os.mkdir(self.path("night"))
        for name, seed in (("2026-03-14_02-00-00.wav", 1), ("2026-03-14_02-02-00.wav", 2)):
            write_wav(self.path("night", name), noise(20, 2, rate=RATE, seed=seed), rate=RATE)
        result = run("lull-review", self.path("night"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("a gap of 100.000000 s", result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        self.assertEqual([row["fitness"] for row in report["channels"]], ["fit", "fit"])
        self.assertEqual(report["findings"], [])


if __name__ == "__main__":
    main()
