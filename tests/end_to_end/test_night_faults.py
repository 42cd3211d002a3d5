#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A night whose files vanish, shrink or grow while they are read, or with few descriptors or missing rights."""
import os
import subprocess

from harness import TIMEOUT_S, main, np, tool, write_wav
from long_night import RATE, Long, read


class Faults(Long):
    def lose(self, spoil):
        process = self.start("--jobs", "1")
        self.wait_for(process, lambda: self.units() >= 1)
        spoil(self.path("night", "4.wav"))
        _, said = process.communicate()
        self.assertEqual(process.returncode, 4, said)
        self.assertIn("4.wav: skipped: could no longer be read: ", said)
        handover = read(self.path("out", "handover.txt")).decode()
        self.assertIn("Skipped: 4.wav", handover)
        if os.path.exists(self.path("night", "4.wav")):
            os.remove(self.path("night", "4.wav"))
        self.finish(out="without")
        for name in ("events", "arrivals", "channels", "noise", "findings"):
            self.assertEqual(read(self.path("out", name + ".csv")), read(self.path("without", name + ".csv")), name)
        self.only_results_are_left("out", "without")

    def test_a_file_vanishes_while_the_others_are_read(self):
        self.lose(os.remove)

    def test_a_file_shrinks_while_the_others_are_read(self):
        self.lose(lambda path: os.truncate(path, 5000))

    def test_a_file_grows_while_it_is_read(self):
        process = self.start("--jobs", "1")
        self.wait_for(process, lambda: self.units() >= 1)
        with open(self.path("night", "4.wav"), "ab") as file:
            file.write(b"\0" * 64000)
        _, said = process.communicate()
        self.assertEqual(process.returncode, 4, said)
        self.assertIn("changed while it was read", said)
        self.assertIn("changed while it was read", read(self.path("out", "report.json")).decode())

    def test_few_file_descriptors(self):
        os.mkdir(self.path("pieces"))
        for number, piece in enumerate(np.split(self.samples, 160)):
            write_wav(self.path("pieces", f"{number}.wav"), piece, rate=RATE)
        result = subprocess.run(["bash", "-c", 'ulimit -n 24 && exec "$@"', "bash", tool("lull-review"), "--quiet",
                                 self.path("pieces"), "-o", self.path("out")], capture_output=True, text=True)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        for name in ("events", "arrivals", "noise"):
            self.assertEqual(read(self.path("out", name + ".csv")), read(self.path(self.undisturbed(), name + ".csv")), name)

    @staticmethod
    def as_nobody(*command):
        """Runs without the rights of root, who may read everything."""
        return subprocess.run(command, capture_output=True, text=True, user="nobody", group="nogroup", extra_groups=[],
                              timeout=TIMEOUT_S)

    def test_permission_denied(self):
        if os.geteuid() != 0:
            self.skipTest("only root may run as somebody else")
        try:
            asked = self.as_nobody(tool("lull-review"), "--version")
        except (OSError, LookupError) as fault:
            self.skipTest(f"nobody may not run the program here: {fault}")
        self.assertEqual(asked.returncode, 0, asked.stderr)
        os.chmod(self.folder, 0o755)
        os.mkdir(self.path("free"))
        os.chmod(self.path("free"), 0o777)
        os.chmod(self.path("night", "2.wav"), 0o000)
        result = self.as_nobody(*self.command(out="free/out"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("2.wav: skipped: Permission denied", result.stderr)
        self.assertIn("Skipped: 2.wav, Permission denied.", read(self.path("free", "out", "handover.txt")).decode())
        self.assert_refused(self.as_nobody(*self.command("--quiet")), 1, "out", "Permission denied")
        os.chmod(self.path("free", "out"), 0o555)
        os.chmod(self.path("night"), 0o700)
        self.assert_refused(self.as_nobody(*self.command("--quiet", out="free/other")), 3, "night", "Permission denied")
        self.assertEqual(os.listdir(self.path("free")), ["out"])


if __name__ == "__main__":
    main()
