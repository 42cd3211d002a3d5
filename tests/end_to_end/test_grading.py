#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""lull-grade on the real executable, with the demo's truth, log and recording: sheets, judgements of
two reviewers, the log, the program's own finds, earlier exercises, pseudonyms."""
import csv
import json
import math
import os
import sys
import zipfile

try:
    import jsonschema
except ImportError:
    print("SKIPPED: jsonschema is not installed (python3-jsonschema)")
    sys.exit(77)

from harness import SOURCE, Folder, main, rows_of, run, tool

DEMO = os.path.join(SOURCE, "data", "demo")
if not os.path.exists(tool("lull-grade")) or not os.path.exists(os.path.join(DEMO, "session.json")):
    print("SKIPPED: lull-grade or data/demo is not there")
    sys.exit(77)

TRUTH, SESSION, LOG = (os.path.join(DEMO, name) for name in ("truth.csv", "session.json", "log.csv"))
GOOD = ("time;kind;channel;x;y;note\r\n0:31,5;knocking;north-slab;7;7;three\r\n52,9;taps;2;;;\r\n"
        "1:05;voice;void-mic;;;\r\n74,6;scratching;north-slab;;;faint\r\n")
HASTY = "\ufefftime,kind\r\n+00:00:32,knock\r\n0:40,knock\r\n1:19,?\r\nhalf past,voice\r\n"


class Grading(Folder):
    def write(self, name, text):
        with open(self.path(name), "w", encoding="utf-8", newline="") as file:
            file.write(text)
        return self.path(name)

    def grade(self, *options, status=0, out="out"):
        if "--synonyms" not in options:  # the program's default depends on where it was built
            options += ("--synonyms", os.path.join(SOURCE, "data", "grading", "synonyms.json"))
        result = run("lull-grade", *options, "-o", self.path(out))
        self.assertEqual(result.returncode, status, result.stderr)
        self.said = result.stderr
        self.check_document(out)
        return result

    def check_document(self, out):
        """scores.json by its schema, and every table the same in CSV and JSON."""
        with open(os.path.join(SOURCE, "data", "schema", "scores.schema.json"), encoding="utf-8") as file:
            schema = json.load(file)
        with open(self.path(out, "scores.json"), encoding="utf-8") as file:
            self.document = json.load(file)
        faults = [f"{list(fault.path)}: {fault.message}"
                  for fault in jsonschema.Draft202012Validator(schema).iter_errors(self.document)]
        self.assertEqual(faults, [])
        for name in os.listdir(self.path(out)):
            if name.endswith(".csv"):
                self.assertEqual(len(self.table(name[:-4], out)), len(self.document[name[:-4]]), name)

    def table(self, name, out="out"):
        with open(self.path(out, name + ".csv"), encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file, strict=True))

    def by(self, name, column, out="out"):
        return {row[column]: row for row in self.table(name, out)}


class Sheets(Grading):
    def test_sheets_as_people_write_them(self):
        good, hasty = self.write("b-team.csv", GOOD), self.write("a-team.csv", HASTY)
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", good, hasty, status=4)
        self.assertIn("a-team.csv: line 5, time", self.said)
        scores = self.by("scores", "listener")
        # By hand: four events are asked for (hails and the horn are not).
        self.assertEqual([scores["b-team"][c] for c in ("hits", "misses", "false_calls")], ["4", "0", "0"])
        self.assertEqual([scores["a-team"][c] for c in ("hits", "misses", "false_calls")], ["1", "3", "2"])
        self.assertEqual(scores["b-team"]["channel_right"], "4")
        # Place: (7, 7) against (7, 7.5).
        self.assertAlmostEqual(float(scores["b-team"]["place_error_m"]), 0.5, places=2)
        self.assertEqual(scores["all"]["hits"], "5")
        cards = os.listdir(self.path("out", "cards"))
        self.assertEqual(sorted(cards), ["a-team.html", "b-team.html"])
        for row in self.table("misses"):
            self.assertTrue(os.path.getsize(self.path("out", "excerpts", row["excerpt"] + ".flac")) > 1000)
        false_calls = [row for row in self.table("answers") if row["outcome"] == "false call"]
        self.assertEqual(len(false_calls), 2)
        self.assertTrue(all(row["really_there"] for row in false_calls))

    def test_a_spreadsheets_own_file_is_named_and_the_others_count(self):
        with zipfile.ZipFile(self.path("bo.xlsx"), "w") as book:
            book.writestr("[Content_Types].xml", "<Types/>")
            book.writestr("xl/workbook.xml", "<workbook/>")
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", self.path("bo.xlsx"),
                   self.write("ada.csv", GOOD), status=4)
        self.assertIn("bo.xlsx: is a spreadsheet (.xlsx)", self.said)
        self.assertIn("save it as CSV", self.said)
        self.assertEqual(set(self.by("scores", "listener")) - {"all"}, {"ada"})
        with open(self.path("c.pdf"), "wb") as file:
            file.write(b"%PDF-1.7\n" + bytes(200))
        alone = run("lull-grade", "--truth", TRUTH, "--sheets", self.path("bo.xlsx"), self.path("c.pdf"), "-o",
                    self.path("none"))
        self.assert_refused(alone, 3, "bo.xlsx", ".xlsx", "save it as CSV")
        self.assertFalse(os.path.exists(self.path("none")))

    def test_judgements_of_a_blind_page(self):
        """As lib/report/page/judging.js exports what two trainees added on a blind page."""
        columns = "when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason,new_onset_s\r\n"
        rows = [("ada", "31.500000", "north-slab", "tapping", "three"),
                ("ada", "65.100000", "void-mic", "voice-like", ""),
                ("bo", "52.900000", "north-slab", "horn", ""), ("ada", "52.900000", "lift-shaft", "tapping", ""),
                ("bo", "20.000000", "stairwell", "tapping", '"drip, perhaps"')]
        exported = columns + "".join(
            f"2026-03-15T10:00:00.000Z,{who},ab12,{onset},{channel},,agree,{kind},{reason},\r\n"
            for who, onset, channel, kind, reason in rows)
        blind = self.write("judgements (1).csv", exported)
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", blind)
        scores = self.by("scores", "listener")
        # By hand: of four events asked for, ada heard three and bo one, of which one kind is wrong.
        counts = ("hits", "misses", "false_calls", "kind_right")
        self.assertEqual([scores["ada"][c] for c in counts], ["3", "1", "0", "3"])
        self.assertEqual([scores["bo"][c] for c in counts], ["1", "3", "1", "0"])
        self.assertEqual([scores["ada"]["channel_right"], scores["bo"]["channel_right"]], ["2", "1"])
        self.assertEqual(sum(entry["file"] == "judgements (1).csv" for entry in self.document["inputs"]), 1)
        semicolons = self.write("bo.csv", exported.replace('"drip, perhaps"', "").replace(",", ";"))
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", semicolons, out="again")
        self.assertEqual(self.by("scores", "listener", "again")["bo"]["hits"], "1")

    def test_pseudonyms_keep_names_out(self):
        sheets = [self.write("anna.csv", GOOD), self.write("boris.csv", HASTY)]
        self.grade("--truth", TRUTH, "--sheets", *sheets, "--key", self.path("key.csv"), status=4)
        for folder, _, files in os.walk(self.path("out")):
            for name in files:
                self.assertNotRegex(name, "anna|boris")
                with open(os.path.join(folder, name), "rb") as file:
                    self.assertNotRegex(file.read(), b"anna|boris", name)
        with open(self.path("key.csv"), encoding="utf-8", newline="") as file:
            key = {row["name"]: row["pseudonym"] for row in csv.DictReader(file)}
        self.assertEqual(set(key), {"anna", "boris"})
        # The next exercise: the same person, the same pseudonym.
        self.grade("--truth", TRUTH, "--sheets", self.write("carla.csv", GOOD), sheets[0], "--key",
                   self.path("key.csv"), out="next")
        with open(self.path("key.csv"), encoding="utf-8", newline="") as file:
            later = {row["name"]: row["pseudonym"] for row in csv.DictReader(file)}
        self.assertEqual({name: later[name] for name in key}, key)
        self.assertEqual(set(later), {"anna", "boris", "carla"})

    def test_program_and_learning(self):
        self.assertEqual(run("lull-review", SESSION, "-o", self.path("review"), "--no-audio").returncode, 0)
        finds = self.path("review", "finds.csv")
        sheet = self.write("anna.csv", HASTY.replace("half past,voice\r\n", ""))
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", sheet, "--label", "spring", out="first")
        better = self.write("anna.csv", GOOD)
        self.grade("--truth", TRUTH, "--recording", SESSION, "--sheets", better, "--finds", finds, "--label",
                   "autumn", "--earlier", self.path("first"))
        learning = self.table("learning")
        self.assertEqual([(r["listener"], r["turn"], r["exercise"]) for r in learning],
                         [("anna", "1", "spring"), ("anna", "2", "autumn")])
        # From 1 of 4 to 4 of 4.
        self.assertAlmostEqual(float(learning[1]["recall_change"]), 0.75, places=3)
        program = self.by("scores", "listener")["program"]
        # The program finds the demo's knocks: README shows them.
        self.assertGreaterEqual(int(program["hits"]), 2)
        confident = sum(float(row["confidence"]) >= 0.5 for row in self.table("finds", "review"))
        graded = sum(row["listener"] == "program" for row in self.table("answers"))
        self.assertEqual(graded, confident, "a series of knocks is one answer")
        self.assertEqual([row["heard"] for row in self.table("class") if row["listener"] == "program"].count("missed"),
                         int(program["misses"]))
        self.assertEqual(self.by("scores", "listener")["all"]["hits"], "4", "the program is no listener")


class RealRecordings(Grading):
    """Judgements as truth: two reviewers who worked blind, and the operators' log."""
    HEADER = "when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\r\n"

    def setUp(self):
        super().setUp()
        one = [("31.004715", "tapping", "agree", ""), ("52.004715", "tapping", "agree", ""),
               ("64.037787", "voice-like", "agree", ""), ("74.020500", "tapping", "agree", "other"),
               ("14.027905", "tapping", "disagree", "")]
        two = [("31.004715", "tapping", "agree", ""), ("52.004715", "tapping", "unsure", ""),
               ("64.037787", "voice-like", "agree", ""), ("74.020500", "tapping", "disagree", "")]
        lines = [f"2026-03-15T10:00:00Z,{who},,{onset},north-slab,{kind},{judged},{new},\r\n"
                 for who, rows in (("first", one), ("second", two)) for onset, kind, judged, new in rows]
        self.judgements = self.write("judgements.csv", self.HEADER + "".join(lines))

    def test_agreement_over_stated_slots(self):
        self.grade("--judgements", self.judgements, "--reviewer", "first", "--reviewer", "second",
                   "--recording", SESSION)
        row = self.table("agreement")[0]
        # Nine slots of 10 s. By hand: both nothing in 5; tapping/tapping in 30-40; tapping/unsure in 50-60;
        # voice/voice in 60-70; other/nothing in 70-80.
        agreed = (5 + 1 + 1) / 9
        chance = (5 * 6 + 2 * 1 + 1 * 1 + 1 * 0 + 0 * 1) / 81
        kappa = (agreed - chance) / (1 - chance)
        self.assertEqual(row["slots"], "9")
        self.assertAlmostEqual(float(row["agreed"]), agreed, delta=0.001)
        self.assertAlmostEqual(float(row["kappa"]), kappa, delta=0.001)
        self.assertTrue(float(row["kappa_low"]) < kappa < float(row["kappa_high"]))

    def test_a_sheet_against_judgements(self):
        self.grade("--judgements", self.judgements, "--reviewer", "first", "--recording", SESSION, "--sheets",
                   self.write("anna.csv", GOOD))
        score = self.by("scores", "listener")["anna"]
        self.assertEqual([score[c] for c in ("hits", "misses", "false_calls")], ["4", "0", "0"])
        self.assertEqual(score["kind_right"], "4", "the new kind counts")

    def test_the_log_beside_the_events(self):
        log = self.write("log.csv", "time,person,action,channels,text\r\n"
                                    "0:20,operator B,listening to,north-slab,\r\n"
                                    "02:10:33,operator B,heard,north-slab,perhaps knocking\r\n"
                                    "0:50,operator B,moved,,\r\n")
        self.grade("--judgements", self.judgements, "--reviewer", "first", "--recording", SESSION, "--log", log)
        rows = self.table("log")
        self.assertEqual([row["log"] for row in rows],
                         ["in the log", "no log entry", "no log entry", "no log entry"])
        self.assertEqual(rows[0]["person"], "operator B")
        self.assertAlmostEqual(float(rows[0]["after_s"]), 33 - 31.004715, places=2)
        self.assertEqual([row["listening"] for row in rows], ["operator B: north-slab", "", "", ""])
        for name in os.listdir(self.path("out")):
            if name.endswith((".csv", ".html")):
                with open(self.path("out", name), encoding="utf-8") as file:
                    text = file.read().lower()
                if name == "log.csv":
                    self.assertNotIn("miss", text, "what is not in the log was not thereby missed")

    def test_the_demos_own_log(self):
        self.grade("--truth", TRUTH, "--recording", SESSION, "--log", LOG)
        found = [row["log"] for row in self.table("log")]
        self.assertEqual(len(found), 7)
        self.assertIn("in the log", found)
        self.assertIn("no log entry", found)

    def test_options_that_exclude_each_other(self):
        out = ("-o", self.path("refused"))
        self.assert_refused(run("lull-grade", "--truth", TRUTH, "--log", LOG, *out), 2, "--recording")
        self.assert_refused(run("lull-grade", "--judgements", self.judgements, *out), 2, "--reviewer")
        self.assert_refused(run("lull-grade", "--judgements", self.judgements, "--reviewer", "nobody", "--sheets",
                                self.write("anna.csv", GOOD), *out), 3, "nobody")
        self.assertFalse(os.path.exists(self.path("refused")))


class RuleFiles(Grading):
    def test_the_files_we_carry_fit_their_schemas(self):
        for name, schema in (("weights", "grade-weights"), ("synonyms", "synonyms")):
            with open(os.path.join(SOURCE, "data", "schema", schema + ".schema.json"), encoding="utf-8") as file:
                checked = json.load(file)
            jsonschema.Draft202012Validator.check_schema(checked)
            with open(os.path.join(SOURCE, "data", "grading", name + ".json"), encoding="utf-8") as file:
                rules = json.load(file)
            check = jsonschema.Draft202012Validator(checked)
            self.assertEqual([fault.message for fault in check.iter_errors(rules)], [], name)
            rules["points per cent"] = 3
            self.assertFalse(check.is_valid(rules), name)
            refused = run("lull-grade", "--truth", TRUTH, "--sheets", self.write("anna.csv", GOOD), "--" + name,
                          self.write("rules.json", json.dumps(rules)), "-o", self.path("out"))
            self.assert_refused(refused, 3, "points per cent")

    def test_synonyms_of_the_team(self):
        sheet = self.write("anna.csv", "time,kind\r\n31.2,klopfen\r\n")
        self.grade("--truth", TRUTH, "--sheets", sheet, status=4)
        self.assertEqual(self.by("scores", "listener")["anna"]["kind_right"], "0")
        words = {"format": "lull-synonyms", "version": 1, "kinds": {"tapping": ["klopfen"]}}
        self.grade("--truth", TRUTH, "--sheets", sheet, "--synonyms",
                   self.write("words.json", json.dumps(words)))
        self.assertEqual(self.by("scores", "listener")["anna"]["kind_right"], "1")

    def test_weights_of_the_team(self):
        sheet = self.write("anna.csv", HASTY.replace("half past,voice\r\n", ""))
        rules = {"format": "lull-grade-weights", "version": 1, "points": {"false_call": -2}}
        self.grade("--truth", TRUTH, "--sheets", sheet, "--weights", self.write("w.json", json.dumps(rules)))
        # One heard (1), its kind right (0.5), two false calls at -2.
        self.assertTrue(math.isclose(float(self.by("scores", "listener")["anna"]["points"]), 1.5 - 4))


if __name__ == "__main__":
    main()
