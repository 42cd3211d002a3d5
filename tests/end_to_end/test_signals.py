#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Horn signals and hails: local rules as data, bounded quiet periods, answers against chance."""
import json
import os
import sys

import numpy as np

from harness import SOURCE, Folder, add_at, knock, main, noise, rows_of, run, tool, write_json, write_wav

for needed in ("lull-detect", "lull-review", "lull-noise", "lull-exercise"):
    if not os.path.exists(tool(needed)):
        print(f"SKIPPED: {needed} is not built")
        sys.exit(77)

RULES = {"format": "lull-horn-patterns", "version": 1,
         "patterns": [{"meaning": "soup is ready", "orders": "other",
                       "blasts": [{"least_s": 2.0, "most_s": 4.5}]}]}


def rows_in(path):
    with open(path, encoding="utf-8") as file:
        return rows_of(file.read())


class Horns(Folder):
    def made(self, **more):
        """Machine noise, quiet ordered at 20 s, work again at 70 s."""
        plan = {
            "format": "lull-plan", "version": 1, "label": "yard", "rate_hz": 8000, "duration_s": 100,
            "seed": 77,
            "channels": [{"name": name, "kind": kind, "position_m": position}
                         for name, kind, position in (("stairwell", "seismic", [0, 0, 0]),
                                                      ("north-slab", "seismic", [8, 2, 0]),
                                                      ("void-mic", "air", [3, 4, 0]))],
            "site": [{"kind": "ambient", "level_db": -66},
                     {"kind": "generator", "position_m": [-30, 10, 0], "level_db": -50,
                      "stops_in_quiet": True}],
            "quiet_periods": [{"from_s": 25, "to_s": 72, "drop_db": 26}],
            "events": [{"kind": "horn", "time_s": 20, "position_m": [-8, -4, 2], "snr_db": 26,
                        "duration_s": 3},
                       {"kind": "horn", "time_s": 66, "position_m": [-8, -4, 2], "snr_db": 32,
                        "duration_s": 3},
                       {"kind": "horn", "time_s": 70, "position_m": [-8, -4, 2], "snr_db": 32,
                        "duration_s": 0.8}]}
        plan.update(more)
        write_json(self.path("plan.json"), plan)
        made = run("lull-exercise", self.path("plan.json"), "-o", self.path("made"))
        self.assertEqual(made.returncode, 0, made.stderr)
        return self.path("made", "trainee", "session.json")

    def test_blasts_are_found_and_named_and_bound_quiet_periods(self):
        session = self.made()
        events = rows_of(run("lull-detect", session).stdout)
        horns = [e for e in events if e["kind"] == "horn" and float(e["confidence"]) >= 0.5]
        for at in (20.0, 66.0, 70.0):
            self.assertTrue(any(abs(float(e["onset_s"]) - at) < 0.3 for e in horns), (at, horns))
        order = next(e for e in horns if abs(float(e["onset_s"]) - 20.0) < 0.3)
        self.assertIn("stop work and be quiet", order["why"])
        work = next(e for e in horns if abs(float(e["onset_s"]) - 66.0) < 0.3)
        self.assertIn("resume work", work["why"])
        run("lull-noise", session, "-o", self.path("n.csv"), "--quiet-periods", self.path("q.csv"))
        quiet = rows_in(self.path("q.csv"))
        self.assertEqual(len(quiet), 1, quiet)
        self.assertEqual(quiet[0]["ordered_by"], order["event"])
        self.assertEqual(quiet[0]["ended_by"], work["event"])
        self.assertLess(float(quiet[0]["to_s"]), 66.5)
        for number in filter(None, quiet[0]["broken_by"].split(";")):
            self.assertNotIn(number, (order["event"], work["event"]))

    def test_local_rules_come_from_a_file(self):
        write_json(self.path("rules.json"), RULES)
        session = self.made()
        events = rows_of(run("lull-detect", session, "--horns", self.path("rules.json")).stdout)
        self.assertTrue(any("soup is ready" in e["why"] for e in events))
        self.assertFalse(any("be quiet" in e["why"] for e in events))
        result = run("lull-review", session, "--horns", self.path("rules.json"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        self.assertTrue(report["settings"]["horn_patterns"].startswith("SHA-256 "))
        self.assertIsNone(report["hail_chance"])

    def test_bad_rules_are_refused_with_their_place(self):
        write_wav(self.path("a.wav"), noise(5, 1))

        def spoilt(change, *words):
            rules = json.loads(json.dumps(RULES))
            change(rules)
            write_json(self.path("bad.json"), rules)
            for name, more in (("lull-detect", ()), ("lull-review", ("-o", self.path("out")))):
                self.assert_refused(run(name, "--quiet", self.path("a.wav"), "--horns", self.path("bad.json"),
                                        *more), 3, "bad.json", *words)

        spoilt(lambda r: r.update(format="other"), "format")
        spoilt(lambda r: r.update(patterns=[]), "patterns")
        spoilt(lambda r: r["patterns"][0].update(orders="peace"), "patterns[0].orders", "quiet")
        spoilt(lambda r: r["patterns"][0]["blasts"][0].update(most_s=1.0), "patterns[0].blasts[0].most_s",
               "least_s")
        spoilt(lambda r: r["patterns"][0].update(meening="x"), "meening", "meaning")
        self.assert_refused(run("lull-detect", "--quiet", self.path("a.wav"), "--horns",
                                self.path("none.json")), 3, "none.json", "No such file")
        with open(self.path("bad.json"), "w", encoding="utf-8") as file:
            file.write("{\n  \"format\": ,\n")
        self.assert_refused(run("lull-detect", "--quiet", self.path("a.wav"), "--horns",
                                self.path("bad.json")), 3, "line 2")

    def test_the_built_in_rules_fit_the_schema(self):
        try:
            import jsonschema
        except ImportError:
            self.skipTest("python3-jsonschema is not installed")
        with open(os.path.join(SOURCE, "data", "schema", "horn-patterns.schema.json"), encoding="utf-8") as file:
            validator = jsonschema.Draft202012Validator(json.load(file))
        with open(os.path.join(SOURCE, "data", "horn-patterns.json"), encoding="utf-8") as file:
            self.assertEqual(list(validator.iter_errors(json.load(file))), [])
        self.assertEqual(list(validator.iter_errors(RULES)), [])


class Hails(Folder):
    def record(self, answered):
        """The team knocks near channel 1 four times, and three knocks answer on channel 2."""
        samples = noise(240, 2, rms=0.002, seed=21)
        for k, at in enumerate((20.0, 71.0, 133.0, 190.0)):
            for tap in range(3):
                add_at(samples, 0, at + 0.5 * tap, knock(16000, 500.0), 0.3)
                add_at(samples, 1, at + 0.5 * tap, knock(16000, 500.0), 0.05)
            if answered:
                for tap in range(3):
                    add_at(samples, 1, at + 6.0 + k + 0.55 * tap, knock(16000, 260.0), 0.06)
                    add_at(samples, 0, at + 6.0 + k + 0.55 * tap, knock(16000, 260.0), 0.015)
        write_wav(self.path("a.wav"), samples)

    def test_strong_calls_on_the_teams_channel_are_hails(self):
        self.record(True)
        result = run("lull-detect", self.path("a.wav"), "--hail-channel", "1", "-o", self.path("e.csv"),
                     "--hails", self.path("h.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        hails = rows_in(self.path("h.csv"))
        self.assertEqual(len(hails), 4, hails)
        for row in hails:
            self.assertEqual(row["known_from"], "channel")
            self.assertEqual(row["session_followed"], "4")
            self.assertLess(float(row["session_expected"]), 1.0)
            # Any shift by less than an answer's time hits them all: 15 of 240 s, whatever the answers.
            self.assertLess(float(row["session_p"]), 0.1)
            self.assertNotEqual(row["followed_by"], "")
        self.assertIn("4 hails: 4 occurrences followed", result.stderr)

    def test_a_review_states_it_on_the_page_and_in_json(self):
        self.record(False)
        with open(self.path("log.csv"), "w", encoding="utf-8") as file:
            file.write("time,person,action,channels,text\n20,x,call-out,,\n71,x,call-out,,\n")
        result = run("lull-review", self.path("a.wav"), "--log", self.path("log.csv"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            chance = json.load(file)["hail_chance"]
        self.assertEqual(chance["hails"], 2)
        self.assertEqual(chance["followed"], 0)
        self.assertEqual(chance["p"], 1.0)
        self.assertGreater(chance["smallest_p"], 0.0)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = file.read()
        self.assertIn("2 hails: 0 occurrences followed", page)
        self.assertIn("would look like an answer", page)

    def test_an_unknown_channel_is_refused(self):
        write_wav(self.path("a.wav"), noise(5, 1))
        self.assert_refused(run("lull-detect", "--quiet", self.path("a.wav"), "--hail-channel", "attic"), 2,
                            "attic")


if __name__ == "__main__":
    main()
