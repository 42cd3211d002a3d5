# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the tools of a build, and reads their tables."""
import csv
import pathlib
import subprocess
import sys


def run(build, name, *arguments):
    """A tool with these arguments; what it could not do whole (status 4) is no failure here."""
    done = subprocess.run([str(build / name), *map(str, arguments), "--quiet"], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 4):
        raise SystemExit(f"{pathlib.Path(sys.argv[0]).stem}: {done.stderr}")


def read(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
