#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rewrites README's two tables of hearing from data/hearing.md, between the lines that mark them.

Usage: readme_hearing.py [--check]    (--check: only reports whether they are up to date)
"""
import os
import sys

SOURCE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
BEGIN, END = "<!-- hearing, by scripts/readme_hearing.py -->\n", "<!-- /hearing -->\n"
SNRS = ["0 dB", "6 dB", "10 dB", "15 dB", "20 dB"]
CAUSES = 8


def tables_of(text):
    """From the heading of a section to the rows of its table, each a dictionary by column."""
    sections = {}
    for part in text.split("\n## ")[1:]:
        heading, _, body = part.partition("\n")
        lines = [[cell.strip() for cell in line.strip("|").split("|")] for line in body.splitlines()
                 if line.startswith("|")]
        if len(lines) > 2:
            sections[heading.split(",")[0] if heading[0].isdigit() else heading] = [
                dict(zip(lines[0], line)) for line in lines[2:]]
    return sections


def percent(cell):
    return cell.split(" ")[0] if cell else ""


def recall(rows, key, name):
    return next((percent(row["at 0.5"]) for row in rows if row[key] == name), "")


def tables(text):
    sections = tables_of(text)
    lines = ["| found, in percent of the sounds | groups of knocks | voices |", "|---|---|---|"]
    for snr in SNRS:
        lines.append(f"| at an SNR of {snr} | {recall(sections['Knocks by SNR'], 'SNR', snr)} | "
                     f"{recall(sections['Voices by SNR'], 'SNR', snr)} |")
    knocks = sections["Knocks of 6 dB and more by what they were"]
    voices = sections["Voices of 6 dB and more by what they were"]
    for row in knocks:
        name = row["sounds"]
        if name.startswith("ground: "):
            lines.append(f"| 6 dB and more, ground: {name[8:]} | {percent(row['at 0.5'])} | "
                         f"{recall(voices, 'sounds', name)} |")
    causes = sections["False finds an hour at 0.5, by cause"]
    counted = next(rows for rows in sections.values() if "false an hour" in rows[0])
    total = {row["kind"]: row["false an hour"] for row in counted if row["build"] == "lull"}
    lines += ["", "| false finds an hour, by what they were | called knocks | called voices |", "|---|---|---|",
              f"| all | {total['knocks']} | {total['voices']} |"]
    largest = sorted(causes, key=lambda row: -float(row["knocks"] or 0) - float(row["voices"] or 0))
    lines += [f"| {row['cause']} | {row['knocks']} | {row['voices']} |" for row in largest[:CAUSES]]
    return "\n".join(lines) + "\n"


def filled(readme, hearing):
    before, _, rest = readme.partition(BEGIN)
    _, _, after = rest.partition(END)
    assert rest and after, "README.md has no marked block"
    return before + BEGIN + tables(hearing) + END + after


def main():
    readme = os.path.join(SOURCE, "README.md")
    with open(readme, encoding="utf-8") as file:
        old = file.read()
    with open(os.path.join(SOURCE, "data", "hearing.md"), encoding="utf-8") as file:
        new = filled(old, file.read())
    if sys.argv[1:] == ["--check"]:
        sys.exit(0 if new == old else "README.md is not up to date with data/hearing.md: run scripts/readme_hearing.py")
    with open(readme, "w", encoding="utf-8") as file:
        file.write(new)


if __name__ == "__main__":
    main()
