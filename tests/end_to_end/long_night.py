# SPDX-License-Identifier: GPL-3.0-or-later
"""A night of several units of work for tests that disturb one. Its undisturbed result is made once."""
import filecmp
import os
import re
import shutil
import signal
import subprocess
import tempfile
import time

from harness import Folder, add_at, knock, noise, np, run, tool, write_wav

RATE = 4000
TRIES = 10 # to kill a process at a certain place before it has finished, on a busy machine


def read(path):
    with open(path, "rb") as file:
        return file.read()


class Long(Folder):
    """Two channels, 1000 s in four files: four units of work. The second unit uses nothing of the first file."""
    SECONDS, UNITS, EDGES_S = 1000, 4, (200, 450, 720)
    SEED = 20260314

    @classmethod
    def setUpClass(cls):
        cls.samples = np.tile(noise(50, 2, rate=RATE, rms=0.002, seed=13), (cls.SECONDS // 50, 1))
        rng = np.random.default_rng(cls.SEED)
        for time_s in rng.uniform(5, cls.SECONDS - 5, 8):
            for k in range(3):
                add_at(cls.samples, 0, time_s + 0.5 * k, knock(RATE), 0.2, RATE)
                add_at(cls.samples, 1, time_s + 0.5 * k + 0.004, knock(RATE), 0.1, RATE)
        cls.made = tempfile.mkdtemp(prefix="lull-test-")
        cls.addClassCleanup(shutil.rmtree, cls.made, ignore_errors=True)
        os.mkdir(os.path.join(cls.made, "night"))
        for number, part in enumerate(np.split(cls.samples, np.multiply(cls.EDGES_S, RATE)), 1):
            write_wav(os.path.join(cls.made, "night", f"{number}.wav"), part, rate=RATE)

    @classmethod
    def undisturbed(cls):
        """The folder of an undisturbed review of the unchanged night."""
        folder = os.path.join(cls.made, "undisturbed")
        if not os.path.exists(folder):
            result = run("lull-review", os.path.join(cls.made, "night"), "-o", folder)
            assert result.returncode == 0, result.stderr
        return folder

    def setUp(self):
        super().setUp()
        shutil.copytree(os.path.join(self.made, "night"), self.path("night"))
        self.journal = self.path(".out.journal")

    def command(self, *options, out="out"):
        return [tool("lull-review"), self.path("night"), "-o", self.path(out), *options]

    def start(self, *options):
        return subprocess.Popen(self.command(*options), stderr=subprocess.PIPE, text=True)

    def units(self):
        if not os.path.isdir(self.journal):
            return 0
        return sum(len(name) == len("unit-000000") for name in os.listdir(self.journal))

    def wait_for(self, process, condition):
        while process.poll() is None and not condition():
            time.sleep(0.002)

    def kill_after(self, units, *options):
        """Kills a run once it has done so many units of work, but not all."""
        fresh = not os.path.exists(self.path("out"))
        for _ in range(TRIES):
            process = self.start("--jobs", "1", *options)
            self.wait_for(process, lambda: self.units() >= units)
            process.kill()
            process.communicate()
            if process.returncode == -signal.SIGKILL:
                return
            if fresh:
                shutil.rmtree(self.path("out"))
        self.fail("it ended each time before it could be killed")

    def finish(self, *options, out="out", status=0):
        result = run("lull-review", *self.command(*options, out=out)[1:])
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def same(self, one, two):
        names = sorted(os.path.relpath(os.path.join(where, name), self.path(one))
                       for where, _, files in os.walk(self.path(one)) for name in files)
        other = sorted(os.path.relpath(os.path.join(where, name), self.path(two))
                       for where, _, files in os.walk(self.path(two)) for name in files)
        self.assertEqual(names, other)
        self.assertGreater(len(names), 15)
        names.remove("run.log")
        _, differ, missing = filecmp.cmpfiles(self.path(one), self.path(two), names, shallow=False)
        self.assertEqual((differ, missing), ([], []))

    def only_results_are_left(self, *names):
        self.assertEqual(sorted(os.listdir(self.folder)), sorted(["night", *names]))

    @staticmethod
    def resumed(result):
        found = re.search(r"(\d+) units of work had been done", result.stderr)
        return int(found.group(1)) if found else 0
