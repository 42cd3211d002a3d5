#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""No output is ever an input or another output: tested for every option of every tool that names a file, as
--describe
lists them. Files of the user's in an output folder may be read, and stay."""
import json
import os
import shutil

from harness import SOURCE, Folder, add_at, knock, main, noise, run, write_json, write_wav
from test_every_tool import TOOLS

# Options that name no file.
NO_FILE = {"--channels", "--from", "--to", "--band", "--jobs", "--format", "--list-from", "--false-per-hour", "--hail-channel", "--until",
           "--settled", "--unit", "--every", "--pair", "--reviewer", "--label", "--gain", "--seed", "--variants",
           "--reach", "--source", "--strength", "--times", "--ground"}
READ = {"INPUT", "PLAN", "--session", "--horns", "--log", "--judgements", "--withhold", "--language", "--gather", "--notify",
        "--noise", "--events", "--delays", "--ranking", "--forbidden", "--truth", "--sheets", "--notes", "--recording",
        "--slots", "--weights", "--synonyms", "--earlier", "--finds"}
BOTH = {"--key"}
# Values besides the tested one that the command line needs.
NEEDED = {"lull-audibility": {"INPUT": "a.wav", "--noise": "n.csv", "--source": "knock", "--strength": "60"},
          "lull-delay": {"INPUT": "a.wav", "--events": "e.csv"}, "lull-rank": {"INPUT": "a.wav", "--events": "e.csv"},
          "lull-excerpt": {"INPUT": "a.wav", "--events": "e.csv", "--output": "new"},
          "lull-exercise": {"PLAN": "p.json", "--output": "new"}, "lull-filter": {"INPUT": "a.wav", "--output": "new.wav"},
          "lull-grade": {"--truth": "t.csv", "--output": "new"},
          "lull-locate": {"INPUT": "a.wav", "--delays": "d.csv", "--next": "new.csv"},
          "lull-review": {"INPUT": "a.wav", "--output": "new", "--follow": None}}
# Not together with the options above.
WITHOUT = {"--gather": {"--follow"}}


def options_of(name):
    """The type of each option, by its longest name: FILE, FOLDER, PROGRAM, NAME, ..."""
    groups = json.loads(run(name, "--describe").stdout)["groups"]
    return {option["name"] if option["positional"] else "--" + option["long"][-1]: option["type"] or None
            for group in groups for option in group["options"]}


class Clashes(Folder):
    def setUp(self):
        super().setUp()
        samples = noise(3, 1, rate=8000)
        add_at(samples, 0, 1.0, knock(8000), 0.3, 8000)
        write_wav(self.path("a.wav"), samples, rate=8000)

    def command(self, name, given):
        """\param given  values of options, in addition to those that the tool always needs"""
        values = {**NEEDED.get(name, {"INPUT": "a.wav"}), **given}
        for option in given:
            for other in WITHOUT.get(option, ()):
                values.pop(other, None)
        words = []
        for option, value in values.items():
            if option.startswith("--"):
                words.append(option)
            if value is not None:
                words.append(value if option in ("--source", "--strength") else self.path(value))
        positional = [words.pop(words.index(self.path(values[option]))) for option in ("INPUT", "PLAN") if option in values]
        return ["--quiet", *positional, *words]

    def refused(self, name, given, *words):
        with open(self.path("x"), "w") as file:
            file.write("from a person")
        result = run(name, *self.command(name, given))
        self.assert_refused(result, 2, name + ": ", *words)
        with open(self.path("x")) as file:
            self.assertEqual(file.read(), "from a person", (name, given))
        self.assertEqual([left for left in os.listdir(self.folder) if left.startswith(".") or left == "new"], [], given)

    def test_every_option_is_known(self):
        for name in TOOLS:
            options = options_of(name)
            self.assertGreater(len(options), 3, name)
            for option, kind in options.items():
                if kind is None:
                    continue  # a flag
                names_file = kind in ("FILE", "FOLDER", "PROGRAM")
                self.assertEqual(names_file, option not in NO_FILE, f"{name} {option} {kind}")

    def roles(self, name):
        files = [option for option, kind in options_of(name).items() if kind in ("FILE", "FOLDER", "PROGRAM")]
        outputs = [option for option in files if self.is_output(name, option) or option in BOTH]
        return [option for option in files if option not in outputs or option in BOTH], outputs

    @staticmethod
    def is_output(name, option):
        # lull-audibility reads what lull-noise writes under that name.
        return option not in READ | BOTH and (name, option) != ("lull-audibility", "--quiet-periods")

    def test_no_output_is_an_input(self):
        tried = 0
        for name in TOOLS:
            inputs, outputs = self.roles(name)
            for output in outputs:
                for given in inputs:
                    if given != output:
                        what = "same place" if given in BOTH else "reads"
                        self.refused(name, {given: "x", output: "x"}, "x: ", what, output)
                        tried += 1
        self.assertGreater(tried, 80)

    def test_no_output_is_another(self):
        tried = 0
        for name in TOOLS:
            _, outputs = self.roles(name)
            for number, one in enumerate(outputs):
                for other in outputs[:number]:
                    self.refused(name, {one: "x", other: "x"}, "same place", one, other)
                    tried += 1
        self.assertGreater(tried, 20)

    def test_links_lead_to_the_same_file(self):
        with open(self.path("x"), "w") as file:
            file.write("from a person")
        os.symlink("x", self.path("soft"))
        os.link(self.path("x"), self.path("hard"))
        os.mkdir(self.path("folder"))
        for other in ("soft", "hard", "folder/../x"):
            self.refused("lull-detect", {"--log": "x", "--output": other}, "reads")
            self.refused("lull-detect", {"--log": other, "--output": "x"}, "reads")
            self.refused("lull-detect", {"--arrivals": other, "--output": "x"}, "same place")
        self.refused("lull-grade", {"--output": "folder", "--key": "folder/key.csv"}, "same place")

    def test_a_recording_that_only_the_session_names(self):
        with open(self.path("s.json"), "w") as file:
            file.write('{"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],'
                       ' "channels": [{"name": "stairwell", "kind": "seismic", "track": 1}]}')
        with open(self.path("a.wav"), "rb") as file:
            before = file.read()
        for name, option in (("lull-filter", "-o"), ("lull-detect", "--arrivals"), ("lull-inspect", "--picture")):
            self.assert_refused(run(name, "--quiet", self.path("s.json"), option, self.path("a.wav")), 2, "a.wav")
        with open(self.path("a.wav"), "rb") as file:
            self.assertEqual(file.read(), before)

    def test_devices_may_be_both(self):
        result = run("lull-detect", "--quiet", self.path("a.wav"), "-o", "/dev/null", "--arrivals", "/dev/null")
        self.assertEqual((result.returncode, result.stderr), (0, ""))


class InTheFolder(Folder):
    """Files that people save beside the results."""
    JUDGEMENTS = ("when,reviewer,report digest,onset_s,channel,old kind,judgement,new kind,reason\r\n"
                  "2026-03-15T10:00:00Z,first,,1.0,ch1,tapping,agree,,\r\n")
    LOG = "time,person,action,channels,text\r\n0:01,operator A,heard,,knocks\r\n"

    def setUp(self):
        super().setUp()
        samples = noise(3, 1, rate=8000)
        for k in range(3):
            add_at(samples, 0, 0.5 + 0.6 * k, knock(8000), 0.3, 8000)
        write_wav(self.path("a.wav"), samples, rate=8000)

    def write(self, text, *way):
        os.makedirs(os.path.dirname(self.path(*way)), exist_ok=True)
        with open(self.path(*way), "w", newline="") as file:
            file.write(text)
        return self.path(*way)

    def read(self, *way):
        with open(self.path(*way), newline="") as file:
            return file.read()

    def done(self, name, *options, status=0):
        result = run(name, "--quiet", *options)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def test_a_review_reads_and_keeps_user_files_in_its_folder(self):
        review = ("lull-review", self.path("a.wav"), "-o", self.path("out"))
        self.done(*review)
        given = ["--judgements", self.write(self.JUDGEMENTS, "out", "judgements.csv"),
                 "--log", self.write(self.LOG, "out", "notes", "log.csv"),
                 "--withhold", self.write("from_s,to_s\r\n2.9,2.95\r\n", "out", "withheld.csv"),
                 "--language", self.write(self.read_english(), "out", "words.json"),
                 "--horns", shutil.copy(os.path.join(SOURCE, "data", "horn-patterns.json"),
                                        self.path("out", "horns.json"))]
        kept = {path: self.read(os.path.relpath(path, self.folder)) for path in given[1::2]}
        for _ in range(2):
            self.done(*review, *given)
            for path, text in kept.items():
                self.assertEqual(self.read(path), text, path)
        first = self.read("out", "READ-FIRST.txt")
        for path in kept:
            self.assertIn("\n  " + os.path.relpath(path, self.path("out")) + "\n", first)
        self.done(*review, "--blind")
        for path, text in kept.items():
            self.assertEqual(self.read(path), text, path)
        self.assertIn("judgements.csv", self.read("out", "READ-FIRST.txt"))

    @staticmethod
    def read_english():
        with open(os.path.join(SOURCE, "data", "language", "en.json")) as file:
            return file.read()

    def test_a_users_file_changes_only_the_list_of_files(self):
        self.done("lull-review", self.path("a.wav"), "-o", self.path("alone"))
        self.done("lull-review", self.path("a.wav"), "-o", self.path("out"))
        for text in ("one", "two"):
            self.write(text, "out", "mine.txt")
            self.done("lull-review", self.path("a.wav"), "-o", self.path("out"))
            sums = dict(reversed(line.split("  ")) for line in self.read("out", "SHA256SUMS").splitlines())
            alone = dict(reversed(line.split("  ")) for line in self.read("alone", "SHA256SUMS").splitlines())
            self.assertEqual(set(sums), set(alone))
            self.assertEqual([name for name in sums if sums[name] != alone[name]], ["READ-FIRST.txt"])

    def test_an_output_of_lull_is_no_input_of_the_run_that_replaces_it(self):
        self.done("lull-review", self.path("a.wav"), "-o", self.path("out"))
        self.assert_refused(run("lull-review", "--quiet", self.path("a.wav"), "-o", self.path("out"), "--withhold",
                                self.path("out", "quiet.csv")), 2, "out", "quiet.csv")
        self.assertTrue(os.path.exists(self.path("out", "quiet.csv")))

    def test_a_folder_without_details_refuses_to_hold_user_notes(self):
        review = ("lull-review", self.path("a.wav"), "-o", self.path("out"))
        self.done(*review)
        self.write(self.JUDGEMENTS, "out", "judgements.csv")
        self.assert_refused(run(*review[:1], "--quiet", *review[1:], "--share"), 1, "out", "judgements.csv", "handed on")
        self.assertEqual(self.read("out", "judgements.csv"), self.JUDGEMENTS)

    def test_every_tool_that_writes_a_folder(self):
        events = self.path("events.csv")
        self.done("lull-detect", self.path("a.wav"), "-o", events)
        truth = self.write("time_s,end_s,kind,channel\n0.5,2.0,tapping,1\n", "truth.csv")
        sheet = self.write("time,kind,channel\n0:01,tapping,1\n", "sheet.csv")
        plan = self.path("plan.json")
        write_json(plan, {"format": "lull-plan", "version": 1, "label": "Tool shed", "duration_s": 40, "rate_hz": 8000,
                          "seed": 5, "channels": [{"name": "stairwell", "kind": "seismic", "position_m": [5, 0, 0]}],
                          "events": [{"kind": "knocks", "time_s": 12, "position_m": [3, 0, 0], "snr_db": 20}]})
        for command in (["lull-excerpt", self.path("a.wav"), "--events", events],
                        ["lull-grade", "--truth", truth, "--sheets", sheet], ["lull-exercise", plan]):
            out = self.path(command[0])
            self.done(*command, "-o", out)
            self.write("mine", command[0], "notes", "mine.txt")
            self.done(*command, "-o", out)
            self.assertEqual(self.read(command[0], "notes", "mine.txt"), "mine")
            self.assertIn("\n  notes/mine.txt\n", self.read(command[0], "READ-FIRST.txt"))


if __name__ == "__main__":
    main()
