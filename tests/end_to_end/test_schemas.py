#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Real outputs against the published schemas, by an independent validator; tables by an independent reader."""
import copy
import csv
import json
import os
import sys
import unittest

try:
    import jsonschema
except ImportError:
    print("SKIPPED: jsonschema is not installed (python3-jsonschema)")
    sys.exit(77)

from harness import SOURCE, Folder, add_at, knock, main, noise, run, tool, write_json, write_wav

NEEDED = ["lull-review", "lull-detect", "lull-inspect", "lull-noise", "lull-rank", "lull-delay"]
for needed in NEEDED:
    if not os.path.exists(tool(needed)):
        print(f"SKIPPED: {needed} is not built")
        sys.exit(77)


def schema(name):
    with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
        read = json.load(file)
    jsonschema.Draft202012Validator.check_schema(read)
    return jsonschema.Draft202012Validator(read)


class Schemas(Folder):
    def setUp(self):
        super().setUp()
        samples = noise(40, 3, rms=0.002, seed=5)
        for k in range(5):
            for channel, gain in enumerate((0.2, 0.1, 0.05)):
                add_at(samples, channel, 10.0 + 0.55 * k + 0.003 * channel, knock(16000), gain)
        write_wav(self.path("a.wav"), samples)
        names = ("stairwell", "=north \"slab\"", "<script>alert(1)</script>")
        write_json(self.path("s.json"), {
            "format": "lull-session", "version": 1, "start": "2026-03-14T02:00:00+01:00",
            "recordings": [{"file": "a.wav"}],
            "channels": [{"name": name, "kind": "seismic", "track": track + 1}
                         for track, name in enumerate(names)]})

    def valid(self, name, text):
        document = json.loads(text)
        faults = [f"{list(fault.path)}: {fault.message}" for fault in schema(name).iter_errors(document)]
        self.assertEqual(faults, [])
        return document

    def test_report_and_its_tables(self):
        result = run("lull-review", self.path("s.json"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = self.valid("report", file.read())
        self.assertGreater(len(report["events"]), 0)
        for table in ("channels", "findings", "noise", "quiet", "events", "arrivals", "series", "hails",
                      "ranking", "delays", "clocks"):
            with open(self.path("out", table + ".csv"), encoding="utf-8", newline="") as file:
                rows = list(csv.DictReader(file, strict=True))
            self.assertEqual(len(rows), len(report[table]), table)
            for row, same in zip(rows, report[table]):
                self.assertEqual(list(row), list(same), table)
                for name, value in same.items():
                    if value is None:
                        self.assertEqual(row[name], "", f"{table} {name}")
                    elif isinstance(value, (int, float)):
                        self.assertEqual(float(row[name]), value, f"{table} {name}")
                    else:
                        self.assertIn(row[name], (value, "'" + value), f"{table} {name}")

    def test_the_schema_refuses_faults(self):
        result = run("lull-review", self.path("s.json"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        for spoil in (lambda r: r.update(caution="all is well"), lambda r: r.pop("counts"),
                      lambda r: r["events"][0].update(confidence=1.5), lambda r: r["inputs"][0].update(sha256="x")):
            wrong = copy.deepcopy(report)
            spoil(wrong)
            self.assertFalse(schema("report").is_valid(wrong))

    def test_each_tool_alone(self):
        events = self.path("events.csv")
        self.assertEqual(run("lull-detect", self.path("s.json"), "-o", events).returncode, 0)
        for name, options in (("lull-detect", []), ("lull-inspect", []), ("lull-noise", []),
                              ("lull-rank", ["--events", events]), ("lull-delay", ["--events", events])):
            result = run(name, self.path("s.json"), *options, "--format", "json")
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertGreater(len(self.valid("table", result.stdout)["rows"]), 0, name)


class Demo(Folder):
    def test_demo_report(self):
        session = os.path.join(SOURCE, "data", "demo", "session.json")
        if not os.path.exists(session):
            self.skipTest("data/demo/session.json is not there")
        result = run("lull-review", session, "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        self.assertEqual(list(schema("report").iter_errors(report)), [])


if __name__ == "__main__":
    main()
