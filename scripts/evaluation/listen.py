# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the built tools on a made scene and brings back what they say."""
import csv
import json
import pathlib
import subprocess

import numpy as np
from scipy.io import wavfile

NUMBERS = {"onset_s", "end_s", "confidence", "from_s", "to_s", "taps", "snr_db"}


def rows_of(path):
    with open(path, newline="") as file:
        return [{k: float(v) if k in NUMBERS and v else v for k, v in row.items()}
                for row in csv.DictReader(file)]


def write_scene(folder, x, rate, kind="air"):
    """A 16-bit WAV, half of full scale at its largest, and a session that names its kind."""
    x = np.asarray(x, float)
    wavfile.write(folder / "scene.wav", rate,
                  np.round(x * 16000 / max(1e-9, np.abs(x).max())).astype(np.int16))
    (folder / "session.json").write_text(json.dumps({
        "format": "lull-session", "version": 1, "recordings": [{"file": "scene.wav"}],
        "channels": [{"name": "made", "kind": kind, "track": 1}]}))
    return folder / "session.json"


def detect(build, recording, folder):
    """Events and series of a recording, every one of them."""
    folder = pathlib.Path(folder)
    subprocess.run([str(pathlib.Path(build) / "lull-detect"), str(recording), "--quiet",
                    "--list-from", "0", "--jobs", "1", "-o", str(folder / "events.csv"),
                    "--series", str(folder / "series.csv")], check=True)
    keep = ("kind", "onset_s", "end_s", "confidence", "snr_db", "series", "why")
    events = [{k: e[k] for k in keep} for e in rows_of(folder / "events.csv")]
    keep = ("from_s", "to_s", "taps", "confidence")
    return events, [{k: s[k] for k in keep} for s in rows_of(folder / "series.csv")]
