#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Places and audibility by the real executables: from samples to a place, shapes, faults in one line."""
import json
import os
import re
import unittest
from xml.etree import ElementTree

from harness import SOURCE, Folder, add_at, knock, main, noise, np, rows_of, run, write_json, write_wav

RATE = 16000
SPEED = 700.0
SENSORS = {"stairwell": (0, 0, 0), "north-slab": (12, 1, 0), "lift-shaft": (11, 12, 0), "ramp-edge": (-1, 10, 0),
           "coal-chute": (6, 15, 0)}
SOURCE_AT = (4.0, 7.0, -0.5)
CAVEAT = "counted on made scenes; real sound was found less often"
GRID = {"origin_m": [0, 0], "cell_m": 2.0, "columns": 6, "rows": 6, "bearing_deg": 0, "north": "site"}


def shifted(shape, frames):
    """By a fraction of a frame, through the spectrum. Zeros round it prevent wrapping."""
    padded = np.concatenate([np.zeros(64), shape, np.zeros(64)])
    turn = np.exp(-2j * np.pi * np.fft.rfftfreq(len(padded)) * frames)
    return np.fft.irfft(np.fft.rfft(padded) * turn, len(padded))


class Place(Folder):
    def setUp(self):
        super().setUp()
        self.samples = noise(20, len(SENSORS), rms=0.001, seed=6)
        self.knocks = [8.0 + 0.6 * k for k in range(4)]
        for time_s in self.knocks:
            self.strike(time_s, SENSORS)
        self.session()

    def strike(self, time_s, places, source=SOURCE_AT, contacts=None):
        """:param contacts: factor on what a channel reads, where it is not 1"""
        for track, (name, at) in enumerate(places.items()):
            r = np.linalg.norm(np.subtract(at, source))
            arrival = (time_s + r / SPEED) * RATE
            gain = 0.5 / r * (contacts or {}).get(name, 1.0)
            add_at(self.samples, track, (int(arrival) - 64) / RATE, shifted(knock(RATE), arrival - int(arrival)), gain)

    def session(self, channels=None, **more):
        write_wav(self.path("a.wav"), self.samples, bits=24)
        channels = channels or [
            {"name": name, "kind": "seismic", "track": track + 1, "axis": "vertical", "position_m": at, "position_sigma_m": 0.1}
            for track, (name, at) in enumerate(SENSORS.items())]
        write_json(self.path("s.json"), {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                                         "channels": channels, "grid": GRID, **more})

    def tables(self):
        for name, table, options in (("lull-detect", "events", []), ("lull-delay", "delays", ["--events", self.path("events.csv")]),
                                     ("lull-rank", "ranking", ["--events", self.path("events.csv")])):
            result = run(name, self.path("s.json"), *options, "-o", self.path(table + ".csv"))
            self.assertEqual(result.returncode, 0, result.stderr)
        return ["--delays", self.path("delays.csv"), "--ranking", self.path("ranking.csv"), "--events", self.path("events.csv")]

    def read(self, name):
        with open(self.path(name), encoding="utf-8", newline="") as file:
            return rows_of(file.read())

    def series_row(self, rows):
        found = [row for row in rows if row["event"].startswith("series")]
        self.assertEqual(len(found), 1, rows)
        return found[0]


class Contacts(Place):
    POOR, POOR_DB = "lift-shaft", -12.0

    def test_a_poor_contact_stands_in_channels(self):
        """Blows in eight places: what one sensor reads less at all of them is its contact."""
        self.samples = noise(44, len(SENSORS), rms=0.0005, seed=6)
        places = [(2, 3), (5, 11), (8, 5), (9, 9), (3, 8), (6, 2), (7, 12), (1, 6)]
        for k, (x, y) in enumerate(places):
            self.strike(4.0 + 4.7 * k, SENSORS, (x, y, -0.5), {self.POOR: 10 ** (self.POOR_DB / 20)})
        self.session()
        result = run("lull-review", self.path("s.json"), "--no-audio", "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        rows = {row["channel"]: row for row in self.read(os.path.join("out", "channels.csv"))}
        contact_db = {name: float(row["contact_db"]) for name, row in rows.items()}
        others = [contact_db[name] for name in SENSORS if name != self.POOR]
        sigma_db = float(rows[self.POOR]["contact_sigma_db"])
        self.assertLess(sigma_db, 3.0)
        self.assertAlmostEqual(contact_db[self.POOR] - np.mean(others), self.POOR_DB, delta=2 * sigma_db)
        self.assertLess(max(others) - min(others), 6.0)
        # Of one source, distance and contact cannot be told apart.
        result = run("lull-inspect", self.path("s.json"))
        self.assertEqual({(row["contact_db"], row["contact_sigma_db"]) for row in rows_of(result.stdout)}, {("", "")})


class ClocksOfTheirOwn(Place):
    def test_only_levels_are_used_of_recorders_with_untied_clocks(self):
        """Three sensors on one recorder, two on another, and too few knocks to tie the two."""
        self.samples = noise(20, len(SENSORS), rms=0.001, seed=6)
        for time_s in (8.0, 8.6):
            self.strike(time_s, SENSORS)
        names = list(SENSORS)
        for number, tracks in ((1, (0, 1, 2)), (2, (3, 4))):
            write_wav(self.path(f"{number}.wav"), self.samples[:, tracks], bits=24)
        channels = [{"name": name, "kind": "seismic", "recording": 1 + k // 3, "track": 1 + k % 3, "axis": "vertical",
                     "position_m": SENSORS[name], "position_sigma_m": 0.1} for k, name in enumerate(names)]
        self.session(channels, recordings=[{"file": f"{number}.wav", "start": "2026-03-14T10:00:00Z"} for number in (1, 2)])
        with open(self.path("events.csv"), "w", encoding="utf-8") as file:
            file.write("event,kind,onset_s,end_s,channel,channels\n")
            for k, time_s in enumerate((8.0, 8.6)):
                file.write(f"{k + 1},tapping,{time_s:.6f},{time_s + 0.1:.6f},{names[0]},{';'.join(names)}\n")
        tables = ["--events", self.path("events.csv")]
        for name, table in (("lull-delay", "delays"), ("lull-rank", "ranking")):
            self.assertEqual(run(name, self.path("s.json"), *tables, "-o", self.path(table + ".csv")).returncode, 0)
        tables += ["--delays", self.path("delays.csv"), "--ranking", self.path("ranking.csv")]
        result = run("lull-locate", self.path("s.json"), *tables, "--format", "json")
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("the clocks of recordings 1 and 2 are not tied: no delay between them is used", result.stderr)
        rows = json.loads(result.stdout)["rows"]
        self.assertEqual(len(rows), 2)
        with open(self.path("delays.csv"), encoding="utf-8", newline="") as file:
            within = [row for row in rows_of(file.read()) if row["usable"] == "yes"]
        heard = {row[side] for row in within for side in ("channel_a", "channel_b")}
        for name in set(names) - heard:
            self.assertIn(name, result.stderr)
        for row in rows:
            if set(names) - heard:
                self.assertIn("clocks not tied, so only levels of", row["evidence"])
        # Without the delays of the second recorder's channels, only their levels are left.
        with open(self.path("delays.csv"), encoding="utf-8") as file:
            lines = [line for line in file if not ("ramp-edge,coal-chute" in line or "coal-chute,ramp-edge" in line)]
        with open(self.path("delays.csv"), "w", encoding="utf-8") as file:
            file.writelines(lines)
        result = run("lull-locate", self.path("s.json"), *tables)
        self.assertIn("of ramp-edge and coal-chute only levels are used", result.stderr)
        for row in rows_of(result.stdout):
            self.assertIn("clocks not tied, so only levels of ramp-edge, coal-chute", row["evidence"])


class Located(Place):
    def test_the_series_is_located_at_its_source(self):
        tables = self.tables()
        result = run("lull-locate", self.path("s.json"), *tables, "--cells", self.path("cells.csv"), "--next", self.path("next.csv"),
                     "--picture", self.path("map.svg"))
        self.assertEqual(result.returncode, 0, result.stderr)
        row = self.series_row(rows_of(result.stdout))
        self.assertEqual(row["shape"], "region")
        # Speed and depth are unknown: the region is some 3 m2, and its middle need not be the source.
        self.assertLess(np.hypot(float(row["x_m"]) - SOURCE_AT[0], float(row["y_m"]) - SOURCE_AT[1]), 1.0)
        low, high = map(float, re.search(r"speed (\d+) to (\d+) m/s", row["evidence"]).groups())
        self.assertTrue(low < SPEED < high, row["evidence"])
        self.assertLess(float(row["area50_m2"]), float(row["area90_m2"]))
        self.assertLess(float(row["area90_m2"]), 10.0)
        self.assertTrue(row["polygon90"].startswith("MULTIPOLYGON((("))
        self.assertIn("5 of 5 arrivals agree", row["evidence"])
        cells = [cell for cell in self.read("cells.csv") if cell["event"] == row["event"]]
        self.assertEqual(cells[-1]["cell"], "outside")
        # Cells under 0.001 of 36 are left out, and three decimals are shown.
        self.assertAlmostEqual(sum(float(cell["probability"]) for cell in cells), 1.0, delta=0.05)
        best = max(cells, key=lambda cell: float(cell["probability"]))
        self.assertIn(best["cell"], ("B4", "C4"))  # the source is on the line between the two
        moves = self.read("next.csv")
        self.assertLess(float(moves[0]["expected_area90_m2"]), float(moves[0]["area90_m2"]))
        text = "".join(ElementTree.parse(self.path("map.svg")).getroot().itertext())
        for word in [*SENSORS, "site north", " m", row["event"]]:
            self.assertIn(word, text)

    def test_the_review_gives_the_same(self):
        tables = self.tables()
        result = run("lull-review", self.path("s.json"), "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        result = run("lull-locate", self.path("s.json"), *tables, "-o", self.path("l.csv"), "--cells", self.path("c.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        for alone, name in (("l.csv", "locations.csv"), ("c.csv", "cells.csv")):
            with open(self.path(alone), "rb") as one, open(self.path("out", name), "rb") as other:
                self.assertEqual(one.read(), other.read(), name)
        self.assertTrue(any(name.startswith("series-") for name in os.listdir(self.path("out", "maps"))))
        self.assertTrue(any(name.startswith("audibility-") for name in os.listdir(self.path("out", "maps"))))
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            page = " ".join(file.read().split())
        self.assertIn("live listeners would have heard is another question", page)
        self.assertIn(CAVEAT, page.split('<section id="audible"')[1].split("<figure")[0], "before the first picture")
        self.assertEqual({row["caveat"] for row in self.read(os.path.join("out", "audibility.csv"))}, {CAVEAT})
        for name in os.listdir(self.path("out", "maps")):
            if name.startswith("audibility-"):
                with open(self.path("out", "maps", name), encoding="utf-8") as file:
                    self.assertIn(CAVEAT, file.read(), name)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            report = json.load(file)
        self.assertGreater(len(report["locations"]), 0)
        self.valid("report", report)

    def valid(self, name, document):
        try:
            import jsonschema
        except ImportError:
            self.skipTest("jsonschema is not installed (python3-jsonschema)")
        with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
            schema = json.load(file)
        self.assertEqual([f"{list(f.path)}: {f.message}" for f in jsonschema.Draft202012Validator(schema).iter_errors(document)], [])

    def test_tables_as_json(self):
        tables = self.tables()
        for name in ("cells", "next"):
            result = run("lull-locate", self.path("s.json"), *tables, "--format", "json", f"--{name}", self.path(name + ".json"))
            self.assertEqual(result.returncode, 0, result.stderr)
            self.valid("table", json.loads(result.stdout))
            with open(self.path(name + ".json"), encoding="utf-8") as file:
                self.valid("table", json.load(file))
        self.assertEqual(run("lull-noise", self.path("s.json"), "-o", self.path("noise.csv")).returncode, 0)
        result = run("lull-audibility", self.path("s.json"), "--noise", self.path("noise.csv"), "--source", "knock",
                     "--strength", "-20", "--format", "json", "--picture", self.path("audible.svg"))
        self.assertEqual(result.returncode, 0, result.stderr)
        table = json.loads(result.stdout)
        self.valid("table", table)
        self.assertEqual({row["caveat"] for row in table["rows"]}, {CAVEAT})
        self.assertIn(CAVEAT, result.stderr)
        self.assertIn(CAVEAT, "".join(ElementTree.parse(self.path("audible.svg")).getroot().itertext()))

    def test_a_sensor_that_was_moved(self):
        """Half the knocks before, half after two sensors were moved: one series, one place."""
        moved = {**SENSORS, "north-slab": (9, 4, 0), "coal-chute": (0, 5, 0)}
        self.samples = noise(20, len(SENSORS), rms=0.001, seed=7)
        for time_s, places in zip((8.0, 8.6, 9.2, 9.8), (SENSORS, SENSORS, moved, moved)):
            self.strike(time_s, places)
        self.session(changes=[{"from": 9.0, "channel": name, "position_m": at} for name, at in moved.items()])
        tables = self.tables()
        self.assert_refused(run("lull-locate", self.path("s.json"), *tables[:4], "--quiet"), 3, "were moved", "--events")
        result = run("lull-locate", self.path("s.json"), *tables)
        row = self.series_row(rows_of(result.stdout))
        self.assertLess(np.hypot(float(row["x_m"]) - SOURCE_AT[0], float(row["y_m"]) - SOURCE_AT[1]), 0.5)
        self.assertIn("7 of 7 arrivals agree", row["evidence"])


class Faults(Place):
    def refused(self, *words, channels=None, **more):
        self.session(channels, **more)
        self.assert_refused(run("lull-locate", self.path("s.json"), "--delays", self.path("d.csv")), 3, *words)

    def setUp(self):
        super().setUp()
        self.write("d.csv", "event,channel_a,channel_b,delay_s,sigma_s,correlation,usable",
                   "1,stairwell,north-slab,0.004000,0.000020,0.9,yes", "1,stairwell,lift-shaft,0.003000,0.000020,0.9,yes")
        self.channels = [{"name": name, "kind": "seismic", "track": track + 1, "position_m": at}
                         for track, (name, at) in enumerate(SENSORS.items())]

    def write(self, name, *lines):
        with open(self.path(name), "w", encoding="utf-8") as file:
            file.write("\n".join(lines) + "\n")

    def test_no_positions_and_one_sensor(self):
        bare = [{k: v for k, v in c.items() if k != "position_m"} for c in self.channels]
        self.refused("no channel has a position", "position_m", channels=bare)
        self.refused("only one channel has a position", channels=[self.channels[0], *bare[1:]])

    def test_two_sensors_at_one_place(self):
        self.channels[1]["position_m"] = self.channels[0]["position_m"]
        self.refused("stairwell and north-slab stand at the same place", channels=self.channels)

    def test_speeds_in_the_wrong_order(self):
        self.refused("propagation", "seismic_m_s", propagation={"seismic_m_s": [900, 300]})

    def test_impossible_delay(self):
        self.write("d.csv", "event,channel_a,channel_b,delay_s,sigma_s,correlation,usable",
                   "1,stairwell,north-slab,0.400000,0.000020,0.9,yes", "1,stairwell,lift-shaft,0.003000,0.000020,0.9,yes")
        result = run("lull-locate", self.path("s.json"), "--delays", self.path("d.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        lines = [line for line in result.stderr.splitlines() if "longer than" in line]
        self.assertEqual(len(lines), 1, result.stderr)
        self.assertIn("stairwell to north-slab", lines[0])
        row, = rows_of(result.stdout)
        self.assertEqual((row["shape"], row["x_m"], row["area90_m2"]), ("curve", "", ""))

    def test_an_event_that_one_table_lacks(self):
        self.write("r.csv", "event,rank,channel,peak_energy_db,snr_db,below_strongest_db,comparable,level_unit",
                   "2,1,stairwell,-20.0,20.0,0.0,yes,dB re full scale")
        result = run("lull-locate", self.path("s.json"), "--delays", self.path("d.csv"), "--ranking", self.path("r.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("not in the ranking: event 1", result.stderr)

    def test_millimetres_are_a_warning(self):
        for channel in self.channels:
            channel["position_m"] = [1000 * v for v in channel["position_m"]]
        self.session(self.channels)
        result = run("lull-locate", self.path("s.json"), "--delays", self.path("d.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("millimetres", result.stderr)

    def test_options(self):
        self.assertEqual(run("lull-locate", self.path("s.json")).returncode, 2)
        self.assertEqual(run("lull-locate", self.path("s.json"), "--delays", self.path("d.csv"), "--reach", "3").returncode, 2)


class Audible(Place):
    def test_a_quieter_floor_hears_more(self):
        shares = []
        for scale in (1.0, 0.1):
            self.samples = noise(30, len(SENSORS), rms=0.001 * scale, seed=3)
            self.session()
            self.assertEqual(run("lull-noise", self.path("s.json"), "-o", self.path("n.csv")).returncode, 0)
            result = run("lull-audibility", self.path("s.json"), "--noise", self.path("n.csv"), "--source", "knock", "--strength", "-70",
                         "--times", "3", "--picture", self.path("p.svg"))
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertIn("live listeners", result.stderr)
            self.assertIn("recall against SNR", result.stderr)
            rows = rows_of(result.stdout)
            self.assertEqual(len(rows), 36)
            self.assertEqual(rows[0]["cell"], "A1")
            self.assertIn("3 times", rows[0]["source"])
            shares.append(np.mean([float(row["probability"]) for row in rows]))
        self.assertGreater(shares[1], shares[0] + 0.1)
        text = "".join(ElementTree.parse(self.path("p.svg")).getroot().itertext())
        self.assertIn("live listeners", text)
        self.assertNotIn("clear", text)

    def test_states_the_ground_that_it_used(self):
        self.assertEqual(run("lull-noise", self.path("s.json"), "-o", self.path("n.csv")).returncode, 0)
        asked = ("lull-audibility", self.path("s.json"), "--noise", self.path("n.csv"), "--source", "knock", "--strength", "-70")
        channels = "3 to 4 channels" if len(SENSORS) < 5 else "5 to [0-9]+ channels"
        said = {ground: run(*asked, "--ground", ground).stderr for ground in ("any", "calm", "weather", "machines", "people")}
        for ground, text in said.items():
            self.assertRegex(text, f"made scenes, ({ground}|any) ground, {channels}")
        self.assertEqual(run(*asked, "--ground", "seabed").returncode, 2)

    def test_a_voice_needs_a_microphone(self):
        self.assertEqual(run("lull-noise", self.path("s.json"), "-o", self.path("n.csv")).returncode, 0)
        self.assert_refused(run("lull-audibility", self.path("s.json"), "--noise", self.path("n.csv"), "--source", "voice",
                                "--strength", "60", "--quiet"), 3, "air channel")


if __name__ == "__main__":
    main()
