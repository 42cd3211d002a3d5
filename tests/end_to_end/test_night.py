#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A night: many files reviewed as one recording, summed up, handed over."""
import json
import os
import shutil
import subprocess

from harness import (SOURCE, TIMEOUT_S, Folder, add_at, is_sanitized, knock, main, noise, rows_of, run, tool,
                     write_json, write_wav)
from long_night import read

RATE = 8000
CAUTION = "Nothing found does not show that nobody is there."
HANDOVER_MOST_BYTES = 2048


def rows(path):
    return rows_of(read(path).decode())


class Night(Folder):
    """Two channels, 90 s in three files; a group of knocks lies across the first edge."""
    KNOCKS = [28.9 + 0.55 * k for k in range(5)] + [70.0 + 0.6 * k for k in range(3)]
    EDGES = [0, 30, 60, 90]

    def setUp(self):
        super().setUp()
        self.samples = noise(90, 2, rate=RATE, rms=0.002, seed=11)
        for time_s in self.KNOCKS:
            add_at(self.samples, 0, time_s, knock(RATE), 0.2, RATE)
            add_at(self.samples, 1, time_s + 0.004, knock(RATE), 0.1, RATE)
        os.mkdir(self.path("night"))

    def write(self, name, first, last):
        write_wav(self.path("night", name), self.samples[int(first * RATE):int(last * RATE)], rate=RATE)

    def split(self, names):
        for name, first, last in zip(names, self.EDGES, self.EDGES[1:]):
            self.write(name, first, last)

    def review(self, *arguments, out="out", status=0):
        result = run("lull-review", *arguments, "-o", self.path(out))
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def same_tables(self, one, two, names):
        for name in names:
            self.assertEqual(read(self.path(one, name + ".csv")), read(self.path(two, name + ".csv")), name)


class OneTimeLine(Night):
    def test_events_across_an_edge_are_those_of_the_joined_file(self):
        self.split(["take-8.wav", "take-9.wav", "take-10.wav"])
        write_wav(self.path("joined.wav"), self.samples, rate=RATE)
        self.review(self.path("night"))
        self.review(self.path("joined.wav"), out="joined")
        found = rows(self.path("out", "events.csv"))
        for time_s in self.KNOCKS:
            self.assertEqual(len([row for row in found if abs(float(row["onset_s"]) - time_s) < 0.01]), 1, time_s)
        self.same_tables("out", "joined", ("channels", "findings", "noise", "quiet", "events", "arrivals",
                                           "series", "hails", "ranking", "delays"))
        self.assertFalse(os.path.exists(self.path("joined", "night.json")), "one file is no night")
        night = [self.path("night", name) for name in ("take-10.wav", "take-8.wav", "take-9.wav")]
        self.review(*night, out="named")
        self.assertEqual(read(self.path("out", "report.json")), read(self.path("named", "report.json")))

    def test_gaps_and_overlaps_are_reported(self):
        self.write("2026-03-14_23-59-40.wav", 0, 30)
        self.write("2026-03-15_00-00-05.wav", 25, 60)   # five seconds twice
        self.write("2026-03-15_00-01-00.wav", 60, 90)   # twenty seconds missing
        result = self.review(self.path("night"))
        self.assertIn("overlaps 2026-03-14_23-59-40.wav", result.stderr)
        self.assertIn("a gap of 20.000000 s", result.stderr)
        night = json.loads(read(self.path("out", "night.json")))
        spans = {row["what"]: (row["from_s"], row["to_s"]) for row in night["not_analysed"]}
        self.assertEqual(spans, {"overlap": (25, 30), "gap": (60, 80)})
        events = rows(self.path("out", "events.csv"))
        self.assertEqual(len([row for row in events if 28 < float(row["onset_s"]) < 32]), 5, "none twice")
        self.assertTrue(any(row["onset_clock"].startswith("2026-03-15T00:01:10") for row in events))
        hours = [(row["from_clock"][:19], row["analysed_s"]) for row in night["hours"]]
        self.assertEqual(hours, [("2026-03-14T23:59:40", 20), ("2026-03-15T00:00:00", 70)])

    def test_from_to_and_session_hold_for_the_whole_line(self):
        self.split(["2026-03-14_02-00-00.wav", "2026-03-14_02-00-30.wav", "2026-03-14_02-01-00.wav"])
        write_json(self.path("night", "site.json"), {
            "format": "lull-session", "version": 1, "recordings": [{"file": "2026-03-14_02-00-00.wav"}],
            "channels": [{"name": "stairwell", "kind": "seismic", "track": 1},
                         {"name": "void-mic", "kind": "air", "track": 2}]})
        self.review(self.path("night"), "--session", self.path("night", "site.json"), "--from", "02:00:25",
                    "--to", "+00:01:05")
        report = json.loads(read(self.path("out", "report.json")))
        self.assertEqual((report["settings"]["from_s"], report["settings"]["to_s"]), (25, 65))
        self.assertEqual([row["channel"] for row in report["channels"]], ["stairwell", "void-mic"])
        onsets = [row["onset_s"] for row in report["events"] if row["confidence"] >= 0.5]
        self.assertEqual(len(onsets), 5)
        left_out = [(row["from_s"], row["to_s"]) for row in
                    json.loads(read(self.path("out", "night.json")))["not_analysed"]]
        self.assertEqual(left_out, [(0, 25), (65, 90)])

    def test_files_that_do_not_fit_are_named_and_skipped_with_status_4(self):
        self.split(["1.wav", "2.wav", "3.wav"])
        write_wav(self.path("night", "4.wav"), noise(5, 3, rate=RATE), rate=RATE)
        write_wav(self.path("night", "5.wav"), noise(5, 2, rate=16000), rate=16000)
        with open(self.path("night", "6.wav"), "w") as file:
            file.write("a letter")
        result = self.review(self.path("night"), status=4)
        skipped = {row["file"] for row in json.loads(read(self.path("out", "night.json")))["not_analysed"]}
        self.assertEqual(skipped, {"4.wav", "5.wav", "6.wav"})
        for name in skipped:
            self.assertIn(name + ": skipped: ", result.stderr)
        self.assertIn("Skipped: 6.wav", read(self.path("out", "handover.txt")).decode())

    def test_a_shared_folder_names_no_file_and_nobody(self):
        self.split(["secret-1.wav", "secret-2.wav", "secret-3.wav"])
        write_wav(self.path("night", "secret-4.wav"), noise(5, 2, rate=2 * RATE), rate=2 * RATE)
        with open(self.path("night", "secret-notes.txt"), "w", encoding="utf-8") as file:
            file.write("not audio")
        self.review(self.path("night"), status=4)  # its run.log must be removed too
        self.review(self.path("night"), "--share", status=4)
        for where, _, files in os.walk(self.path("out")):
            for name in files:
                content = read(os.path.join(where, name))
                self.assertNotIn(b"secret", content, name)
                self.assertNotIn(self.folder.encode(), content, name)
        self.assertIn(b"other file 2", read(self.path("out", "handover.txt")))

    def test_unusable_files_only(self):
        with open(self.path("night", "a.wav"), "w") as file:
            file.write("a letter")
        self.assert_refused(run("lull-review", "--quiet", self.path("night"), "-o", self.path("out")), 3, "a.wav")
        os.remove(self.path("night", "a.wav"))
        self.assert_refused(run("lull-review", "--quiet", self.path("night"), "-o", self.path("out")), 3, "no file")


class Summary(Night):
    def setUp(self):
        super().setUp()
        self.split(["2026-03-14_02-00-00.wav", "2026-03-14_02-00-30.wav", "2026-03-14_02-01-00.wav"])

    def test_schema_ranking_and_handover(self):
        self.review(self.path("night"))
        document = json.loads(read(self.path("out", "night.json")))
        try:
            import jsonschema
            with open(os.path.join(SOURCE, "data", "schema", "night.schema.json"), encoding="utf-8") as file:
                schema = json.load(file)
            jsonschema.Draft202012Validator.check_schema(schema)
            validator = jsonschema.Draft202012Validator(schema)
            self.assertEqual([fault.message for fault in validator.iter_errors(document)], [])
            self.assertFalse(validator.is_valid({**document, "rule": ""}))
            self.assertFalse(validator.is_valid({**document, "finds": [{}]}))
        except ImportError:
            print("SKIPPED: the schema, jsonschema is not installed (python3-jsonschema)")
        finds = document["finds"]
        self.assertEqual([find["rank"] for find in finds], list(range(1, len(finds) + 1)))
        steps = [int(find["confidence"] * 10 + 1e-9) for find in finds if find["kind"] == "tapping"]
        self.assertEqual(steps, sorted(steps, reverse=True))
        groups = [find for find in finds if find["series"] is not None and find["confidence"] >= 0.5]
        self.assertEqual(sorted(len(find["events"].split(";")) for find in groups), [3, 5])
        split = next(find for find in groups if len(find["events"].split(";")) == 5)
        self.assertEqual((split["file"], split["listened"]), ("2026-03-14_02-00-00.wav", "no"))
        self.assertAlmostEqual(split["in_file_s"], self.KNOCKS[0], delta=0.01)
        table = rows(self.path("out", "night.csv"))
        self.assertEqual([row["events"] for row in table], [find["events"] for find in finds])
        self.assertEqual(sum(hour["confidence_0.5_and_more"] for hour in document["hours"]),
                         document["counts"]["confidence_0.5_and_more"])
        self.assertEqual({row["channel"] for row in document["faults"]}, {"ch1", "ch2"})
        text = read(self.path("out", "handover.txt")).decode()
        self.assertLessEqual(len(text.encode()), HANDOVER_MOST_BYTES)
        headings = ["NOT ANALYSED", "FINDS", "NOT LISTENED TO YET", "SENSOR FAULTS", "CAUTION"]
        places = [text.index(heading) for heading in headings]
        self.assertEqual(places, sorted(places))
        self.assertIn("02:00:28, tapping, 5 taps", text)
        self.assertIn("All 2 finds.", text)
        self.assertIn(CAUTION, text)

    def test_finds_state_whether_somebody_listened(self):
        with open(self.path("night", "log.csv"), "w") as file:
            file.write("time,person,action,channels,text\n0:30,operator A,heard,,knocks\n")
        self.review(self.path("night"), "--log", self.path("night", "log.csv"))
        finds = [row for row in rows(self.path("out", "night.csv")) if float(row["confidence"]) >= 0.5]
        self.assertEqual({row["events"].count(";") + 1: row["listened"] for row in finds}, {5: "yes", 3: "no"})
        rank = next(row["rank"] for row in finds if row["listened"] == "no")
        self.assertIn(f"1 of 2 finds: {rank}.", read(self.path("out", "handover.txt")).decode())

    def test_nothing_found_is_never_called_clear(self):
        shutil.rmtree(self.path("night"))
        os.mkdir(self.path("night"))
        self.samples = noise(90, 2, rate=RATE, rms=0.002, seed=12)
        self.split(["1.wav", "2.wav", "3.wav"])
        self.review(self.path("night"))
        text = read(self.path("out", "handover.txt")).decode()
        self.assertIn("No event", text)
        self.assertNotIn("clear", text.lower())


class Odd(Night):
    """A folder as an operator finds it: 40 files, with typical faults."""
    COUNT = 40
    EACH_S = 4

    def test_forty_files_with_typical_faults(self):
        where = "night"
        for number in range(self.COUNT):
            second = number * self.EACH_S
            if number >= 30:
                second += 7 # a gap
            if number == 20:
                second -= 3 # an overlap, and the gap that it leaves
            first = second % 80
            self.write(f"2026-03-14_02-{second // 60:02}-{second % 60:02}.wav", first, first + self.EACH_S)
        names = sorted(os.listdir(self.path(where)))
        self.assertEqual(len(names), self.COUNT)
        with open(self.path(where, names[5]), "r+b") as file:
            file.write(b"spoiled!" * 8)
        open(self.path(where, names[10]), "wb").close()
        os.truncate(self.path(where, names[39]), 20001) # like a file that is still growing
        os.mkfifo(self.path(where, "pipe.wav"))
        os.symlink("nowhere", self.path(where, "lost.wav"))
        os.symlink("loop.wav", self.path(where, "loop.wav"))
        os.mkdir(self.path(where, "folder.wav"))
        with open(self.path(where, "a\nname \x1b[2J\".wav"), "wb") as file:
            file.write(b"RIFF")
        result = self.review(self.path(where), status=4)
        skipped = ["folder.wav/", "loop.wav", "lost.wav", "pipe.wav", "a name  [2J\".wav", names[5], names[10]]
        for name in skipped:
            self.assertIn(f"lull-review: {name}: skipped: ", result.stderr)
        self.assertIn(f"{names[39]}: is cut short: 32000 frames promised, 4989 frames read", result.stderr)
        for line in result.stderr.splitlines():
            self.assertRegex(line, "^lull-review: [^\x00-\x1f]*$")
        night = json.loads(read(self.path("out", "night.json")))
        self.assertEqual((night["files"], night["files_skipped"]), (self.COUNT - 2, len(skipped)))
        what = [row["what"] for row in night["not_analysed"]]
        self.assertEqual({word: what.count(word) for word in what},
                         {"skipped": len(skipped), "cut short": 1, "gap": 4, "overlap": 1})
        text = read(self.path("out", "handover.txt")).decode()
        self.assertLessEqual(len(text.encode()), HANDOVER_MOST_BYTES)
        self.assertIn("Gap between files: 4, 00:00:18 in all, the longest 00:00:07", text)
        self.assertTrue(text.isascii() and all(char >= " " or char == "\n" for char in text), text)

    def test_out_of_memory(self):
        """From hardly enough memory to start to enough: every run ends in order, with one line."""
        if is_sanitized():
            self.skipTest("a sanitizer needs address space of its own")
        self.split(["1.wav", "2.wav", "3.wav"])
        statuses = []
        for limit_mb in (24, 32, 40, 48, 56, 80, 600):
            result = subprocess.run(["bash", "-c", f'ulimit -v {limit_mb * 1000} && exec "$@"', "bash",
                                     tool("lull-review"), self.path("night"), "--quiet", "--jobs", "2", "-o",
                                     self.path("out")], capture_output=True, text=True, timeout=TIMEOUT_S)
            if result.returncode == 127: # too little even for the loader
                continue
            statuses.append(result.returncode)
            if result.returncode == 1:
                self.assert_refused(result, 1, "lull-review: ")
                self.assertRegex(result.stderr, "memory|no further thread", limit_mb)
                self.assertEqual(os.listdir(self.folder), ["night"], limit_mb)
            elif result.returncode != 4: # a file that did not fit was skipped, and is named
                self.assertEqual((result.returncode, result.stderr), (0, ""), limit_mb)
        self.assertIn(1, statuses)
        self.assertEqual(statuses[-1], 0)


if __name__ == "__main__":
    main()
