#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""JSON Lines begin before the analysis ends, and hold the rows of the table."""
import json
import os
import subprocess
import time

from harness import SOURCE, Folder, add_at, knock, main, noise, run, tool, write_wav

RATE = 8000


class Lines(Folder):
    def recording(self, minutes):
        samples = noise(60 * minutes, 1, rate=RATE, seed=4)
        for second in range(10, 60 * minutes, 20):
            add_at(samples, 0, second, knock(RATE), 0.3, rate=RATE)
        write_wav(self.path("a.wav"), samples, rate=RATE)
        return self.path("a.wav")

    def lines_of(self, text):
        return [json.loads(line) for line in text.splitlines()]

    def test_rows_are_those_of_the_document(self):
        path = self.recording(1)
        lines = self.lines_of(run("lull-detect", path, "--quiet", "--format", "jsonl").stdout)
        document = json.loads(run("lull-detect", path, "--quiet", "--format", "json").stdout)
        rows = [{key: value for key, value in line.items() if key != "table"} for line in lines
                if line["table"] == "events"]
        self.assertEqual(rows, document["rows"])
        self.assertGreaterEqual(len(rows), 3)
        self.assertEqual((lines[0]["table"], lines[-1]["table"]), ("about", "end"))
        self.assertEqual(lines[-1]["rows"], len(rows))
        self.assertEqual(lines[0]["caution"], document["caution"])
        self.assertEqual(lines[-1]["inputs"], document["inputs"])

    def test_lines_begin_before_the_analysis_ends(self):
        path = self.recording(11)  # three units of work
        process = subprocess.Popen([tool("lull-detect"), path, "--quiet", "--format", "jsonl", "--jobs", "1"],
                                   stdout=subprocess.PIPE, text=True)
        came = []
        for line in process.stdout:
            came.append((time.monotonic(), json.loads(line)["table"]))
        ended = time.monotonic()
        self.assertEqual(process.wait(), 0)
        tables = [table for _, table in came]
        self.assertEqual(tables[0], "about")
        first_heard = tables.index("heard")
        self.assertLess(first_heard, tables.index("events"))
        # The first of three units is reported before the others begin.
        self.assertLess(came[first_heard][0] - came[0][0], 0.8 * (ended - came[0][0]))

    def test_the_same_lines_for_any_jobs_and_in_a_file(self):
        path = self.recording(11)
        one = run("lull-detect", path, "--quiet", "--format", "jsonl", "--jobs", "1").stdout
        self.assertEqual(one, run("lull-detect", path, "--quiet", "--format", "jsonl", "--jobs", "3").stdout)
        self.assertEqual(run("lull-detect", path, "--quiet", "-o", self.path("a.jsonl")).returncode, 0)
        with open(self.path("a.jsonl"), encoding="utf-8") as file:
            self.assertEqual(file.read(), one)

    def test_other_tools_write_lines_too(self):
        session = os.path.join(SOURCE, "data", "demo", "session.json")
        lines = self.lines_of(run("lull-inspect", session, "--quiet", "--format", "jsonl").stdout)
        self.assertEqual([line["table"] for line in lines], ["about"] + ["channels"] * 5 + ["end"])


if __name__ == "__main__":
    main()
