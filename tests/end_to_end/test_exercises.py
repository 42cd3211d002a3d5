#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""lull-exercise by the real executable: what the trainee's folder reveals, the shipped plans, a user's own speech
file, a sensor that is moved."""
import glob
import json
import os
import shutil
import struct
import sys
import unittest

try:
    import jsonschema
    from scipy import signal
    from scipy.io import wavfile
except ImportError:
    print("SKIPPED: jsonschema or scipy is not installed (python3-jsonschema, python3-scipy)")
    sys.exit(77)

from harness import SOURCE, Folder, main, np, rows_of, run, tool, write_json

if not os.path.exists(tool("lull-exercise")):
    print("SKIPPED: lull-exercise is not built")
    sys.exit(77)

PROMPTS = (sorted(glob.glob("/usr/share/sounds/alsa/Front_Center.wav"))
           + sorted(glob.glob("/usr/share/asterisk/sounds/en/vm-goodbye.wav")))
BAND = signal.butter(4, [60, 2000], "bandpass", fs=16000, output="sos")
LOW_RATE = 4000
SNR_TOLERANCE_DB = 0.5  # what the plan promises


def validator(name):
    with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
        return jsonschema.Draft202012Validator(json.load(file))


def read(*parts):
    with open(os.path.join(*parts), encoding="utf-8", newline="") as file:
        return file.read()


def chunks_of(path):
    """The chunks of a RIFF file, read independently: name -> bytes."""
    with open(path, "rb") as file:
        data = file.read()
    found, at = {}, 12
    while at + 8 <= len(data):
        name, size = data[at:at + 4], struct.unpack("<I", data[at + 4:at + 8])[0]
        found[name] = data[at + 8:at + 8 + size]
        at += 8 + size + size % 2
    return found


def bare_plan(**more):
    """Two sensors 5 m apart and a microphone, steady noise of two third octaves, no reverberation."""
    plan = {
        "format": "lull-plan", "version": 1, "label": "Tool shed", "duration_s": 40, "rate_hz": 16000, "seed": 5,
        "medium": {"structure": {"speed_m_s": 800, "quality": 0, "tail_decay_s": 0}, "air": {"tail_decay_s": 0}},
        "channels": [{"name": "stairwell", "kind": "seismic", "position_m": [5, 0, 0]},
                     {"name": "north-slab", "kind": "seismic", "position_m": [10, 0, 0]},
                     {"name": "void-mic", "kind": "air", "position_m": [2, 0, 0]}],
        "site": [{"kind": "ambient", "level_db": -60}], "events": []}
    plan.update(more)
    return plan


class Exercises(Folder):
    def make(self, plan, name, *options):
        result = run("lull-exercise", plan, "-o", self.path(name), *options)
        self.assertEqual(result.returncode, 0, result.stderr)
        return self.path(name)

    def made(self, plan, name="out", *options):
        write_json(self.path("plan.json"), plan)
        self.assertEqual([f.message for f in validator("plan").iter_errors(plan)], [])
        return self.make(self.path("plan.json"), name, *options)


class ReadyPlans(Exercises):
    def test_the_trainee_folder_reveals_nothing(self):
        allowed = {"recording.wav", "recording.flac", "session.json", "sheet.csv", "READ-FIRST.txt"}
        plans = sorted(glob.glob(os.path.join(SOURCE, "data", "plans", "*.json")))
        self.assertGreaterEqual(len(plans), 5)
        for plan in plans:
            with self.subTest(os.path.basename(plan)):
                description, name = json.loads(read(plan)), os.path.basename(plan)[:-5]
                self.assertEqual([f.message for f in validator("plan").iter_errors(description)], [])
                if name == "first-light":
                    folder = self.make(plan, name)
                else:  # the text does not depend on the rate
                    folder = self.made(dict(description, rate_hz=LOW_RATE), name)
                trainee = os.path.join(folder, "trainee")
                self.assertLessEqual(set(os.listdir(trainee)), allowed)
                session = json.loads(read(trainee, "session.json"))
                self.assertEqual([f.message for f in validator("session").iter_errors(session)], [])
                self.assertTrue(session["exercise"])
                self.assertEqual(read(trainee, "sheet.csv"), "time,kind,channel,x_m,y_m,note\r\n")
                told = read(trainee, "session.json").lower()
                for word in ("seed", "knock", "cry", "scream", "horn", "contact", "fault", "snr", "hum", "drift",
                             "difficult", "quiet"):
                    self.assertNotIn(word, told)
                truth = rows_of(read(folder, "instructor", "truth.csv"))
                self.assertGreater(len(truth), 0)
                self.assertNotIn("not reached", read(folder, "instructor", "truth.csv"))

    def test_sizes_and_metadata_do_not_depend_on_the_events(self):
        plan = json.loads(read(SOURCE, "data", "plans", "first-light.json"))
        plan["duration_s"], empty = 60, dict(plan, events=[])
        for event in plan["events"]:
            if isinstance(event["time_s"], list):
                event["time_s"] = [28, 55]
        plan["events"].append(dict(plan["events"][-1], kind="scream", repeat=1))
        plan["duration_s"] = empty["duration_s"] = 60
        full, nobody = self.made(plan, "full"), self.made(empty, "empty", "--seed", 9)
        for name in ("recording.wav", "sheet.csv", "READ-FIRST.txt"):
            sizes = [os.path.getsize(os.path.join(folder, "trainee", name)) for folder in (full, nobody)]
            self.assertEqual(sizes[0], sizes[1], name)
        one, other = (chunks_of(os.path.join(folder, "trainee", "recording.wav")) for folder in (full, nobody))
        self.assertEqual(list(one), list(other))
        for name in one:
            if name != b"data":
                self.assertEqual(one[name], other[name], name)
        self.assertIn(b"EXERCISE", one[b"bext"])
        self.assertIn("WARNING", read(full, "instructor", "notes.txt"))
        self.assertNotIn("WARNING", read(nobody, "instructor", "notes.txt"))

    def test_seed_and_variants(self):
        plan = bare_plan(events=[{"kind": ["knocks", "call"], "repeat": 4, "time_s": [3, 36],
                                  "position_m": [[1, 12], [0, 8], -1], "snr_db": [8, 20]}])
        one, same = self.made(plan, "one", "--seed", 7), self.made(plan, "same", "--seed", 7)
        for name in ("trainee/recording.wav", "trainee/session.json", "instructor/truth.csv"):
            with open(os.path.join(one, name), "rb") as a, open(os.path.join(same, name), "rb") as b:
                self.assertEqual(a.read(), b.read(), name)
        folder = self.made(plan, "many", "--variants", 3)
        hard = []
        for variant in (1, 2, 3):
            truth = rows_of(read(folder, f"variant-{variant}", "instructor", "truth.csv"))
            hard.append(sorted((row["kind"], row["snr_db"]) for row in truth))
        self.assertEqual(hard[0], hard[1])
        self.assertEqual(hard[0], hard[2])


class SpeechFile(Exercises):
    @unittest.skipUnless(PROMPTS, "no spoken prompt: alsa-utils or asterisk-core-sounds-en-wav")
    def test_a_users_own_speech(self):
        """The prompt has the time and level of the truth, and its words are unchanged."""
        for prompt in PROMPTS:
            with self.subTest(prompt):
                rate, words = wavfile.read(prompt)
                words = signal.resample_poly(words.astype(float), 16000, rate)
                shutil.copy(prompt, self.path("words.wav"))
                folder = self.made(bare_plan(events=[
                    {"kind": "speech", "file": "words.wav", "time_s": 15, "position_m": [0, 0, 0], "snr_db": 20}]))
                truth = rows_of(read(folder, "instructor", "truth.csv"))
                self.assertEqual([row["kind"] for row in truth], ["voice-like"])
                self.assertEqual(truth[0]["channel"], "void-mic")
                self.assertAlmostEqual(float(truth[0]["snr_db"]), 20, delta=SNR_TOLERANCE_DB)
                rate, made = wavfile.read(os.path.join(folder, "trainee", "recording.wav"))
                heard = made[14 * rate:25 * rate, 2] / 32768.0
                # Both in the analysis band, since noise outside it does not count for the 20 dB.
                words, heard = signal.sosfilt(BAND, words), signal.sosfilt(BAND, heard)
                match = signal.correlate(heard, words, mode="full")
                loud = heard[rate - 800:rate + len(words) + 800]
                scale = np.sqrt(np.sum(words ** 2) * np.sum(loud ** 2))
                self.assertGreater(np.max(np.abs(match)) / scale, 0.9)
                self.assertSnr(made[:, 2] / 32768.0, truth[0])

    def assertSnr(self, samples, row):
        """By definition: mean power of the louder half of the event's segments of 50 ms over the floor, in the
        band; filter by
        SciPy."""
        power = signal.sosfiltfilt(BAND, samples) ** 2  # twice: a little narrower than once
        floor = np.mean(power[2 * 16000:13 * 16000])
        event = power[int(float(row["time_s"]) * 16000):int(float(row["end_s"]) * 16000)]
        pieces = np.sort(event[:len(event) // 800 * 800].reshape(-1, 800).mean(axis=1))
        level = pieces[len(pieces) // 2:].mean()
        self.assertAlmostEqual(10 * np.log10(level / floor), float(row["snr_db"]), delta=2 * SNR_TOLERANCE_DB)

    def test_a_file_that_is_no_audio(self):
        write_json(self.path("plan.json"), bare_plan(events=[
            {"kind": "speech", "file": "nothing.wav", "time_s": 15, "position_m": [0, 0, 0], "snr_db": 20}]))
        result = run("lull-exercise", self.path("plan.json"), "-o", self.path("out"))
        self.assert_refused(result, 3, "nothing.wav")
        self.assertFalse(os.path.exists(self.path("out")))


class MovedSensor(Exercises):
    def test_the_delay_changes_and_the_session_states_it(self):
        knock = {"kind": "knocks", "count": 1, "position_m": [0, 0, 0], "snr_db": 35}
        folder = self.made(bare_plan(
            changes=[{"from_s": 20, "channel": "north-slab", "position_m": [0, 21, 0]}],
            events=[dict(knock, time_s=10), dict(knock, time_s=30)]))
        session = json.loads(read(folder, "trainee", "session.json"))
        self.assertEqual([f.message for f in validator("session").iter_errors(session)], [])
        self.assertEqual(session["changes"], [{"from": 20.0, "channel": "north-slab", "position_m": [0.0, 21.0, 0.0]}])
        self.assertIn("handling,north-slab", read(folder, "instructor", "surroundings.csv"))
        rate, made = wavfile.read(os.path.join(folder, "trainee", "recording.wav"))
        for time_s, metres in ((10, 10 - 5), (30, 21 - 5)):
            cut = made[int((time_s - 0.1) * rate):int((time_s + 0.3) * rate)].astype(float)
            match = signal.correlate(cut[:, 1], cut[:, 0], mode="full")
            lag = np.argmax(np.abs(match)) - (len(cut) - 1)
            self.assertAlmostEqual(lag / rate, metres / 800, delta=2 / rate)  # frames of noise and rounding
        with open(os.path.join(folder, "instructor", "truth.csv"), encoding="utf-8") as file:
            self.assertEqual(len(file.readlines()), 3)


if __name__ == "__main__":
    main()
