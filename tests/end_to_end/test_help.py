#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What tools state about themselves is true: help, examples, refusals, manual pages and completions."""
import glob
import gzip
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

from harness import BIN, SOURCE, Folder, main, run, tool

TOOLS = sorted(os.path.basename(path) for path in glob.glob(os.path.join(BIN, "lull-*"))
               if os.path.isfile(path) and os.access(path, os.X_OK))
# Each leaves files that the next ones read.
IN_ORDER = ["inspect", "noise", "detect", "rank", "delay", "locate", "audibility", "excerpt", "filter", "exercise",
            "grade", "review"]


def described(name):
    return json.loads(run(name, "--describe").stdout)


def options_of(description):
    return [option for group in description["groups"] for option in group["options"] if not option["positional"]]


class Help(unittest.TestCase):
    def test_help_has_types_defaults_examples_and_statuses_in_80_columns(self):
        for name in TOOLS:
            with self.subTest(tool=name):
                result = run(name, "--help")
                self.assertEqual((result.returncode, result.stderr), (0, ""))
                self.assertLessEqual(max(map(len, result.stdout.splitlines())), 80)
                for heading in ("Usage: " + name, "\nResults\n", "\nGeneral\n", "\nExamples\n", "\nExit status\n"):
                    self.assertIn(heading, result.stdout)
                self.assertGreaterEqual(len(described(name)["examples"]), 2)
                self.assertEqual([one["status"] for one in described(name)["statuses"]],
                                 ["0", "1", "2", "3", "4", "129, 130, 143"])

    def test_no_type_name_comes_from_the_library(self):
        for name in TOOLS:
            for option in options_of(described(name)):
                self.assertNotIn(option["type"], ("INT", "UINT", "FLOAT", "DIR"), (name, option["name"]))
                if option["type"] == "TEXT":
                    self.assertTrue(option["choices"], (name, option["name"]))

    def test_an_invalid_number_is_quoted(self):
        seen = 0
        for name in TOOLS:
            for option in options_of(described(name)):
                if option["type"] not in ("NUMBER", "DB", "SECONDS", "METRES", "HZ"):
                    continue
                seen += 1
                result = run(name, "--" + option["long"][0] + "=loud")
                self.assertEqual(result.returncode, 2)
                self.assertRegex(result.stderr, rf"^{name}: --{option['long'][0]}: 'loud' is not a (whole )?number; give ")
        self.assertGreaterEqual(seen, 20)  # --jobs of every tool that analyses, and more

    def test_an_unknown_word_is_quoted_with_the_nearest(self):
        result = run("lull-detect", "a.wav", "--format", "jsno")
        self.assertEqual(result.returncode, 2)
        self.assertEqual(result.stderr, "lull-detect: --format: 'jsno' is none of csv, json, jsonl; did you mean json?\n")
        result = run("lull-detect", "a.wav", "--serie", "s.csv")
        self.assertEqual(result.stderr, "lull-detect: unknown option --serie; did you mean --series?\n")


class Examples(Folder):
    def test_every_example_works(self):
        for name in ("recording.flac", "session.json", "log.csv", "truth.csv", "plan.json"):
            shutil.copy(os.path.join(SOURCE, "data", "demo", name), self.path(name))
        os.mkdir(self.path("night"))
        shutil.copy(self.path("recording.flac"), self.path("night", "take-1.flac"))
        os.mkdir(self.path("sheets"))
        for name in ("first", "second"):
            shutil.copy(self.path("truth.csv"), self.path("sheets", name + ".csv"))
        self.assertEqual(sorted("lull-" + name for name in IN_ORDER), TOOLS)
        for name in ["lull-" + one for one in IN_ORDER]:
            for example in described(name)["examples"]:
                words = example["command"].split()
                self.assertEqual(words[0], name)
                result = subprocess.run([tool(name), *words[1:]], cwd=self.path(), capture_output=True, text=True,
                                        timeout=300)
                self.assertEqual(result.returncode, 0, example["command"] + "\n" + result.stderr)


class Manual(unittest.TestCase):
    """The build makes these; here they are made from the tools."""

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        subprocess.run([sys.executable, os.path.join(SOURCE, "scripts", "manual.py"), BIN, self.folder.name], check=True)

    def path(self, *parts):
        return os.path.join(self.folder.name, *parts)

    def page(self, name):
        section = name[-1]
        with gzip.open(self.path("man" + section, name + ".gz"), "rt", encoding="utf-8") as file:
            return file.read()

    def test_every_tool_has_a_page_with_all_its_options(self):
        for name in TOOLS:
            text = self.page(name + ".1").replace("\\-", "-")
            for option in options_of(described(name)):
                self.assertIn("--" + option["long"][0], text, name)
            self.assertIn("A recording in which nothing is found does not show that nobody is there.", text)

    def test_pages_of_files_have_every_key(self):
        for page, schema in (("lull-session.5", "session"), ("lull-plan.5", "plan")):
            text = self.page(page).replace("\\-", "-")
            with open(os.path.join(SOURCE, "data", "schema", schema + ".schema.json"), encoding="utf-8") as file:
                keys = json.load(file)["properties"]
            for key in keys:
                self.assertIn("\\fB" + key + "\\fR", text)
        self.assertIn("\\fBonset_s\\fR", self.page("lull-tables.5").replace("\\-", "-"))

    def test_every_column_and_key_is_described(self):
        for name in ("plan", "session", "table"):
            with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
                schema = json.load(file)
            parts = ({"": schema} if name != "table" else
                     {key: one for key, one in schema["$defs"].items() if key.endswith("_row")})
            for part, node in parts.items():
                for key, one in node["properties"].items():
                    self.assertTrue(one.get("description"), f"{name}: {part} {key}")

    @unittest.skipUnless(shutil.which("mandoc"), "mandoc is not installed")
    def test_pages_are_well_formed(self):
        for path in glob.glob(self.path("man*", "*.gz")):
            with gzip.open(path, "rb") as file:
                result = subprocess.run(["mandoc", "-T", "lint", "-W", "warning"], input=file.read(), capture_output=True)
            self.assertEqual(result.stdout + result.stderr, b"", path)

    def test_bash_completes_options_words_and_files(self):
        def completed(*words):
            script = (f"source {self.path('bash', 'lull-detect')}; COMP_WORDS=({' '.join(words)}); "
                      f"COMP_CWORD={len(words) - 1}; compopt() {{ :; }}; _lull_detect; echo \"${{COMPREPLY[@]}}\"")
            return subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True).stdout.split()
        self.assertEqual(completed("lull-detect", "--ser"), ["--series"])
        self.assertEqual(completed("lull-detect", "--format", "j"), ["json", "jsonl"])
        self.assertEqual(completed("lull-detect", "--session", self.path("fis")), [self.path("fish")])
        self.assertEqual(completed("lull-detect", "--jobs", "''"), [])

    def test_every_shell_can_read_its_completions(self):
        for shell, pattern in (("bash", "bash/*"), ("zsh", "zsh/*"), ("fish", "fish/*")):
            files = glob.glob(self.path(*pattern.split("/")))
            self.assertEqual(len(files), len(TOOLS))
            if shutil.which(shell):
                for path in files:
                    result = subprocess.run([shell, "-n", path], capture_output=True, text=True)
                    self.assertEqual((result.returncode, result.stderr), (0, ""), path)

    @unittest.skipUnless(shutil.which("fish"), "fish is not installed")
    def test_fish_completes(self):
        script = f"source {self.path('fish', 'lull-detect.fish')}; complete -C 'lull-detect --format '"
        words = subprocess.run(["fish", "-c", script], capture_output=True, text=True, env={**os.environ, "HOME": self.path()})
        self.assertEqual({line.split("\t")[0] for line in words.stdout.splitlines()}, {"csv", "json", "jsonl"})


class Guide(unittest.TestCase):
    def test_generated_pages_match_the_schemas(self):
        sys.path.insert(0, os.path.join(SOURCE, "scripts"))
        import manual
        for name, text in manual.guide_pages().items():
            with open(os.path.join(SOURCE, "data", "guide", name), encoding="utf-8") as file:
                self.assertEqual(file.read(), text, f"{name}: run scripts/manual.py --guide")

    def test_the_version_is_in_the_changelog(self):
        version = run("lull-review", "--version").stdout.split()[1]
        with open(os.path.join(SOURCE, "data", "guide", "CHANGELOG.md"), encoding="utf-8") as file:
            self.assertTrue(re.search(rf"^## {re.escape(version)} \(\d{{4}}-\d\d-\d\d\)$", file.read(), re.M))


if __name__ == "__main__":
    main()
