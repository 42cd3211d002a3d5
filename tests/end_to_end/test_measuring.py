#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Levels through the whole chain: from the samples of a file to the number in a table."""
import json
import math
import os
import shutil
import subprocess
import unittest
from xml.etree import ElementTree

from harness import SOURCE, Folder, add_at, knock, main, noise, np, rows_of, run, write_json, write_wav

RATE = 16000
CHAIN_DB = 0.05   # what 24 bits over 20 s allow through the whole chain
PASCAL_DB = 93.98  # 1 Pa rms re 20 uPa, ISO 1683:2015: 20 log10(1/20e-6)


def tone(hz, rms, seconds=20, rate=RATE):
    return rms * math.sqrt(2.0) * np.sin(2 * np.pi * hz * np.arange(int(seconds * rate)) / rate)


def microphone(name, track, **more):
    """0.05 V/Pa into a recorder of 4 V full scale after 20 dB of gain: 1 Pa rms is 0.125 of full scale."""
    return {"name": name, "kind": "air", "track": track, "sensitivity": {"value": 0.05, "unit": "V/Pa"},
            "full_scale_V": 4.0, "gain_dB": 20.0, **more}


class Levels(Folder):
    def session(self, samples, channels, rate=RATE, **more):
        write_wav(self.path("a.wav"), samples, rate=rate, bits=24)
        write_json(self.path("s.json"), {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                                         "channels": channels, **more})
        return self.path("s.json")

    def table(self, name, *arguments):
        result = run(name, *arguments)
        self.assertEqual(result.returncode, 0, result.stderr)
        return rows_of(result.stdout)

    def band(self, session, channel, hz, *options):
        rows = [r for r in self.table("lull-noise", session, *options) if r["channel"] == channel]
        nearest = min({float(r["band_hz"]) for r in rows}, key=lambda f: abs(math.log(f / hz)))
        return [r for r in rows if float(r["band_hz"]) == nearest]

    def test_pascal_and_geophone(self):
        # The geophone: 28.8 V/(m/s), 2 V full scale, no gain. 10 um/s rms is 80 dB re 1 nm/s.
        speed = 10e-6
        session = self.session(np.stack([tone(1000, 0.125), tone(80, speed * 28.8 / 2.0), tone(200, 0.1)], axis=1), [
            microphone("void-mic", 1),
            {"name": "stairwell", "kind": "seismic", "track": 2, "full_scale_V": 2.0,
             "sensitivity": {"value": 28.8, "unit": "V/(m/s)"}},
            {"name": "bare", "kind": "seismic", "track": 3}])
        channels = self.table("lull-inspect", session)
        for row, level_db, unit in zip(channels, (PASCAL_DB, 80.0, -20.0),
                                       ("dB re 20 µPa", "dB re 1 nm/s", "dB re full scale")):
            self.assertEqual(row["level_unit"], unit)
            self.assertAlmostEqual(float(row["rms_db"]), level_db, delta=CHAIN_DB)
            self.assertAlmostEqual(float(row["peak_db"]), level_db + 3.01, delta=CHAIN_DB)
        # The weighting is 0 dB at 1 kHz; other kinds of channel have no weighted level.
        self.assertAlmostEqual(float(channels[0]["level_a_db"]), PASCAL_DB, delta=CHAIN_DB)
        self.assertEqual([channels[1]["level_a_db"], channels[2]["level_a_db"]], ["", ""])
        for channel, hz, level_db in (("void-mic", 1000, PASCAL_DB), ("stairwell", 80, 80.0), ("bare", 200, -20.0)):
            row, = self.band(session, channel, hz)
            for column in ("level_db", "median_db", "floor_db"):
                self.assertAlmostEqual(float(row[column]), level_db, delta=CHAIN_DB, msg=f"{channel} {column}")

    def test_gain_changed_during_the_session(self):
        """Half-way the gain changes from 20 to 40 dB and back by 26. The pressure was always 0.01 Pa rms
        (53.98 dB)."""
        samples = tone(1000, 0.00125, 60)
        samples[int(20.3 * RATE):int(41.7 * RATE)] *= 10 ** (20 / 20)
        samples[int(41.7 * RATE):] *= 10 ** (-6 / 20)
        session = self.session(samples[:, None], [microphone("void-mic", 1)], changes=[
            {"from": 20.3, "channel": "void-mic", "gain_dB": 40.0},
            {"from": 41.7, "channel": "void-mic", "gain_dB": 14.0}])
        row, = self.table("lull-inspect", session)
        for column, level_db in (("rms_db", 53.98), ("level_a_db", 53.98), ("peak_db", 56.99)):
            self.assertAlmostEqual(float(row[column]), level_db, delta=CHAIN_DB, msg=column)
        self.assertAlmostEqual(float(row["floor_db"]), 53.98, delta=CHAIN_DB)
        self.assertEqual(row["fitness"], "fit", row["why"])  # 26 dB less gain is not a disconnected sensor
        row, = self.band(session, "void-mic", 1000)
        for column in ("level_db", "median_db", "floor_db"):
            self.assertAlmostEqual(float(row[column]), 53.98, delta=CHAIN_DB, msg=column)
        for row in self.band(session, "void-mic", 1000, "--every", "10"):
            for column in ("level_db", "median_db", "floor_db"):
                self.assertAlmostEqual(float(row[column]), 53.98, delta=CHAIN_DB, msg=row["from_s"] + column)
        # From a time after the change, levels use the gain of that time.
        row, = self.table("lull-inspect", session, "--from", "50")
        self.assertAlmostEqual(float(row["rms_db"]), 53.98, delta=CHAIN_DB)
        # Without the changes in the session the same file gives too high levels, so the test can fail.
        other = self.session(samples[:, None], [microphone("void-mic", 1)])
        row, = self.table("lull-inspect", other)
        self.assertGreater(float(row["rms_db"]), 60.0)

    def test_an_event_after_a_change_of_gain(self):
        """One knock before and one after the gain was raised by 12 dB: the same physical level."""
        samples = noise(40, 1, rms=0.0005, seed=4)
        for time_s in (10.0, 30.0):
            add_at(samples, 0, time_s, knock(RATE), 0.05)
        samples[20 * RATE:] *= 10 ** (12 / 20)
        session = self.session(samples, [microphone("void-mic", 1)],
                               changes=[{"from": 20.0, "channel": "void-mic", "gain_dB": 32.0}])
        events = [r for r in self.table("lull-detect", session) if float(r["confidence"]) >= 0.5
                  or float(r["snr_db"]) > 15]
        near = {t: [r for r in events if abs(float(r["onset_s"]) - t) < 0.1] for t in (10.0, 30.0)}
        self.assertEqual([len(near[10.0]), len(near[30.0])], [1, 1], events)
        # 1 dB: noise adds to a single largest sample.
        self.assertAlmostEqual(float(near[10.0][0]["peak_db"]), float(near[30.0][0]["peak_db"]), delta=1.0)

    def test_a_weighting_of_table_3(self):
        """IEC 61672-1:2013 Table 3, at the exact base-ten frequencies; it prints tenths of a decibel."""
        printed = {31.5: -39.4, 63: -26.2, 125: -16.1, 250: -8.6, 500: -3.2, 1000: 0.0, 2000: 1.2, 4000: 1.0, 8000: -1.1}
        exact = [1000 * 10 ** (0.3 * (k - 5)) for k in range(9)]
        rate = 48000
        samples = np.stack([tone(hz, 0.125, 8, rate) for hz in exact], axis=1)
        session = self.session(samples, [microphone(f"mic-{k}", k + 1) for k in range(9)], rate=rate)
        for row, (nominal, weight_db) in zip(self.table("lull-inspect", session), printed.items()):
            self.assertAlmostEqual(float(row["level_a_db"]), PASCAL_DB + weight_db, delta=0.05 + CHAIN_DB, msg=nominal)


class Filter(Folder):
    def read(self, path):
        """Samples by SoX, independent of our code."""
        if shutil.which("sox") is None:
            self.skipTest("SoX is not installed")
        raw = subprocess.run(["sox", path, "-t", "f32", "-"], capture_output=True, check=True).stdout
        return np.frombuffer(raw, "<f4").astype(float)

    def filtered(self, out, *options):
        result = run("lull-filter", self.path("a.wav"), "-o", self.path(out), *options)
        self.assertEqual(result.returncode, 0, result.stderr)
        return self.read(self.path(out)), result.stderr

    def test_hum_is_removed_and_a_knock_stays(self):
        t = np.arange(40 * RATE) / RATE
        turns = 49.95 * t + 0.5 * 0.002 * t * t  # drifts by 0.08 Hz in 40 s
        hum = sum(a * np.sin(2 * np.pi * h * turns) for h, a in ((1, 0.05), (2, 0.01), (3, 0.03), (7, 0.01)))
        rest = noise(40, 1, rms=0.001, seed=8)
        add_at(rest, 0, 20.0, knock(RATE), 0.5)
        write_wav(self.path("a.wav"), rest[:, 0] + hum, bits=24)
        out, _ = self.filtered("out.wav", "--remove-hum")
        left = out - rest[:, 0]
        inner = slice(RATE, -RATE)
        self.assertLess(10 * np.log10(np.mean(left[inner] ** 2) / np.mean(hum[inner] ** 2)), -20)
        # Round the knock the residual is not larger than elsewhere, except for 1 % of the knock: nothing rings.
        self.assertLess(np.max(np.abs(left[int(19.5 * RATE):int(21 * RATE)])), 0.005)

    def test_format_and_clipping(self):
        write_wav(self.path("a.wav"), tone(300, 0.25, 5), bits=16)
        for out, options, info in (("a16.wav", [], "16"), ("b24.wav", ["--format", "24"], "24"),
                                   ("c.wav", ["--format", "float"], "32")):
            _, said = self.filtered(out, *options)
            bits = subprocess.run(["soxi", "-p" if info == "32" else "-b", self.path(out)], capture_output=True, text=True).stdout
            if info != "32":
                self.assertEqual(bits.strip(), info)
            self.assertNotIn("full scale", said)
        loud, said = self.filtered("loud.wav", "--gain", "12")
        beyond = int(np.sum(np.abs(np.round(tone(300, 0.25, 5) * 32768) / 32768 * 10 ** (12 / 20)) > 1.0))
        self.assertIn(f"{beyond} samples", said)
        self.assertLessEqual(np.max(np.abs(loud)), 1.0)

    def test_start_and_mark_are_kept(self):
        demo = os.path.join(SOURCE, "data", "demo", "session.json")
        result = run("lull-filter", demo, "-o", self.path("out.wav"), "--remove-hum", "--zero-phase", "--band", "60-2000",
                     "--from", "10", "--to", "40")
        self.assertEqual(result.returncode, 0, result.stderr)
        again = run("lull-inspect", self.path("out.wav"), "--format", "json")
        told = json.loads(again.stdout)
        self.assertTrue(told["exercise"])
        self.assertIn("02:10:10", json.dumps(told["start"]))


class Pictures(Folder):
    def test_pictures_are_svg_with_units(self):
        demo = os.path.join(SOURCE, "data", "demo", "session.json")
        for name, words in (("lull-noise", ("Hz", "dB re full scale", "stairwell")), ("lull-inspect", ("m:ss", "stairwell: "))):
            result = run(name, demo, "--picture", self.path("p.svg"))
            self.assertEqual(result.returncode, 0, result.stderr)
            text = "".join(ElementTree.parse(self.path("p.svg")).getroot().itertext())
            for word in words:
                self.assertIn(word, text, name)


class Demo(Folder):
    def test_the_ordered_quiet_is_found(self):
        """Ordered from 18 s, stopped by 20 s, generator on again at 82 s: data/demo/README.md."""
        demo = os.path.join(SOURCE, "data", "demo", "session.json")
        result = run("lull-noise", demo, "--quiet-periods", self.path("q.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("q.csv"), encoding="utf-8") as file:
            row, = rows_of(file.read())
        self.assertAlmostEqual(float(row["from_s"]), 19.0, delta=1.5)
        self.assertAlmostEqual(float(row["to_s"]), 82.0, delta=1.5)


if __name__ == "__main__":
    main()
