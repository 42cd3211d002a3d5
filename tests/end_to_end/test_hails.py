#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The team's own calls and knocks are never finds, wherever finds are reported. Events over digital silence."""
import json
import os
import re
import subprocess
import unittest

from harness import SOURCE, Folder, add_at, knock, main, noise, np, rows_of, run, tool, write_wav

RATE = 8000
OWN = [8.0 + 0.6 * k for k in range(5)]       # the team knocks
ANSWER = [17.0 + 0.72 * k for k in range(5)]  # somebody answers
LOG = "time,person,action,channels,text\r\n0:09,A,call-out,1,five knocks\r\n"


class Review(Folder):
    def read(self, name):
        with open(self.path("out", name), encoding="utf-8", newline="") as file:
            return file.read()

    def valid(self, name, document):
        try:
            import jsonschema
        except ImportError:
            self.skipTest("jsonschema is not installed (python3-jsonschema)")
        with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
            schema = json.load(file)
        self.assertEqual([f"{list(f.path)}: {f.message}" for f in jsonschema.Draft202012Validator(schema).iter_errors(document)], [])


class Night(Review):
    def setUp(self):
        super().setUp()
        samples = noise(60, 3, rate=RATE, rms=0.002, seed=11)
        for times, gains, frequency in ((OWN, (0.03, 0.02, 0.02), 350.0), (ANSWER, (0.05, 0.07, 0.09), 240.0)):
            for time_s in times:
                for channel, gain in enumerate(gains):
                    add_at(samples, channel, time_s, knock(RATE, frequency), gain, RATE)
        os.mkdir(self.path("night"))
        for number in (1, 2):
            write_wav(self.path("night", f"take-{number}.wav"), samples[(number - 1) * 30 * RATE:number * 30 * RATE], rate=RATE)
        with open(self.path("log.csv"), "w", encoding="utf-8", newline="") as file:
            file.write(LOG)

    def review(self, *options):
        result = run("lull-review", self.path("night"), "-o", self.path("out"), *options)
        self.assertEqual(result.returncode, 0, result.stderr)
        return result.stderr

    @staticmethod
    def is_own(onset_s):
        return OWN[0] - 0.1 < float(onset_s) < OWN[-1] + 0.1

    def test_without_the_log_hails_are_the_first_find(self):
        self.review()
        self.assertTrue(self.is_own(rows_of(self.read("night.csv"))[0]["from_s"]))
        self.assertEqual({row["hail"] for row in rows_of(self.read("events.csv"))}, {""})

    def test_hails_in_the_log_are_no_finds(self):
        said = self.review("--log", self.path("log.csv"))
        self.assertIn("5 events are the team's own hails", said)
        finds = rows_of(self.read("night.csv"))
        self.assertEqual([row for row in finds if self.is_own(row["from_s"])], [])
        self.assertAlmostEqual(float(finds[0]["from_s"]), ANSWER[0], delta=0.05)
        self.assertEqual(finds[0]["after_hail"], "1")

        events = rows_of(self.read("events.csv"))
        own = [row for row in events if row["hail"]]
        self.assertEqual([row["hail"] for row in own], ["1"] * 5)
        for row in own:
            self.assertTrue(self.is_own(row["onset_s"]), row)
        hails = rows_of(self.read("hails.csv"))
        self.assertEqual(hails[0]["events"], ";".join(row["event"] for row in own))

        handover = self.read("handover.txt")
        self.assertRegex(handover, r"HAILS\n1 of the team's own, not among the finds: \+00:00:0[78]\.")
        first = handover.split("\nFINDS\n")[1].splitlines()
        self.assertRegex(first[1], r"^1\. \+00:00:1[67], tapping, 5 taps")
        counted = [row for row in rows_of(self.read("finds.csv")) if float(row["confidence"]) >= 0.5]
        self.assertIn(f"Finds of confidence 0.5 and more: {len(counted)};", first[0])

        page = self.read("index.html")
        section = {name: page.split(f'<section id="{name}"')[1].split("</section>")[0] for name in ("finds", "hails")}
        in_finds = {number for row in rows_of(self.read("finds.csv")) for number in row["events"].split(";")}
        self.assertEqual(in_finds & {row["event"] for row in own}, set(), "a hail is no find")
        self.assertIn(hails[0]["events"], section["hails"])
        self.assertIn(f'href="#find-{counted[0]["find"]}"', section["finds"])

        for name, schema in (("report.json", "report"), ("night.json", "night")):
            document = json.loads(self.read(name))
            self.assertEqual(document["counts"]["of_hails"], 5, name)
            self.assertEqual(document["counts"]["confidence_0.5_and_more"], len(counted), name)
            self.valid(schema, document)

    def test_hails_send_no_notification(self):
        script = self.path("page-me")
        with open(script, "w", encoding="utf-8") as file:
            file.write(f'#!/bin/sh\nfor text in "$@"; do printf "%s\\n" "$text" >> "{self.path("heard")}"; done\n')
        os.chmod(script, 0o755)
        done = subprocess.run([tool("lull-review"), self.path("night"), "-o", self.path("out"), "--log", self.path("log.csv"),
                               "--follow", "--settled", "0.2", "--until", "+00:00:03", "--notify", script],
                              capture_output=True, text=True, timeout=300)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(self.path("heard"), encoding="utf-8") as file:
            heard = file.read().splitlines()
        self.assertTrue(heard)
        for line in heard + re.findall("strong find: (.*)", done.stderr):
            self.assertRegex(line, r"^\+00:00:(1[6-9]|2)", "only what answered")


class DigitalSilence(Review):
    """A floor of zeros: the SNR is infinite, first in every order, and written the same everywhere."""

    def setUp(self):
        super().setUp()
        samples = np.zeros((30 * RATE, 2))
        samples[:, 1] = noise(30, 1, rate=RATE, rms=0.002, seed=12)[:, 0]
        for time_s in (10.0, 20.0):
            for channel in (0, 1):
                add_at(samples, channel, time_s, knock(RATE), 0.3, RATE)
        write_wav(self.path("silent.wav"), samples, rate=RATE)

    def test_is_read_as_infinite_everywhere(self):
        result = run("lull-review", self.path("silent.wav"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        events = rows_of(self.read("events.csv"))
        self.assertEqual(len(events), 2)
        for row in events:
            self.assertEqual((row["snr_db"], row["channel"]), ("inf", "ch1"), row)
            self.assertIn("over a digitally silent floor in ", row["why"])
        arrivals = {row["channel"]: row["snr_db"] for row in rows_of(self.read("arrivals.csv"))}
        self.assertEqual(arrivals["ch1"], "inf")
        self.assertGreater(float(arrivals["ch2"]), 20.0)
        report = json.loads(self.read("report.json"))
        self.assertEqual({row["snr_db"] for row in report["events"]}, {"inf"})
        self.valid("report", report)
        ranks = run("lull-rank", self.path("silent.wav"), "--events", self.path("out", "events.csv"))
        self.assertEqual(ranks.returncode, 0, ranks.stderr)
        self.assertEqual({row["snr_db"] for row in rows_of(ranks.stdout) if row["channel"] == "ch1"}, {"inf"})
        self.assertEqual(ranks.stdout.replace("\r\n", "\n"), self.read("ranking.csv").replace("\r\n", "\n"))


if __name__ == "__main__":
    main()
