#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds for every tool: help, version, the same numbers as the review, the same bytes."""
import filecmp
import json
import os
import shutil
import subprocess
import tempfile
import unittest

from harness import SOURCE, Folder, add_at, knock, main, noise, rows_of, run, tool, write_json, write_wav

TOOLS = ["lull-grade", "lull-review", "lull-inspect", "lull-filter", "lull-noise", "lull-detect", "lull-rank",
         "lull-delay", "lull-locate", "lull-audibility", "lull-excerpt", "lull-exercise"]
CAUTION = "A recording in which nothing is found does not show that nobody is there."


class EveryTool(unittest.TestCase):
    def test_help_and_version(self):
        for name in TOOLS:
            helped = run(name, "--help")
            self.assertEqual((helped.returncode, helped.stderr), (0, ""), name)
            self.assertIn(name, helped.stdout)
            version = run(name, "--version")
            self.assertEqual((version.returncode, version.stderr), (0, ""), name)
            self.assertRegex(version.stdout, rf"^{name} \d+\.\d+\.\d+\n$")

    def test_no_arguments_is_a_usage_error(self):
        for name in TOOLS:
            result = run(name)
            self.assertEqual(result.returncode, 2, name)
            self.assertEqual(len(result.stderr.splitlines()), 1, result.stderr)

    def test_unknown_option(self):
        for name in TOOLS:
            self.assertEqual(run(name, "--no-such-option").returncode, 2, name)


class Site(Folder):
    """Three seismic channels and one microphone; two groups of knocks; 310 s, so two units. Reviewed once."""
    KNOCKS = [20.0 + 0.6 * k for k in range(3)] + [60.0 + 0.5 * k for k in range(5)] + [299.9, 300.5, 301.1, 301.7]
    DELAYS = [0.0, 0.004, 0.011]
    RATE = 8000

    @classmethod
    def setUpClass(cls):
        made = tempfile.mkdtemp(prefix="lull-test-")
        cls.addClassCleanup(shutil.rmtree, made, ignore_errors=True)
        cls.recording, cls.session = os.path.join(made, "a.wav"), os.path.join(made, "s.json")
        samples = noise(310, 4, rate=cls.RATE, rms=0.002, seed=3)
        for time_s in cls.KNOCKS:
            for channel, (delay_s, gain) in enumerate(zip(cls.DELAYS, (0.2, 0.1, 0.05))):
                add_at(samples, channel, time_s + delay_s, knock(cls.RATE), gain, cls.RATE)
        write_wav(cls.recording, samples, cls.RATE)
        write_json(cls.session, {
            "format": "lull-session", "version": 1, "start": "2026-03-14T02:00:00Z",
            "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": kind, "track": track + 1, "axis": "vertical", "position_m": [3 * track, 0, 0]}
                         for track, (name, kind) in enumerate((("stairwell", "seismic"), ("north-slab", "seismic"),
                                                               ("lift-shaft", "seismic"), ("void-mic", "air")))]})
        cls.reviewed = os.path.join(made, "out")
        result = run("lull-review", cls.session, "-o", cls.reviewed, "--jobs", 2)
        assert result.returncode == 0, result.stderr


class Review(Site):
    def test_finds_the_knocks_at_their_times_and_channels(self):
        with open(os.path.join(self.reviewed, "events.csv"), newline="") as file:
            events = rows_of(file.read())
        for time_s in self.KNOCKS:
            near = [event for event in events if abs(float(event["onset_s"]) - time_s) < 0.01]
            self.assertEqual(len(near), 1, f"knock at {time_s}")
            self.assertEqual(near[0]["channel"], "stairwell")
            self.assertEqual(near[0]["kind"], "tapping")
            self.assertGreater(float(near[0]["confidence"]), 0.5)
        self.assertLess(len(events), len(self.KNOCKS) + 4)
        with open(os.path.join(self.reviewed, "delays.csv"), newline="") as file:
            delays = [row for row in rows_of(file.read()) if row["usable"] == "yes"]
        pairs = [row for row in delays if (row["channel_a"], row["channel_b"]) == ("stairwell", "lift-shaft")]
        self.assertGreater(len(pairs), 8)
        for row in pairs:
            self.assertLess(abs(float(row["delay_s"]) - 0.011), 5 * float(row["sigma_s"]) + 1e-5)
        with open(os.path.join(self.reviewed, "ranking.csv"), newline="") as file:
            ranks = [row for row in rows_of(file.read()) if row["event"] == "all" and row["kind"] == "seismic"]
        self.assertEqual([row["channel"] for row in sorted(ranks, key=lambda row: int(row["rank"]))],
                         ["stairwell", "north-slab", "lift-shaft"])

    def test_folder_holds_the_files_of_the_contract(self):
        for name in ("report.json", "index.html", "SHA256SUMS", "READ-FIRST.txt", "run.log", "channels.csv",
                     "findings.csv", "noise.csv", "quiet.csv", "events.csv", "arrivals.csv", "series.csv",
                     "hails.csv", "ranking.csv", "delays.csv", "clocks.csv", "excerpts"):
            self.assertTrue(os.path.exists(os.path.join(self.reviewed, name)), name)
        check = subprocess.run(["sha256sum", "--quiet", "-c", "SHA256SUMS"], cwd=self.reviewed,
                               capture_output=True, text=True)
        self.assertEqual(check.returncode, 0, check.stdout + check.stderr)
        for name in ("report.json", "index.html", "READ-FIRST.txt"):
            with open(os.path.join(self.reviewed, name), encoding="utf-8") as file:
                self.assertIn(CAUTION, file.read(), name)
        with open(os.path.join(self.reviewed, "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        self.assertEqual(report["inputs"][0]["bytes"], os.path.getsize(self.recording))

    def test_same_bytes_for_any_jobs_and_folder(self):
        os.makedirs(self.path("deeper"))
        one = self.path("deeper", "one")
        self.assertEqual(run("lull-review", self.session, "-o", one, "--jobs", 1).returncode, 0)
        names = [os.path.relpath(os.path.join(where, name), one) for where, _, files in os.walk(one) for name in files]
        names.remove("run.log")
        self.assertGreater(len(names), 14)
        _, differ, missing = filecmp.cmpfiles(one, self.reviewed, names, shallow=False)
        self.assertEqual((differ, missing), ([], []))

    def test_tools_give_the_numbers_of_the_review(self):
        events = os.path.join(self.reviewed, "events.csv")
        for name, table, options in (
                ("lull-detect", "events", ["--arrivals", self.path("arrivals.csv"), "--series", self.path("series.csv"),
                                           "--hails", self.path("hails.csv")]),
                ("lull-inspect", "channels", ["--findings", self.path("findings.csv")]),
                ("lull-noise", "noise", ["--quiet-periods", self.path("quiet.csv")]),
                ("lull-rank", "ranking", ["--events", events]),
                ("lull-delay", "delays", ["--events", events, "--clocks", self.path("clocks.csv")])):
            result = run(name, self.session, *options, "-o", self.path(table + ".csv"))
            self.assertEqual(result.returncode, 0, result.stderr)
        for table in ("events", "arrivals", "series", "hails", "channels", "findings", "noise", "quiet", "ranking",
                      "delays", "clocks"):
            with open(self.path(table + ".csv")) as alone, open(os.path.join(self.reviewed, table + ".csv")) as review:
                self.assertEqual(alone.read(), review.read(), table)

    def test_from_and_to(self):
        with open(os.path.join(self.reviewed, "events.csv"), newline="") as file:
            whole = rows_of(file.read())
        for options in (["--from", "50", "--to", "100"], ["--from", "+00:00:50", "--to", "+00:01:40"],
                        ["--from", "02:00:50", "--to", "2026-03-14T02:01:40Z"]):
            result = run("lull-detect", self.session, *options)
            self.assertEqual(result.returncode, 0, result.stderr)
            part = rows_of(result.stdout)
            inside = [row for row in whole if 50 <= float(row["onset_s"]) < 100]
            self.assertEqual([row["onset_s"] for row in part], [row["onset_s"] for row in inside])
            self.assertTrue(part[0]["onset_clock"].startswith("2026-03-14T02:01:0"))

    def test_channels_by_name_or_number(self):
        for pick in ("north-slab,void-mic", "2,4"):
            result = run("lull-inspect", self.session, "--channels", pick)
            self.assertEqual([row["channel"] for row in rows_of(result.stdout)], ["north-slab", "void-mic"])

    def test_standard_input(self):
        with open(self.recording, "rb") as file:
            data = file.read()
        piped = run("lull-detect", "-", stdin=data)
        named = run("lull-detect", self.recording)
        self.assertEqual(piped.returncode, 0, piped.stderr)
        self.assertEqual(piped.stdout.decode().splitlines(), named.stdout.splitlines())

    def test_nothing_found_is_never_called_clear(self):
        write_wav(self.path("n.wav"), noise(30, 2, seed=9))
        result = run("lull-review", self.path("n.wav"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("No event listed", result.stderr)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = file.read()
        self.assertIn("No event listed", page)
        self.assertNotIn(" clear", page.lower().replace("clear: both", ""))


if __name__ == "__main__":
    main()
