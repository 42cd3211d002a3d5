#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What an earlier release wrote or took is still read: sessions, plans, logs, judgements, tables, folders.

data/earlier-release.tar.gz holds five seconds of a made recording and what the tools of that release made of it:
session.json, log.csv, judgements.csv, plan.json, out/ (lull-review --no-audio), exercise/ and grades/. It is made anew
only when a form of file gets another version.
"""
import csv
import os
import tarfile

from harness import Folder, main, rows_of, run

ARCHIVE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data", "earlier-release.tar.gz")
SLACK_S = 0.001


class EarlierRelease(Folder):
    def setUp(self):
        super().setUp()
        with tarfile.open(ARCHIVE) as archive:
            archive.extractall(self.path())

    def works(self, *command):
        result = run(*command, "--quiet")
        self.assertEqual(result.returncode, 0, result.stderr)
        return result.stdout

    def rows(self, *place):
        with open(self.path(*place), encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def test_its_session_is_read_and_the_knocks_have_the_same_times(self):
        now = rows_of(self.works("lull-detect", self.path("session.json")))
        for event in self.rows("out", "events.csv"):
            self.assertTrue(any(abs(float(one["onset_s"]) - float(event["onset_s"])) < SLACK_S for one in now), event)
            self.assertTrue(any(one["onset_clock"] == event["onset_clock"] for one in now), event)

    def test_its_folder_is_known_and_replaced_and_the_user_s_files_stay(self):
        with open(self.path("out", "notes.txt"), "w", encoding="utf-8") as file:
            file.write("mine")
        result = run("lull-review", self.path("session.json"), "--log", self.path("log.csv"), "--judgements",
                     self.path("judgements.csv"), "--no-audio", "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertNotIn("could not be read", result.stderr)
        with open(self.path("out", "notes.txt"), encoding="utf-8") as file:
            self.assertEqual(file.read(), "mine")
        self.assertNotIn("events-kept.csv", os.listdir(self.path("out")))

    def test_its_tables_are_read(self):
        events = self.path("out", "events.csv")
        self.assertGreater(len(rows_of(self.works("lull-rank", self.path("session.json"), "--events", events))), 3)
        self.works("lull-excerpt", self.path("session.json"), "--events", events, "-o", self.path("cut"))
        self.works("lull-audibility", self.path("session.json"), "--noise", self.path("out", "noise.csv"), "--source",
                   "knock", "--strength", "-20")

    def test_its_plan_truth_sheets_and_scores_are_read(self):
        self.works("lull-exercise", self.path("plan.json"), "-o", self.path("again"))
        self.assertEqual(len(self.rows("again", "instructor", "truth.csv")),
                         len(self.rows("exercise", "instructor", "truth.csv")))
        truth = self.path("exercise", "instructor", "truth.csv")
        self.works("lull-grade", "--truth", truth, "--sheets", truth, "--recording",
                   self.path("exercise", "trainee", "session.json"), "--earlier", self.path("grades", "scores.csv"),
                   "-o", self.path("graded"))
        self.assertEqual([row["hits"] for row in self.rows("graded", "scores.csv")],
                         [row["hits"] for row in self.rows("grades", "scores.csv")])

    def test_its_judgements_serve_as_truth(self):
        self.works("lull-grade", "--judgements", self.path("judgements.csv"), "--reviewer", "AB", "--sheets",
                   self.path("exercise", "instructor", "truth.csv"), "-o", self.path("by-judgement"))


if __name__ == "__main__":
    main()
