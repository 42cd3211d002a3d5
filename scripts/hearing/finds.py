# SPDX-License-Identifier: GPL-3.0-or-later
"""What a run of lull-detect found in a scene, as finds.

A find is what a person acts on: a series with its taps, a call with its syllables, a horn signal, one
strong blow. Its marks are the stretches of time that it claims: one for each event it is made of.
"""
import csv
import dataclasses
import pathlib
import subprocess
import tempfile

KINDS = ("tapping", "voice-like", "horn")


@dataclasses.dataclass
class Find:
    """One find: kind, confidence 0..1, channel (strongest), marks [(from_s, to_s), ...] in order."""
    kind: str
    confidence: float
    channel: str
    marks: list


@dataclasses.dataclass
class Heard:
    """All tables of one run: finds, and the rows that the loss ledger needs."""
    finds: list
    events: list
    arrivals: list


def rows_of(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def events_of(rows):
    """Rows of the events table with numbers as numbers, without hails."""
    return [{"number": int(row["event"]), "kind": row["kind"], "onset_s": float(row["onset_s"]),
             "end_s": float(row["end_s"]), "channel": row["channel"],
             "confidence": float(row["confidence"] or 0), "hail": row.get("hail") or "",
             "series": int(row["series"]) if row["series"] else None} for row in rows]


def finds_of(events):
    """Finds of an event list: events of one series and kind are one find, every other event is one by itself."""
    finds, by_series = [], {}
    for event in events:
        if event["kind"] not in KINDS or event["hail"]:
            continue
        mark = (event["onset_s"], event["end_s"])
        key = (event["series"], event["kind"])
        if event["series"] is not None and key in by_series:
            find = by_series[key]
            find.marks.append(mark)
            if event["confidence"] > find.confidence:
                find.confidence, find.channel = event["confidence"], event["channel"]
            continue
        find = Find(event["kind"], event["confidence"], event["channel"], [mark])
        finds.append(find)
        if event["series"] is not None:
            by_series[key] = find
    return finds


def detect(build, recording, session=None, channels=None, log=None):
    """Runs lull-detect of a build on a recording and returns the result as Heard."""
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder)
        command = [str(pathlib.Path(build) / "lull-detect"), str(recording), "-o", str(out / "events.csv"),
                   "--arrivals", str(out / "arrivals.csv"), "--list-from", "0", "--jobs", "1", "--quiet"]
        if session:
            command += ["--session", str(session)]
        if channels:
            command += ["--channels", ",".join(channels)]
        if log:
            command += ["--log", str(log)]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode != 0:
            raise RuntimeError(f"{' '.join(command)}: status {done.returncode}: {done.stderr.strip()}")
        events = events_of(rows_of(out / "events.csv"))
        arrivals = [{"event": int(row["event"]), "channel": row["channel"],
                     "onset_s": float(row["onset_s"])} for row in rows_of(out / "arrivals.csv")]
    return Heard(finds_of(events), events, arrivals)
