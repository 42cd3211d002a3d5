#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Files for other programs, read back by independent readers: labels by Python's csv, places by Python's json and,
where it is installed, by GDAL; and finds.csv against the tables that it is made from."""
import csv
import json
import os
import shutil
import subprocess

from harness import SOURCE, Folder, main, run

DEMO = os.path.join(SOURCE, "data", "demo")
COLUMNS = ["find", "kind", "from_s", "to_s", "channel", "channels", "snr_db", "confidence", "events", "place",
           "evidence", "judged", "onset_clock"]


class Exports(Folder):
    def setUp(self):
        super().setUp()
        done = run("lull-review", os.path.join(DEMO, "session.json"), "-o", self.path("out"), "--quiet",
                   "--log", os.path.join(DEMO, "log.csv"))
        self.assertEqual(done.returncode, 0, done.stderr)

    def rows(self, name):
        with open(self.path("out", name), newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def test_every_listed_event_is_in_one_find_or_a_hail(self):
        finds, events = self.rows("finds.csv"), self.rows("events.csv")
        self.assertEqual(list(finds[0]), COLUMNS)
        self.assertEqual([row["find"] for row in finds], [str(n + 1) for n in range(len(finds))])
        held = sorted(int(number) for row in finds for number in row["events"].split(";"))
        self.assertEqual(held, sorted(int(row["event"]) for row in events if not row["hail"]))
        of = {row["event"]: row for row in events}
        for find in finds:
            own = [of[number] for number in find["events"].split(";")]
            self.assertEqual(float(find["from_s"]), min(float(row["onset_s"]) for row in own))
            self.assertEqual(float(find["to_s"]), max(float(row["end_s"]) for row in own))
            self.assertGreaterEqual(float(find["confidence"]), max(float(row["confidence"]) for row in own))
        for series in self.rows("series.csv"):
            of_series = {row["event"] for row in events if row["series"] == series["series"] and not row["hail"]}
            if of_series:
                self.assertEqual(len([f for f in finds if of_series & set(f["events"].split(";"))]), 1)

    def test_evidence_has_codes_and_figures(self):
        for find in self.rows("finds.csv"):
            codes = dict(part.split("=") if "=" in part else (part, "") for part in find["evidence"].split(";"))
            self.assertEqual(int(codes["channels"]), len(find["channels"].split(";")))
            if "taps" in codes:
                self.assertEqual(int(codes["taps"]), len(find["events"].split(";")))

    def test_labels_are_read_back(self):
        with open(self.path("out", "finds.labels.txt"), newline="", encoding="utf-8") as file:
            labels = list(csv.reader(file, delimiter="\t"))
        finds = sorted(self.rows("finds.csv"), key=lambda row: float(row["from_s"]))
        self.assertEqual([(float(begin), float(end)) for begin, end, _ in labels],
                         [(float(row["from_s"]), float(row["to_s"])) for row in finds])
        for (_, _, label), row in zip(labels, finds):
            self.assertTrue(label.startswith(f"{row['find']} {row['kind']} "), label)

    def test_places_are_read_back(self):
        path = self.path("out", "places.geojson")
        located = {row["event"]: row for row in self.rows("locations.csv")}
        with open(path, encoding="utf-8") as file:
            features = json.load(file)["features"]
        points = {f["properties"]["source"]: f["geometry"]["coordinates"] for f in features
                  if f["geometry"]["type"] == "Point"}
        self.assertEqual(set(points), {name for name, row in located.items() if row["x_m"]})
        for name, (x, y) in points.items():
            self.assertAlmostEqual(x, float(located[name]["x_m"]), delta=0.011)
            self.assertAlmostEqual(y, float(located[name]["y_m"]), delta=0.011)
        areas = [f for f in features if f["geometry"]["type"] == "MultiPolygon"]
        self.assertTrue(areas)
        for area in areas:
            for polygon in area["geometry"]["coordinates"]:
                for ring in polygon:
                    self.assertEqual(ring[0], ring[-1], "RFC 7946: a ring is closed")
                    self.assertGreaterEqual(len(ring), 4)
        if shutil.which("ogrinfo"):
            read = subprocess.run(["ogrinfo", "-al", "-so", path], capture_output=True, text=True, check=True).stdout
            self.assertIn(f"Feature Count: {len(features)}", read)


if __name__ == "__main__":
    main()
