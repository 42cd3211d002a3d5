#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every command in README and the guide works, every link leads somewhere, every page is in the table of pages.

A block of commands (```sh) runs here, in the order of the pages, in one folder. One that cannot run here (it needs
root, a network or a cluster) says what runs it in a comment before it.
"""
import glob
import os
import re
import shutil
import subprocess
import sys

from harness import BIN, SOURCE, Folder, main

GUIDE = os.path.join(SOURCE, "data", "guide")
PAGES = ["review", "listening", "sessions", "plans", "sheets", "night", "places", "elsewhere", "reliance", "installing",
         "plan-keys", "tables", "CHANGELOG"]
BLOCK = re.compile(r"(?:<!-- run by (?P<by>\S+) -->\n)?```sh\n(?P<commands>.*?)```", re.S)
CAUTION = ("A recording in which nothing is found does not show that nobody is there. These figures support, and never "
           "replace, the judgement of qualified search personnel under local procedures; never end a search because of "
           "them.")


def text_of(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def pages():
    yield os.path.join(SOURCE, "README.md")
    for name in PAGES:
        yield os.path.join(GUIDE, name + ".md")


class Commands(Folder):
    def setUp(self):
        super().setUp()
        os.symlink(os.path.join(os.path.abspath(SOURCE), "data"), self.path("data"))
        os.mkdir(self.path("night"))
        for number, (begin, end) in enumerate(((0, 30), (30, 60))):
            subprocess.run([os.path.join(BIN, "lull-filter"), "data/demo/recording.flac", "--from", str(begin), "--to",
                            str(end), "-o", self.path("night", f"take-{number + 1}.flac"), "--quiet"], check=True,
                           cwd=self.path())

    def test_every_block_runs_without_a_fault(self):
        environment = {**os.environ, "PATH": os.path.abspath(BIN) + ":" + os.environ["PATH"]}
        ran = 0
        for path in pages():
            for block in BLOCK.finditer(text_of(path)):
                if block["by"]:
                    name = os.path.basename(block["by"])
                    found = glob.glob(os.path.join(SOURCE, "**", name), recursive=True) + [
                        os.path.join(SOURCE, block["by"])]
                    self.assertTrue(any(os.path.exists(one) for one in found), f"{path}: {block['by']} is not there")
                    continue
                result = subprocess.run(["bash", "-euo", "pipefail", "-c", block["commands"]], cwd=self.path(),
                                        env=environment, capture_output=True, text=True, timeout=600)
                # head ends a pipe early, which is no fault
                self.assertIn(result.returncode, (0, 141), f"{path}\n{block['commands']}\n{result.stderr}")
                ran += 1
        self.assertGreaterEqual(ran, 18)


class Pages(Folder):
    def test_links_have_targets(self):
        for path in pages():
            text = re.sub(r"```.*?```", "", text_of(path), flags=re.S)
            for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text):
                place = os.path.join(os.path.dirname(path), target)
                self.assertTrue(os.path.exists(place), f"{path}: {target}")

    def test_every_page_of_the_guide_is_checked_and_reached_from_readme(self):
        self.assertEqual(sorted(os.path.basename(path)[:-3] for path in glob.glob(os.path.join(GUIDE, "*.md"))),
                         sorted(PAGES))
        readme = text_of(os.path.join(SOURCE, "README.md"))
        for name in PAGES:
            self.assertIn(f"(data/guide/{name}.md)", readme)

    def test_readme_is_short_and_has_the_caution_word_for_word(self):
        readme = text_of(os.path.join(SOURCE, "README.md"))
        self.assertLessEqual(len(readme.splitlines()), 200)
        self.assertIn(CAUTION, re.sub(r"\s*\n> ", " ", readme))

    def test_readme_s_figures_of_hearing_are_those_of_the_report(self):
        result = subprocess.run([sys.executable, os.path.join(SOURCE, "scripts", "readme_hearing.py"), "--check"],
                                capture_output=True, text=True)
        self.assertEqual((result.returncode, result.stderr), (0, ""))


if __name__ == "__main__":
    main()
