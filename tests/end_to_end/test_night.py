#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A night: many files reviewed as one recording, summed up, handed over, resumed."""
import filecmp
import json
import os
import pty
import random
import re
import shutil
import signal
import subprocess
import time

from harness import (SOURCE, TIMEOUT_S, Folder, add_at, is_sanitized, knock, main, noise, np, rows_of, run, tool,
                     write_json, write_wav)

RATE = 8000
SLOW_RATE = 4000 # of the long ones
CAUTION = "Nothing found does not show that nobody is there."
HANDOVER_MOST_BYTES = 2048


def read(path):
    with open(path, "rb") as file:
        return file.read()


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
        self.write("2026-03-15_00-01-00.wav", 60, 90)   # twenty seconds never
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

    def test_what_does_not_fit_is_named_skipped_and_status_4(self):
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

    def test_what_is_shared_names_no_file_and_nobody(self):
        self.split(["secret-1.wav", "secret-2.wav", "secret-3.wav"])
        write_wav(self.path("night", "secret-4.wav"), noise(5, 2, rate=2 * RATE), rate=2 * RATE)
        with open(self.path("night", "secret-notes.txt"), "w", encoding="utf-8") as file:
            file.write("not audio")
        self.review(self.path("night"), status=4)  # its run.log must not stay either
        self.review(self.path("night"), "--share", status=4)
        for where, _, files in os.walk(self.path("out")):
            for name in files:
                content = read(os.path.join(where, name))
                self.assertNotIn(b"secret", content, name)
                self.assertNotIn(self.folder.encode(), content, name)
        self.assertIn(b"other file 2", read(self.path("out", "handover.txt")))

    def test_only_what_cannot_be_used(self):
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
        steps = [int(find["confidence"] * 10 + 1e-9) for find in finds]
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

    def test_what_somebody_listened_to_is_told_from_what_nobody_did(self):
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


class Long(Folder):
    """Half an hour in four files: six units of work."""
    SECONDS = 1800
    SEED = 20260314

    @classmethod
    def setUpClass(cls):
        piece = noise(60, 2, rate=SLOW_RATE, rms=0.002, seed=13)
        cls.samples = np.tile(piece, (cls.SECONDS // 60, 1))
        rng = np.random.default_rng(cls.SEED)
        for time_s in rng.uniform(5, cls.SECONDS - 5, 15):
            for k in range(3):
                add_at(cls.samples, 0, time_s + 0.5 * k, knock(SLOW_RATE), 0.2, SLOW_RATE)

    def setUp(self):
        super().setUp()
        os.mkdir(self.path("night"))
        part = len(self.samples) // 4
        for number in range(4):
            write_wav(self.path("night", f"{number + 1}.wav"), self.samples[number * part:(number + 1) * part],
                      rate=SLOW_RATE)
        self.journal = self.path(".out.journal")

    def command(self, *options, out="out"):
        return [tool("lull-review"), self.path("night"), "-o", self.path(out), *options]

    def start(self, *options):
        return subprocess.Popen(self.command(*options), stderr=subprocess.PIPE, text=True)

    def units(self):
        if not os.path.isdir(self.journal):
            return 0
        return sum(re.fullmatch(r"unit-[0-9]{6}", name) is not None for name in os.listdir(self.journal))

    def wait_for(self, process, condition):
        while process.poll() is None and not condition():
            time.sleep(0.002)

    def kill_after(self, units, *options):
        process = self.start("--jobs", "1", *options)
        self.wait_for(process, lambda: self.units() >= units)
        process.kill()
        process.communicate()
        self.assertEqual(process.returncode, -signal.SIGKILL, "it ended before it could be killed")

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


class Resume(Long):
    def test_killed_and_taken_up_again(self):
        self.finish(out="undisturbed")
        self.kill_after(2)
        self.assertEqual(sorted(os.listdir(self.path("out"))), ["UNFINISHED.txt", "run.log"])
        self.assertIn("has not finished", read(self.path("out", "UNFINISHED.txt")).decode())
        result = self.finish("--resume")
        self.assertGreaterEqual(self.resumed(result), 2)
        self.same("undisturbed", "out")
        self.only_results_are_left("out", "undisturbed")

    def test_killed_at_random_moments(self):
        began = time.monotonic()
        self.finish("--resume", out="undisturbed")
        length_s = time.monotonic() - began
        chance = random.Random(self.SEED)
        killed = 0
        for _ in range(20):
            process = self.start("--resume", "--jobs", str(chance.choice((1, 2))))
            time.sleep(chance.uniform(0.0, 0.6) * length_s)
            process.kill()
            process.communicate()
            killed += process.returncode == -signal.SIGKILL
            # It may die before it has begun on a whole folder, or after it has made it whole.
            unfinished = os.path.exists(self.path("out", "UNFINISHED.txt"))
            if os.path.exists(self.path("out", "report.json")) and not unfinished:
                self.same("undisturbed", "out")
        self.assertGreater(killed, 0, f"seed {self.SEED}")
        self.finish("--resume")
        self.same("undisturbed", "out")
        self.only_results_are_left("out", "undisturbed")

    def test_changed_input_and_settings_are_done_anew(self):
        self.kill_after(3)
        with open(self.path("night", "1.wav"), "r+b") as file: # one louder knock, the same size
            file.seek(44 + 4 * 100 * SLOW_RATE)
            file.write((knock(SLOW_RATE) * 20000).astype("<i2").repeat(2).tobytes())
        result = self.finish("--resume")
        self.assertEqual(self.resumed(result), 1, "the unit that lies in other files alone still holds")
        self.finish(out="undisturbed")
        self.same("undisturbed", "out")
        self.kill_after(3)
        self.assertIn("from an earlier run", read(self.path("out", "UNFINISHED.txt")).decode())
        result = self.finish("--resume", "--band", "100-1500")
        self.assertEqual(self.resumed(result), 0)
        self.finish("--band", "100-1500", out="undisturbed")
        self.same("undisturbed", "out")

    def test_a_damaged_journal_is_no_harm(self):
        self.finish(out="undisturbed")
        self.kill_after(3)
        for number, name in enumerate(sorted(os.listdir(self.journal))):
            with open(os.path.join(self.journal, name), "r+b") as file:
                size = file.seek(0, 2)
                if number == 0:
                    file.truncate(size // 2)
                else:
                    file.seek(size // 2)
                    file.write(b"spoiled")
        self.assertEqual(self.resumed(self.finish("--resume")), 0)
        self.same("undisturbed", "out")

    def test_full_disk_and_room_again(self):
        if os.geteuid() != 0:
            self.skipTest("only root may mount a small file system")
        small = self.path("small")
        os.mkdir(small)
        if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", small], capture_output=True).returncode:
            self.skipTest("no small file system can be mounted here")
        self.addCleanup(subprocess.run, ["umount", small])
        out = os.path.join("small", "out")
        result = self.finish("--quiet", "--resume", "--jobs", "1", out=out, status=1)
        self.assert_refused(result, 1, "No space left on device")
        self.assertIn("UNFINISHED.txt", os.listdir(self.path(out)))
        subprocess.run(["mount", "-o", "remount,size=200m", small], check=True)
        self.assertGreater(self.resumed(self.finish("--resume", out=out)), 0)
        self.finish(out="undisturbed")
        self.same("undisturbed", out)
        self.assertEqual(os.listdir(small), ["out"])

    def test_asked_to_end(self):
        for options, left in (([], []), (["--resume"], [".out.journal", "out"])):
            process = self.start("--jobs", "1", *options)
            self.wait_for(process, lambda: self.units() >= 1)
            process.terminate()
            process.communicate()
            self.assertEqual(process.returncode, 128 + signal.SIGTERM)
            self.only_results_are_left(*left)
        self.assertGreater(self.resumed(self.finish("--resume")), 0)
        self.only_results_are_left("out")

    def test_standard_input_cannot_be_resumed(self):
        data = read(self.path("night", "1.wav"))
        result = run("lull-review", "--quiet", "-", "--resume", "-o", self.path("out"), stdin=data)
        self.assertEqual((result.returncode, b"--resume" in result.stderr), (2, True), result.stderr)
        self.only_results_are_left()


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
        piece = len(self.samples) // 150
        for number in range(150):
            write_wav(self.path("pieces", f"{number}.wav"), self.samples[number * piece:(number + 1) * piece],
                      rate=SLOW_RATE)
        self.finish(out="whole")
        result = subprocess.run(["bash", "-c", 'ulimit -n 24 && exec "$@"', "bash", tool("lull-review"), "--quiet",
                                 self.path("pieces"), "-o", self.path("out")], capture_output=True, text=True)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        for name in ("events", "arrivals", "noise"):
            self.assertEqual(read(self.path("out", name + ".csv")), read(self.path("whole", name + ".csv")), name)


    @staticmethod
    def as_nobody(*command):
        """Without the rights of root, who may read everything."""
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


class Odd(Night):
    """The folder as an operator finds it: 40 files, with what goes wrong among them."""
    COUNT = 40
    EACH_S = 4

    def test_forty_files_with_what_goes_wrong_among_them(self):
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
        os.truncate(self.path(where, names[39]), 20001) # as one that is still growing
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
        """From hardly enough to start to enough: every run ends in order, with one line."""
        if is_sanitized():
            self.skipTest("a sanitizer needs address space of its own")
        self.split(["1.wav", "2.wav", "3.wav"])
        statuses = []
        for limit_mb in (24, 32, 40, 48, 56, 80, 600):
            result = subprocess.run(["bash", "-c", f'ulimit -v {limit_mb * 1000} && exec "$@"', "bash",
                                     tool("lull-review"), self.path("night"), "--quiet", "--jobs", "2", "-o",
                                     self.path("out")], capture_output=True, text=True, timeout=TIMEOUT_S)
            if result.returncode == 127: # not even the loader had enough
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


class Locked(Long):
    def test_one_run_at_a_time_and_the_lock_dies_with_it(self):
        first = self.start("--jobs", "1")
        self.wait_for(first, lambda: os.path.exists(self.path("out", "UNFINISHED.txt")))
        os.kill(first.pid, 0)
        second = run("lull-review", *self.command("--quiet")[1:])
        self.assertIsNone(first.poll(), "the first ended too early for this test")
        self.assert_refused(second, 1, "lull-review:", "out", "another run")
        self.finish(out="elsewhere")
        first.kill()
        first.communicate()
        self.finish()
        self.same("elsewhere", "out")
        self.only_results_are_left("elsewhere", "out")


class Progress(Long):
    def test_on_a_terminal_and_in_a_log(self):
        ours, theirs = pty.openpty()
        process = subprocess.Popen(self.command("--jobs", "1"), stderr=theirs, stdout=subprocess.DEVNULL)
        os.close(theirs)
        seen = b""
        while True:
            try:
                part = os.read(ours, 65536)
            except OSError: # how a terminal says that nobody writes to it any more
                break
            if not part:
                break
            seen += part
        os.close(ours)
        self.assertEqual(process.wait(), 0)
        text = seen.decode()
        self.assertIn("\r\x1b[K", text)
        self.assertRegex(text, r"analysing, \d+ %, \d+ times real time, [^,]* left, at [1-4]\.wav")
        log = self.finish("--jobs", "1").stderr
        self.assertEqual(len(re.findall("analysing", log)), 1, "half a minute has not passed")
        self.assertNotIn("\x1b", log)
        self.assertEqual(self.finish("--quiet").stderr, "")


if __name__ == "__main__":
    main()
