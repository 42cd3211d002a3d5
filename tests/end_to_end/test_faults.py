#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Each call of a small review that can fail fails once, or the process is killed there: one whole result,
the old or the new one, and all of the user's files are there afterwards, and the next run mends the rest.

The calls are listed first, by failing_calls.c. Calls of one kind are those of one function about files of
one kind. Of every kind the first, the last and one drawn between them are made to fail; of the places that
ask for memory, SEED draws some of every library and of the program. Some libraries do not ask whether they were
granted it, and end the process by a signal: then all must be as after a kill."""
import collections
import glob
import os
import random
import re
import shutil
import subprocess
import sys

from harness import SOURCE, TIMEOUT_S, Folder, add_at, is_sanitized, knock, main, noise, run, tool, write_wav

SEED = 20260318
RATE = 8000
PLACES_OF_PROGRAM, PLACES_OF_LIBRARY = 40, 3
UNGUARDED = ("libFLAC", "libcrypto", "libfftw3f", "libgomp", "libsndfile")
CHANGING = ("open", "mkostemp", "write", "pwrite", "fwrite", "fclose", "close", "fsync", "syncfs", "rename", "renameat2",
            "linkat", "mkdir", "unlink", "unlinkat", "rmdir", "remove", "flock", "openat", "fopen")
JUDGEMENTS = ("when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\r\n"
              "2026-03-15T10:00:00Z,first,,1.000,ch1,tapping,agree,,\r\n")
MINE = {"judgements.csv": JUDGEMENTS, "notes/deep/a b.txt": "a note", "series.csv": "a table with a remark"}
KEPT = {**MINE, "series-kept.csv": MINE["series.csv"]}
del KEPT["series.csv"]

if is_sanitized():
    print("SKIPPED: a sanitizer has allocation functions of its own, and must be loaded first")
    sys.exit(77)


def files_in(folder):
    """Contents of the files by name."""
    found = {}
    for where, _, names in os.walk(folder):
        for name in names:
            path = os.path.join(where, name)
            with open(path, "rb") as file:
                found[os.path.relpath(path, folder)] = file.read()
    return found


class Faults(Folder):
    in_memory = True

    @classmethod
    def setUpClass(cls):
        cls.chance = random.Random(SEED)

    def setUp(self):
        super().setUp()
        self.library = self.path("calls.so")
        compiled = subprocess.run([os.environ.get("CC", "cc"), "-shared", "-fPIC", "-O1", "-o", self.library,
                                   os.path.join(SOURCE, "tests", "end_to_end", "failing_calls.c"), "-ldl"],
                                  capture_output=True, text=True)
        self.assertEqual(compiled.returncode, 0, compiled.stderr)
        samples = noise(4, 1, rate=RATE, rms=0.002, seed=3)
        for k in range(3):
            add_at(samples, 0, 1.0 + 0.6 * k, knock(RATE), 0.3, RATE)
        os.mkdir(self.path("case"))
        write_wav(self.path("case", "a.wav"), samples, rate=RATE)
        self.out = self.path("case", "out")
        result = self.review("--band", "100-1500")
        self.assertEqual(result.returncode, 0, result.stderr)
        self.old = files_in(self.out)
        for name, text in MINE.items():
            os.makedirs(os.path.dirname(os.path.join(self.out, name)), exist_ok=True)
            with open(os.path.join(self.out, name), "w", newline="") as file:
                file.write(text)
        shutil.copytree(self.path("case"), self.path("before"))
        result = self.review("--judgements", os.path.join(self.out, "judgements.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.new = files_in(self.out)
        self.assertNotEqual(self.old["report.json"], self.new["report.json"])
        for name, text in KEPT.items():
            self.assertEqual(self.new[name].decode(), text)

    def review(self, *options, **environment):
        command = [tool("lull-review"), "--quiet", "--jobs", "1", self.path("case", "a.wav"), "-o", self.out]
        if environment:  # addresses must be the same in each run
            environment["LD_PRELOAD"] = self.library
            command = ["setarch", "-R", *command]
        return subprocess.run([*command, *options], capture_output=True, text=True, timeout=TIMEOUT_S,
                              env={**os.environ, **environment})

    def begin_again(self):
        shutil.rmtree(self.path("case"))
        shutil.copytree(self.path("before"), self.path("case"))

    def log(self, watched, **environment):
        """The lines of failing_calls.c for a run without a fault."""
        self.begin_again()
        log = self.path("calls.txt")
        if os.path.exists(log):
            os.remove(log)
        result = self.review("--judgements", os.path.join(self.out, "judgements.csv"), CALLS_LOG=log, CALLS_WATCHED=watched,
                             **environment)
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(log) as file:
            return file.read().splitlines()

    def calls(self, watched, **environment):
        """How often each call is made, by its key."""
        lines = self.log(watched, **environment)
        if watched == "files":
            return collections.Counter(lines)
        return {key: int(count) for count, key in (line.split(" ", 1) for line in lines)}

    def is_whole(self, folder):
        """Which whole result the folder holds: "old", "new" or None."""
        found = files_in(folder)
        for word, result in (("old", self.old), ("new", self.new)):
            names = [name for name in result if name not in ("run.log", "READ-FIRST.txt", "SHA256SUMS", *KEPT)
                     and not (word == "old" and name in MINE)]
            self.assertGreater(len(names), 12)
            if all(found.get(name) == result[name] for name in names) and {"run.log", "SHA256SUMS"} <= set(found):
                return word
        return None

    def check(self, case, result, killed=False):
        folders = glob.glob(self.out) + glob.glob(self.out + ".earlier-*")
        whole = [self.is_whole(folder) for folder in folders]
        self.assertTrue("old" in whole or "new" in whole, (case, folders, result.stderr))
        if killed:  # which the next run finds
            folders += glob.glob(self.path("case", ".out.part-*"))
        contents = [text.decode(errors="replace") for folder in folders for text in files_in(folder).values()]
        for name, text in MINE.items():
            self.assertIn(text, contents, (case, name, folders))
        if killed:
            return
        self.assertIn(result.returncode, (0, 1, 3), (case, result.stderr))
        if result.returncode == 0:
            self.assertEqual(self.is_whole(self.out), "new", case)
        else:
            self.assertRegex(result.stderr, r"\Alull-review: [^\n]+\n\Z", case)

    def check_next(self, case):
        """The next run: nothing obstructs it, nothing is lost, nothing is left over."""
        judgements = os.path.join(self.out, "judgements.csv")
        options = ["--judgements", judgements] if os.path.exists(judgements) else []
        result = self.review(*options)
        self.assertEqual((result.returncode, result.stderr), (0, ""), case)
        found = files_in(self.out)
        if not options:  # if the folder itself had been put aside
            result = self.review("--judgements", judgements)
            self.assertEqual((result.returncode, result.stderr), (0, ""), case)
        self.assertEqual(self.is_whole(self.out), "new", case)
        for name, text in KEPT.items():
            self.assertEqual(found[name].decode(), text, (case, name))
        self.assertEqual(sorted(os.listdir(self.path("case"))), ["a.wav", "out"], case)

    def fault(self, watched, key, nth, next_too, may_end=False, **environment):
        self.begin_again()
        result = self.review("--judgements", os.path.join(self.out, "judgements.csv"), CALLS_WATCHED=watched, CALLS_KEY=key,
                             CALLS_NTH=str(nth), **environment)
        case = (key, nth, environment, result.returncode)
        killed = "CALLS_KILL" in environment
        if killed:
            self.assertEqual(result.returncode, -9, case)
        # A library may end the process by a signal, or with its own message.
        ended = may_end and (result.returncode < 0 or "lull-review: " not in result.stderr and result.returncode == 1)
        self.check(case, result, killed or ended)
        if next_too or ended:
            self.check_next(case)
        return result

    def chosen(self, counts):
        """(key, which of its calls): of every kind the first, the last and one between."""
        kinds = collections.defaultdict(list)
        for key, count in counts.items():
            if key.split(" ")[0] not in CHANGING:
                continue
            kind = re.sub(r"[a-z]+\.csv", "TABLE.csv", key) if "judgements" not in key and "kept" not in key else key
            kinds[kind] += [(key, nth) for nth in range(1, count + 1)]
        for calls in kinds.values():
            yield from sorted({calls[0], self.chance.choice(calls), calls[-1]})

    def test_the_name_is_on_the_disk_before_the_journal_is_removed(self):
        lines = self.log("files")
        order = [lines.index(key) for key in ("syncfs .out.part-#", "renameat2 .out.part-#", "fsync case", "unlinkat unit-#")]
        self.assertEqual(order, sorted(order), lines)

    def test_a_call_fails(self):
        calls = list(self.chosen(self.calls("files")))
        self.assertGreater(len(calls), 80)
        statuses = collections.Counter()
        for number, (key, nth) in enumerate(calls):
            statuses[self.fault("files", key, nth, number % 4 == 0).returncode] += 1
        self.assertGreater(statuses[1], 50, statuses)

    def test_a_call_fails_where_names_cannot_be_exchanged(self):
        usual = self.calls("files")
        for never in ("renameat2", "renameat2 linkat"):
            calls = [call for call in self.chosen(self.calls("files", CALLS_NEVER=never))
                     if call[0] not in usual or call[0].startswith(("rename .out", "syncfs", "fsync case"))]
            self.assertGreater(len(calls), 2)
            for key, nth in calls:
                self.fault("files", key, nth, True, CALLS_NEVER=never)

    def test_a_kill_at_any_call(self):
        for never in ("", "renameat2", "renameat2 linkat"):
            calls = [(key, nth) for key, nth in self.chosen(self.calls("files", CALLS_NEVER=never))
                     if key.startswith(("rename", "linkat", "mkdir", "unlink", "rmdir", "fsync", "syncfs"))
                     and (not re.search(r"\.part-#$", key) or re.search(r"out|run\.log|SHA|index|READ", key))]
            if never:
                calls = [call for call in calls if not call[0].startswith(("mkdir", "rename ."))] + [
                    call for call in calls if call[0].startswith("rename .out")]
            self.assertGreater(len(calls), 5)
            for key, nth in calls:
                self.fault("files", key, nth, True, CALLS_NEVER=never, CALLS_KILL="1")

    def test_an_allocation_fails(self):
        places = self.calls("memory")
        modules = collections.defaultdict(list)
        for key in places:
            modules[key.split()[1]].append(key)
        self.assertGreater(len(modules), 4)
        statuses = collections.Counter()
        for module, keys in sorted(modules.items()):
            most = PLACES_OF_PROGRAM if module == "lull-review" else PLACES_OF_LIBRARY
            for key in self.chance.sample(sorted(keys), min(most, len(keys))):
                nth = self.chance.randint(1, places[key])
                result = self.fault("memory", key, nth, False, may_end=module.startswith(UNGUARDED))
                statuses[result.returncode] += 1
        self.assertGreater(statuses[1], PLACES_OF_PROGRAM // 2, statuses)
        self.check_next("after all")


if __name__ == "__main__":
    main()
