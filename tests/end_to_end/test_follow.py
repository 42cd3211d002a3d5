#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Files taken as they arrive, and a night done in parts."""
import filecmp
import hashlib
import json
import os
import shutil
import signal
import subprocess
import threading
import time

from harness import Folder, add_at, knock, main, noise, run, tool, write_json, write_wav

RATE = 4000
PART_S = 100
SETTLED_S = 0.4
AT_ONCE = 6 # tests, which mostly wait
PATIENCE_S = 240 # until something that must come exists, on a slow machine under a sanitizer


def read(path):
    with open(path, "rb") as file:
        return file.read()


class Arriving(Folder):
    """Four files of 100 s with groups of knocks. The first group is strong enough to be reported at once."""
    lock = threading.Lock()
    review_s = None

    def setUp(self):
        super().setUp()
        self.samples = noise(4 * PART_S, 2, rate=RATE, rms=0.002, seed=21)
        for start_s in (30, 120, 210, 340):
            for k in range(5):
                for channel in range(2):
                    add_at(self.samples, channel, start_s + 0.6 * k + 0.003 * channel, knock(RATE), 0.3, RATE)
        os.mkdir(self.path("night"))

    def part(self, number):
        first = (number - 1) * PART_S * RATE
        return self.samples[first:first + PART_S * RATE]

    def put(self, number, folder="night"):
        write_wav(self.path(folder, f"take-{number}.wav"), self.part(number), rate=RATE)

    def begin(self, *options, out="out"):
        process = subprocess.Popen([tool("lull-review"), self.path("night"), "-o", self.path(out), "--follow",
                                    "--settled", str(SETTLED_S), *options], stderr=subprocess.PIPE, text=True)
        self.addCleanup(process.stderr.close)
        self.addCleanup(process.wait)
        self.addCleanup(process.kill)
        return process

    def wait_for(self, process, condition):
        end = time.monotonic() + PATIENCE_S
        while not condition():
            self.assertIsNone(process.poll(), "it ended before its time")
            self.assertLess(time.monotonic(), end, "it never came")
            time.sleep(0.05)

    def summary(self, out="out"):
        """The present night.json, or None."""
        try:
            return json.loads(read(self.path(out, "night.json")))
        except FileNotFoundError: # not yet, or between two folders
            return None

    def files_in_summary(self):
        night = self.summary()
        return night["files"] if night else 0

    def end(self, process, status=0):
        said = process.stderr.read()
        self.assertEqual(process.wait(), status, said)
        return said

    def until(self):
        """The end of following: time for several reviews, measured on this machine and build."""
        with Arriving.lock: # by the first test that asks, alone
            if Arriving.review_s is None:
                self.put(1, folder=".")
                began = time.monotonic()
                result = run("lull-review", self.path("take-1.wav"), "-o", self.path("once"))
                self.assertEqual(result.returncode, 0, result.stderr)
                Arriving.review_s = time.monotonic() - began
                os.remove(self.path("take-1.wav"))
                shutil.rmtree(self.path("once"))
        seconds = 8 + round(4 * AT_ONCE / os.cpu_count() * Arriving.review_s)
        return "--until", f"+{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"

    def plain(self, *options, out="plain", status=0):
        result = run("lull-review", self.path("night"), "-o", self.path(out), *options)
        self.assertEqual(result.returncode, status, result.stderr)

    def same(self, one, two):
        names = [sorted(os.path.relpath(os.path.join(where, name), self.path(folder))
                        for where, _, files in os.walk(self.path(folder)) for name in files)
                 for folder in (one, two)]
        self.assertEqual(*names)
        self.assertGreater(len(names[0]), 15)
        names[0].remove("run.log")
        self.assertEqual(filecmp.cmpfiles(self.path(one), self.path(two), names[0], shallow=False)[1:], ([], []))


class Follow(Arriving):
    def test_there_is_always_a_summary_and_the_last_is_that_of_a_plain_run(self):
        self.put(1)
        process = self.begin(*self.until())
        self.wait_for(process, lambda: self.files_in_summary() == 1)
        self.assertIn("--follow", read(self.path("out", "UNFINISHED.txt")).decode())
        for line in read(self.path("out", "SHA256SUMS")).decode().splitlines():
            digest, name = line.split("  ")
            self.assertEqual(hashlib.sha256(read(self.path("out", name))).hexdigest(), digest, name)
        # The next one grows in three steps, and its header states the whole length from the start.
        self.put(2, folder=".")
        whole = read(self.path("take-2.wav"))
        os.remove(self.path("take-2.wav"))
        with open(self.path("night", "take-2.wav"), "wb") as file:
            for at in range(0, len(whole), len(whole) // 3 + 1):
                file.write(whole[at:at + len(whole) // 3 + 1])
                file.flush()
                time.sleep(2 * SETTLED_S)
                if at == 0:
                    self.assertEqual(self.files_in_summary(), 1, "half a file is no file")
        self.put(3)
        with open(self.path("night", "take-4.wav"), "wb") as file:
            file.write(b"a letter")
        said = self.end(process, status=4)
        self.assertIn("strong find: ", said)
        self.assertFalse(os.path.exists(self.path("out", "UNFINISHED.txt")))
        self.assertEqual(self.files_in_summary(), 3)
        self.plain(status=4)
        self.same("plain", "out")
        self.assertEqual(sorted(os.listdir(self.folder)), ["night", "out", "plain"])
        self.assertEqual(read(self.path("out", "run.log")).decode().count(" --follow "), 1, "one run is one line")

    def test_files_unfinished_at_the_end_are_listed(self):
        self.put(1)
        self.put(2)
        with open(self.path("night", "take-3.wav"), "wb") as file:
            process = self.begin("--until", "+00:00:06")
            while process.poll() is None:
                file.write(b"\0" * 100)
                file.flush()
                time.sleep(0.1)
            said = self.end(process, status=4)
        self.assertIn("take-3.wav: skipped: was still being written", said)
        handover = read(self.path("out", "handover.txt")).decode()
        self.assertIn("Skipped: take-3.wav, was still being written.", handover)
        self.assertEqual(self.summary()["files"], 2)

    def test_an_unfinished_header_counts_once_the_next_file_exists(self):
        self.put(1)
        with open(self.path("night", "take-1.wav"), "r+b") as file:
            file.seek(40)
            file.write(b"\xff" * 4) # as a recorder leaves it until it has finished
        process = self.begin()
        time.sleep(3 * SETTLED_S)
        self.assertIsNone(self.summary())
        self.put(2)
        self.wait_for(process, lambda: self.files_in_summary() == 2)
        process.terminate()
        self.assertIn("interrupted", self.end(process, status=128 + signal.SIGTERM))
        self.assertTrue(os.path.exists(self.path("out", "UNFINISHED.txt")))
        self.assertEqual(self.files_in_summary(), 2, "the last summary stays")

    def test_a_killed_run_is_completed_by_a_plain_run(self):
        self.put(1)
        self.put(2)
        process = self.begin()
        self.wait_for(process, lambda: self.files_in_summary() == 2)
        self.put(3)
        process.kill()
        process.wait()
        self.assertTrue(os.path.exists(self.path("out", "UNFINISHED.txt")))
        self.plain("--resume", out="out")
        self.plain()
        self.same("plain", "out")

    def test_a_file_that_vanishes_and_one_that_changes(self):
        for number in (1, 2, 3):
            self.put(number)
        process = self.begin(*self.until())
        self.wait_for(process, lambda: self.files_in_summary() == 3)
        os.remove(self.path("night", "take-3.wav"))
        write_wav(self.path("night", "take-2.wav"), self.part(4), rate=RATE)
        self.assertIn("take-3.wav: skipped: vanished", self.end(process, status=4))
        self.plain()
        for name in ("events", "arrivals", "noise"):
            self.assertEqual(read(self.path("out", name + ".csv")), read(self.path("plain", name + ".csv")), name)

    def test_stops_before_the_disk_is_full(self):
        small = self.path("small")
        os.mkdir(small)
        if os.geteuid() != 0 or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1060m", "tmpfs", small],
                                               capture_output=True).returncode:
            self.skipTest("no small file system can be mounted here")
        self.addCleanup(subprocess.run, ["umount", "-l", small])
        self.put(1)
        self.put(2)
        process = self.begin(out="small/out")
        self.wait_for(process, lambda: self.summary("small/out") is not None)
        with open(os.path.join(small, "filler"), "wb") as file:
            os.posix_fallocate(file.fileno(), 0, 60 << 20)
        self.put(3)
        said = self.end(process, status=1)
        self.assertIn("before the disk is full", said)
        self.assertEqual(self.summary("small/out")["files"], 2)
        self.assertIn("UNFINISHED.txt", os.listdir(os.path.join(small, "out")))

    def test_refused(self):
        inside = os.path.join("night", "out")
        for options, words in (
                (["--follow", "-o", self.path(inside)], "whose files are followed"),
                (["--follow", "-o", self.path("out"), "--until", "later"], "--until"),
                (["--follow", "-o", self.path("out"), "--blind"], "--follow"),
                (["--until", "06:00", "-o", self.path("out")], "--follow")):
            result = run("lull-review", self.path("night"), "--quiet", *options)
            self.assert_refused(result, 2, words)
        self.assertEqual(os.listdir(self.path("night")), [])
        result = run("lull-review", self.path("night"), "--quiet", "--follow", "--until", "+00:00:01", "-o",
                     self.path("out"))
        self.assert_refused(result, 3, "no file came")


class Notify(Arriving):
    NAME = "$(touch pwned) `touch pwned` \"x' & void"

    def setUp(self):
        super().setUp()
        self.session = self.path("site.json")
        write_json(self.session, {"format": "lull-session", "version": 1, "recordings": [{"file": "night/take-1.wav"}],
                                  "channels": [{"name": self.NAME, "kind": "seismic", "track": 1}]})
        self.put(1)
        self.put(2)

    def command(self, text):
        path = self.path("say it.sh")
        with open(path, "w", encoding="utf-8") as file:
            file.write("#!/bin/sh\n" + text)
        os.chmod(path, 0o755)
        return path

    def follow(self, command, out="out"):
        return self.begin("--session", self.session, "--notify", command, *self.until(), out=out)

    def test_each_find_is_an_argument_and_is_not_executed(self):
        said = self.end(self.follow(self.command(f'for text in "$@"; do printf "%s\\n" "$text" >> "{self.path("heard")}"; done\n')))
        heard = read(self.path("heard")).decode().splitlines()
        self.assertGreaterEqual(len(heard), 2)
        for line in heard:
            self.assertIn(self.NAME[:30], line)
            self.assertRegex(line, r"^\+00:0\d:\d\d, tapping, \d taps, .*, confidence (?:0\.7[5-9]|0\.[89]\d|1\.00), \d+ dB over the noise$")
        self.assertEqual(len(set(heard)), len(heard), "each is told once")
        self.assertEqual([line.split("strong find: ")[1] for line in said.splitlines() if "strong find" in line], heard)
        self.assertNotIn("pwned", os.listdir(self.folder) + os.listdir("."))

    def test_a_stalled_command_delays_no_file(self):
        hold = self.command(f'cd "{self.folder}"; echo $$ > number; mv number began\n'
                            'until [ -e go ]; do sleep 0.05; done\n'
                            'for text in "$@"; do printf "%s\\n" "$text" >> heard; done\n')
        process = self.follow(hold)
        self.wait_for(process, lambda: os.path.exists(self.path("began")))
        self.put(3)
        self.put(4)
        self.wait_for(process, lambda: self.files_in_summary() == 4)
        self.assertTrue(os.path.exists(f"/proc/{int(read(self.path('began')))}/exe"), "it had ended")
        self.assertFalse(os.path.exists(self.path("heard")))
        with open(self.path("go"), "w", encoding="utf-8"):
            pass
        said = self.end(process)
        heard = read(self.path("heard")).decode().splitlines()
        self.assertEqual([line.split("strong find: ")[1] for line in said.splitlines() if "strong find" in line], heard)
        self.assertGreaterEqual(len(heard), 3)

    def test_a_failing_or_missing_command_does_no_harm(self):
        fails, is_not_there = self.follow(self.command("exit 7\n")), self.follow(self.path("nowhere"), out="other")
        self.assertIn("say it.sh: failed with status 7", self.end(fails))
        self.assertIn("nowhere: cannot be run: No such file", self.end(is_not_there))
        self.plain("--session", self.session)
        self.same("plain", "out")
        self.same("plain", "other")


if __name__ == "__main__":
    main(AT_ONCE)
