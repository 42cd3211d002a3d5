#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A night that is killed, interrupted or runs out of disk space, and is resumed; one run at a time; progress."""
import os
import pty
import random
import re
import shutil
import signal
import subprocess
import time

from harness import knock, main, run
from long_night import RATE, Long, read


class Resume(Long):
    def test_killed_and_resumed(self):
        self.kill_after(2)
        self.assertEqual(sorted(os.listdir(self.path("out"))), ["UNFINISHED.txt", "run.log"])
        self.assertIn("has not finished", read(self.path("out", "UNFINISHED.txt")).decode())
        result = self.finish("--resume")
        self.assertGreaterEqual(self.resumed(result), 2)
        self.same(self.undisturbed(), "out")
        self.only_results_are_left("out")

    def test_killed_at_random_moments(self):
        began = time.monotonic()
        self.finish("--resume", out="once")
        length_s = time.monotonic() - began
        self.same(self.undisturbed(), "once")
        shutil.rmtree(self.path("once"))
        chance = random.Random(self.SEED)
        killed = 0
        for _ in range(20):
            process = self.start("--resume", "--jobs", str(chance.choice((1, 2))))
            time.sleep(chance.uniform(0.0, 0.6) * length_s)
            process.kill()
            process.communicate()
            killed += process.returncode == -signal.SIGKILL
            # It may die before it has begun a whole folder, or after completing it.
            unfinished = os.path.exists(self.path("out", "UNFINISHED.txt"))
            if os.path.exists(self.path("out", "report.json")) and not unfinished:
                self.same(self.undisturbed(), "out")
        self.assertGreater(killed, 0, f"seed {self.SEED}")
        self.finish("--resume")
        self.same(self.undisturbed(), "out")
        self.only_results_are_left("out")

    def test_changed_input_and_settings_are_analysed_again(self):
        self.kill_after(2)
        with open(self.path("night", "1.wav"), "r+b") as file: # one louder knock, the same size
            file.seek(44 + 4 * 100 * RATE)
            file.write((knock(RATE) * 20000).astype("<i2").repeat(2).tobytes())
        result = self.finish("--resume")
        self.assertEqual(self.resumed(result), 1, "the unit that lies in other files alone still holds")
        self.finish(out="undisturbed")
        self.same("undisturbed", "out")
        self.kill_after(2)
        self.assertIn("from an earlier run", read(self.path("out", "UNFINISHED.txt")).decode())
        result = self.finish("--resume", "--band", "100-1500")
        self.assertEqual(self.resumed(result), 0)
        self.finish("--band", "100-1500", out="undisturbed")
        self.same("undisturbed", "out")

    def test_a_damaged_journal_does_no_harm(self):
        self.kill_after(2)
        for number, name in enumerate(sorted(os.listdir(self.journal))):
            with open(os.path.join(self.journal, name), "r+b") as file:
                size = file.seek(0, 2)
                if number == 0:
                    file.truncate(size // 2)
                else:
                    file.seek(size // 2)
                    file.write(b"spoiled")
        self.assertEqual(self.resumed(self.finish("--resume")), 0)
        self.same(self.undisturbed(), "out")

    def test_resumed_after_a_full_disk(self):
        if os.geteuid() != 0:
            self.skipTest("only root may mount a small file system")
        small = self.path("small")
        os.mkdir(small)
        if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", small], capture_output=True).returncode:
            self.skipTest("no small file system can be mounted here")
        self.addCleanup(subprocess.run, ["umount", small])
        out = os.path.join("small", "out")
        result = self.finish("--quiet", "--resume", "--jobs", "1", out=out, status=1)
        self.assert_refused(result, 1, "No space left on device")
        self.assertIn("UNFINISHED.txt", os.listdir(self.path(out)))
        subprocess.run(["mount", "-o", "remount,size=200m", small], check=True)
        self.assertGreater(self.resumed(self.finish("--resume", out=out)), 0)
        self.same(self.undisturbed(), out)
        self.assertEqual(os.listdir(small), ["out"])

    def test_asked_to_end(self):
        for options, left in (([], []), (["--resume"], [".out.journal", "out"])):
            process = self.start("--jobs", "1", *options)
            self.wait_for(process, lambda: self.units() >= 1)
            process.terminate()
            process.communicate()
            self.assertEqual(process.returncode, 128 + signal.SIGTERM)
            self.only_results_are_left(*left)
        self.assertGreater(self.resumed(self.finish("--resume")), 0)
        self.only_results_are_left("out")

    def test_standard_input_cannot_be_resumed(self):
        data = read(self.path("night", "1.wav"))
        result = run("lull-review", "--quiet", "-", "--resume", "-o", self.path("out"), stdin=data)
        self.assertEqual((result.returncode, b"--resume" in result.stderr), (2, True), result.stderr)
        self.only_results_are_left()


class Locked(Long):
    def test_one_run_at_a_time_and_the_lock_dies_with_it(self):
        first = self.start("--jobs", "1")
        self.wait_for(first, lambda: os.path.exists(self.path("out", "UNFINISHED.txt")))
        first.send_signal(signal.SIGSTOP) # so that it cannot end too early
        second = run("lull-review", *self.command("--quiet")[1:])
        self.assertIsNone(first.poll(), "the first ended too early for this test")
        self.assert_refused(second, 1, "lull-review:", "out", "another run")
        self.finish(out="elsewhere")
        self.same(self.undisturbed(), "elsewhere")
        first.kill()
        first.communicate()
        self.finish()
        self.same(self.undisturbed(), "out")
        self.only_results_are_left("elsewhere", "out")


class Progress(Long):
    def test_on_a_terminal_and_in_a_log(self):
        ours, theirs = pty.openpty()
        process = subprocess.Popen(self.command("--jobs", "1"), stderr=theirs, stdout=subprocess.DEVNULL)
        os.close(theirs)
        seen = b""
        while True:
            try:
                part = os.read(ours, 65536)
            except OSError: # this is how a terminal reports that it has no more writers
                break
            if not part:
                break
            seen += part
        os.close(ours)
        self.assertEqual(process.wait(), 0)
        text = seen.decode()
        self.assertIn("\r\x1b[K", text)
        self.assertRegex(text, r"analysing, \d+ %, \d+ times real time, [^,]* left, at [1-4]\.wav")
        log = self.finish("--jobs", "1").stderr
        self.assertEqual(len(re.findall("analysing", log)), 1, "half a minute has not passed")
        self.assertNotIn("\x1b", log)
        self.assertEqual(self.finish("--quiet").stderr, "")


if __name__ == "__main__":
    main()
