#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The session schema, tested by an independent validator and compared with what the program accepts."""
import copy
import glob
import json
import os
import sys
import unittest

from harness import SOURCE, Folder, main, noise, run, tool, write_json, write_wav

try:
    import jsonschema
except ImportError:
    print("SKIPPED: jsonschema is not installed (python3-jsonschema)")
    sys.exit(77)

with open(os.path.join(SOURCE, "data", "schema", "session.schema.json"), encoding="utf-8") as file:
    SCHEMA = json.load(file)

FULL = {
    "format": "lull-session", "version": 1, "label": "basement", "exhibit": "E-7", "exercise": False,
    "start": "2026-03-14T02:10:00", "time_zone": "+01:00", "start_sigma_s": 1.5, "mains_hz": 50,
    "recordings": [{"file": "a.wav", "start": "2026-03-14T02:10:00+01:00",
                    "clock_checks": [{"recorder": 1, "reference": 1.5}]}],
    "channels": [
        {"name": "stairwell", "kind": "seismic", "recording": 1, "track": 1, "axis": "z", "mount": "spike",
         "polarity": -1, "position_m": [0, 1, 2], "position_sigma_m": 0.5,
         "sensitivity": {"value": 28.8, "unit": "V/(m/s)"}, "full_scale_V": 2, "gain_dB": 20,
         "recorded_through": "cable", "clock_offset_s": 0.1, "clock_drift_ppm": 2},
        {"name": "north-slab", "kind": "air", "track": 2}],
    "changes": [{"from": 10, "channel": "stairwell", "gain_dB": 30},
                {"from": "+00:00:20", "channel": "north-slab", "position_m": [4, 4, 0]}],
    "propagation": {"seismic_m_s": [400, 2000], "air_temperature_C": 8},
    "grid": {"origin_m": [0, 0], "cell_m": 2, "columns": 5, "rows": 4, "bearing_deg": 10, "north": "site"}}


def changed(path, value):
    session = copy.deepcopy(FULL)
    place = session
    for key in path[:-1]:
        place = place[key]
    if value is None:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return session


REFUSED = [
    changed(["version"], 2), changed(["format"], "x"), changed(["recordings"], None), changed(["extra"], 1),
    changed(["recordings"], []), changed(["channels", 0, "polarty"], 1), changed(["channels", 0, "polarity"], 0),
    changed(["channels", 0, "position_m"], [1, 2]), changed(["channels", 0, "track"], "two"),
    changed(["channels", 0, "track"], 65), changed(["channels", 0, "kind"], None),
    changed(["channels", 0, "kind"], "water"), changed(["channels", 0, "sensitivity", "unit"], "V"),
    changed(["start"], "14.03.2026"), changed(["changes", 0, "from"], None), changed(["exercise"], "yes"),
    changed(["grid", "north"], "up"), changed(["grid", "cell_m"], 0), changed(["mains_hz"], "50"),
    changed(["recordings", 0, "clock_checks", 0, "reference"], None), changed(["propagation", "seismic_m_s"], [1]),
    changed(["recordings", 0, "file"], ""),
    changed(["channels"], [{"name": f"c{n}", "kind": "air", "track": 1} for n in range(65)]),
    *(changed(["channels", 1, "name"], name) for name in ("", "a;b", "a,b", "a\tb", "\u0085a", " a", "a ", "a" * 65))]


class SessionSchema(Folder):
    def setUp(self):
        super().setUp()
        self.validator = jsonschema.Draft202012Validator(SCHEMA)

    def test_it_is_a_schema(self):
        jsonschema.Draft202012Validator.check_schema(SCHEMA)

    def test_it_accepts_valid_and_refuses_invalid_sessions(self):
        self.validator.validate(FULL)
        for session in REFUSED:
            self.assertFalse(self.validator.is_valid(session), session)

    def test_sessions_of_the_project_fit(self):
        for path in glob.glob(os.path.join(SOURCE, "data", "**", "*.json"), recursive=True):
            with open(path, encoding="utf-8") as file:
                session = json.load(file)
            if session.get("format") == "lull-session":
                self.validator.validate(session)

    def test_the_program_agrees_with_the_schema(self):
        if not os.path.exists(tool("lull-inspect")):
            self.skipTest("lull-inspect is not built")
        write_wav(self.path("a.wav"), noise(2, 2))
        write_json(self.path("s.json"), FULL)
        self.assertEqual(run("lull-inspect", "--quiet", self.path("s.json")).returncode, 0)
        for session in REFUSED:
            write_json(self.path("s.json"), session)
            result = run("lull-inspect", "--quiet", self.path("s.json"))
            self.assertEqual(result.returncode, 3, f"{session}\n{result.stderr}")


if __name__ == "__main__":
    main()
