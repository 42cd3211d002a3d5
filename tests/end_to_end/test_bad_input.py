#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bad input: one line that says what is wrong and what would be right, and the right status."""
import os
import signal
import stat
import subprocess
import time
import unittest

from harness import (Folder, add_at, knock, main, noise, np, run, tool, write_float_wav, write_json,
                     write_raw_wav, write_wav)

TABLE_TOOLS = ["lull-inspect", "lull-noise", "lull-detect"]


class BadAudio(Folder):
    def refuse(self, path, status, *words, tools=("lull-detect",)):
        for name in tools:
            self.assert_refused(run(name, "--quiet", path), status, name + ":", *words)

    def test_missing_file(self):
        self.refuse(self.path("gone.wav"), 3, "gone.wav", "No such file", tools=TABLE_TOOLS)

    def test_folder(self):
        self.refuse(self.folder, 3, "folder")

    def test_text_named_wav(self):
        with open(self.path("a.wav"), "w") as file:
            file.write("this is a letter\n" * 50)
        self.refuse(self.path("a.wav"), 3, "a.wav")

    def test_truncated_header(self):
        write_wav(self.path("a.wav"), noise(1, 1))
        with open(self.path("a.wav"), "r+b") as file:
            file.truncate(30)
        self.refuse(self.path("a.wav"), 3, "a.wav")

    def test_empty_file(self):
        open(self.path("a.wav"), "w").close()
        self.refuse(self.path("a.wav"), 3, "a.wav")

    def test_no_channels_no_rate_no_frames(self):
        write_raw_wav(self.path("c.wav"), b"\0" * 3200, 0, 16000, 16)
        self.refuse(self.path("c.wav"), 3, "c.wav")
        write_raw_wav(self.path("r.wav"), b"\0" * 3200, 1, 0, 16)
        self.refuse(self.path("r.wav"), 3, "r.wav")
        write_raw_wav(self.path("f.wav"), b"", 1, 16000, 16)
        self.refuse(self.path("f.wav"), 3, "f.wav", "frames")

    def test_header_promises_ten_times_too_much(self):
        data = (noise(5, 1) * 32768).astype("<i2").tobytes()
        write_raw_wav(self.path("a.wav"), data, 1, 16000, 16, promised=10 * len(data))
        result = run("lull-inspect", self.path("a.wav"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("800000", result.stderr)  # promised
        self.assertIn("80000", result.stderr)   # read
        self.assertIn("5.000000", result.stdout)

    def test_cut_off_in_mid_frame(self):
        write_wav(self.path("a.wav"), noise(5, 3), bits=24)
        with open(self.path("a.wav"), "r+b") as file:
            file.truncate(44 + 9 * 40000 + 5)
        result = run("lull-inspect", self.path("a.wav"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("2.500000", result.stdout)

    def test_silence_is_no_event_and_no_number(self):
        write_wav(self.path("a.wav"), np.zeros((160000, 2)))
        result = run("lull-detect", self.path("a.wav"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual(len(result.stdout.splitlines()), 1)
        result = run("lull-inspect", self.path("a.wav"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("unfit", result.stdout)
        self.assertNotIn("nan", result.stdout.lower())
        self.assertNotIn("inf,", result.stdout.lower())

    def test_all_not_a_number(self):
        write_float_wav(self.path("a.wav"), np.full((80000, 1), np.nan))
        for name in TABLE_TOOLS:
            result = run(name, self.path("a.wav"))
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertNotIn("nan", result.stdout.lower().replace("ch1", ""))

    def test_some_not_a_number_does_not_spread(self):
        samples = noise(20, 1).astype(np.float32)
        samples[160000:160010] = np.inf
        write_float_wav(self.path("a.wav"), samples)
        result = run("lull-inspect", self.path("a.wav"), "--findings", self.path("f.csv"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("f.csv")) as file:
            self.assertIn("10.0", file.read())
        self.assertEqual(len(run("lull-detect", self.path("a.wav")).stdout.splitlines()), 1)

    def test_one_sample(self):
        write_wav(self.path("a.wav"), np.array([[0.5]]))
        for name in TABLE_TOOLS:
            self.assertEqual(run(name, self.path("a.wav")).returncode, 0)


class BadOptions(Folder):
    def setUp(self):
        super().setUp()
        self.wav = self.path("a.wav")
        write_wav(self.wav, noise(3, 2))

    def test_band(self):
        for band, word in (("100-9000", "8000"), ("2000-100", "band"), ("0-100", "band"), ("100", "LO-HI"),
                           ("100-200x", "LO-HI")):
            self.assert_refused(run("lull-detect", "--quiet", self.wav, "--band", band), 2, word)

    def test_numbers_with_trailing_rubbish(self):
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--jobs", "2x"), 2, "jobs")
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--from", "1s2"), 2, "1s2")

    def test_unknown_channel(self):
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--channels", "ch3"), 2, "ch3", "ch1")

    def test_from_after_to(self):
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--from", 2, "--to", 1), 2, "--from")

    def test_clock_time_without_a_start(self):
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--from", "02:10:00"), 2, "start")


class BadSession(Folder):
    def setUp(self):
        super().setUp()
        write_wav(self.path("a.wav"), noise(3, 2))
        self.good = {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                     "channels": [{"name": "stairwell", "kind": "seismic", "track": 1},
                                  {"name": "north-slab", "kind": "air", "track": 2}]}

    def refuse(self, change, *words):
        session = {**self.good, "channels": [dict(channel) for channel in self.good["channels"]]}
        change(session)
        write_json(self.path("s.json"), session)
        self.assert_refused(run("lull-detect", "--quiet", self.path("s.json")), 3, "s.json", *words)

    def test_the_good_one_works(self):
        write_json(self.path("s.json"), self.good)
        result = run("lull-inspect", self.path("s.json"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("north-slab", result.stdout)

    def test_faults(self):
        self.refuse(lambda s: s.update(recordings=[{"file": "b.wav"}]), "b.wav")
        self.refuse(lambda s: s["channels"][1].update(track=3), "track")
        self.refuse(lambda s: s["channels"][1].update(name="stairwell"), "stairwell")
        self.refuse(lambda s: s["channels"][1].update(polarty=1), "polarty", "polarity")
        self.refuse(lambda s: s["channels"][1].update(track="two"), "track")
        self.refuse(lambda s: s["channels"][1].update(position_m=[1, 2]), "position_m")
        self.refuse(lambda s: s["channels"][1].pop("kind"), "kind")
        self.refuse(lambda s: s.update(version=2), "version")
        self.refuse(lambda s: s.update(recordings=[{"file": "../a.wav"}]), "--allow-outside")

    def test_not_json(self):
        with open(self.path("s.json"), "w") as file:
            file.write('{"format": "lull-session",\n "version": 1,,}')
        self.assert_refused(run("lull-detect", "--quiet", self.path("s.json")), 3, "s.json", "line 2")

    def test_a_number_beyond_all_numbers(self):
        with open(self.path("s.json"), "w") as file:
            file.write('{"format": "lull-session",\n "version": 1e999}\n')
        self.assert_refused(run("lull-detect", "--quiet", self.path("s.json")), 3, "s.json", "line 2", "1e999")

    def test_channels_of_different_rates(self):
        write_wav(self.path("b.wav"), noise(3, 1, rate=8000), rate=8000)
        session = {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}, {"file": "b.wav"}],
                   "channels": [{"name": "one", "kind": "seismic", "track": 1, "recording": 1},
                                {"name": "two", "kind": "seismic", "track": 1, "recording": 2}]}
        write_json(self.path("s.json"), session)
        self.assert_refused(run("lull-detect", "--quiet", self.path("s.json")), 3, "16000", "8000")


class BadEvents(Folder):
    HEAD = "event,kind,onset_s,end_s,channel,channels\n"

    def setUp(self):
        super().setUp()
        samples = noise(8, 2)
        for channel in (0, 1):
            add_at(samples, channel, 2.0, knock(16000), 0.2)
        write_wav(self.path("a.wav"), samples)

    def refuse(self, text, *words):
        with open(self.path("e.csv"), "w") as file:
            file.write(text)
        for name in ("lull-rank", "lull-delay"):
            self.assert_refused(run(name, "--quiet", self.path("a.wav"), "--events", self.path("e.csv")), 3,
                                "e.csv", *words)

    def test_bad_number_in_line_7(self):
        rows = ["%d,tapping,2.0,2.2,ch1,ch1;ch2\n" % n for n in range(1, 6)]
        self.refuse(self.HEAD + "".join(rows) + "6,tapping,2.x,2.2,ch1,ch1\n", "line 7", "onset_s")

    def test_missing_columns(self):
        self.refuse("event,kind\n1,tapping\n", "onset_s")

    def test_time_outside(self):
        self.refuse(self.HEAD + "1,tapping,200.0,200.2,ch1,ch1\n", "line 2", "onset_s")

    def test_unknown_channel(self):
        self.refuse(self.HEAD + "1,tapping,2.0,2.2,cellar,cellar\n", "line 2", "cellar")

    def test_empty_file(self):
        self.refuse("", "header")


class BadOutput(Folder):
    def setUp(self):
        super().setUp()
        self.wav = self.path("a.wav")
        samples = noise(6, 2)
        add_at(samples, 0, 2.0, knock(16000), 0.3)
        write_wav(self.wav, samples)

    def test_someone_elses_folder(self):
        os.mkdir(self.path("out"))
        with open(self.path("out", "letter.txt"), "w") as file:
            file.write("keep me")
        self.assert_refused(run("lull-review", "--quiet", self.wav, "-o", self.path("out")), 1, "out")
        self.assertEqual(os.listdir(self.path("out")), ["letter.txt"])

    def test_own_folder_is_replaced_whole(self):
        for _ in range(2):
            result = run("lull-review", "--quiet", self.wav, "-o", self.path("out"))
            self.assertEqual(result.returncode, 0, result.stderr)
            with open(self.path("out", "excerpts", "stale.wav"), "w") as file:
                file.write("old")
        run("lull-review", "--quiet", self.wav, "-o", self.path("out"))
        self.assertFalse(os.path.exists(self.path("out", "excerpts", "stale.wav")))

    def test_full_device(self):
        with open("/dev/full", "wb") as full:
            process = subprocess.run([tool("lull-inspect"), "--quiet", self.wav], stdout=full,
                                     stderr=subprocess.PIPE, text=True)
        self.assertEqual(process.returncode, 1, process.stderr)
        self.assertIn("No space left", process.stderr)

    def test_full_file_system(self):
        if os.geteuid() != 0:
            self.skipTest("only root may mount a small file system")
        small = self.path("small")
        os.mkdir(small)
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", small], capture_output=True)
        if mounted.returncode != 0:
            self.skipTest("no small file system can be mounted here")
        self.addCleanup(subprocess.run, ["umount", small])
        for name, target in (("lull-review", "out"), ("lull-filter", "out.wav")):
            result = run(name, "--quiet", self.wav, "-o", os.path.join(small, target))
            self.assert_refused(result, 1, name, "No space left on device")
            self.assertEqual(os.listdir(small), [], "something half-written was left")

    def test_output_equal_to_input(self):
        with open(self.wav, "rb") as file:
            before = file.read()
        self.assert_refused(run("lull-filter", "--quiet", self.wav, "-o", self.wav), 2, "a.wav")
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "-o", self.wav), 2, "a.wav")
        with open(self.wav, "rb") as file:
            self.assertEqual(before, file.read())

    def test_unwritable_folder(self):
        if os.geteuid() == 0:
            self.skipTest("root may write everywhere")
        os.chmod(self.folder, stat.S_IRUSR | stat.S_IXUSR)
        self.addCleanup(os.chmod, self.folder, stat.S_IRWXU)
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "-o", self.path("e.csv")), 1, "e.csv")

    def test_missing_parent(self):
        target = self.path("no", "such", "e.csv")
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "-o", target), 1, "e.csv", "No such file")

    def test_closed_pipe_is_quiet(self):
        process = subprocess.run(["bash", "-c", f"'{tool('lull-inspect')}' --quiet '{self.wav}' | true; "
                                  "echo ${PIPESTATUS[0]}"], capture_output=True, text=True)
        self.assertIn(process.stdout.strip(), ("0", "141"))
        self.assertEqual(process.stderr, "")


class BadLog(Folder):
    def test_a_line_that_cannot_be_read_is_named_and_the_others_count(self):
        samples = noise(20, 1)
        write_wav(self.path("a.wav"), samples)
        with open(self.path("log.csv"), "w") as file:
            file.write("time,person,action,channels,text\n0:05,operator A,call-out,,called\nlater,operator A,call-out,,?\n")
        result = run("lull-detect", self.path("a.wav"), "--log", self.path("log.csv"), "--hails", self.path("hails.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("line 3", result.stderr)
        with open(self.path("hails.csv")) as file:
            self.assertEqual(len(file.read().splitlines()), 2)


class Interrupted(Folder):
    def setUp(self):
        super().setUp()
        self.wav = self.path("long.wav")
        write_wav(self.wav, np.tile(noise(20, 6), (15, 1)), bits=24)

    def start(self):
        return subprocess.Popen([tool("lull-review"), "--quiet", self.wav, "-o", self.path("out")],
                                stderr=subprocess.PIPE, text=True)

    def test_interrupt(self):
        for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
            process = self.start()
            time.sleep(0.1)
            process.send_signal(number)
            process.communicate()
            # A slow start may meet the signal before the tool listens for it: it then dies by it.
            self.assertIn(process.returncode, (status, 0, -number))
            if process.returncode != 0:
                self.assertFalse(os.path.exists(self.path("out", "report.json")))

    def test_kill_leaves_nothing_under_a_final_name(self):
        for delay_s in (0.02, 0.1, 0.3, 0.6):
            process = self.start()
            time.sleep(delay_s)
            process.kill()
            process.communicate()
            if process.returncode != 0:
                self.assertFalse(os.path.exists(self.path("out", "report.json")))
        self.assertEqual(run("lull-review", "--quiet", self.wav, "-o", self.path("out")).returncode, 0)
        left = [name for name in os.listdir(self.folder) if name not in ("long.wav", "out")]
        self.assertEqual(left, [], "a killed run's remains block or litter the next")


if __name__ == "__main__":
    main()
