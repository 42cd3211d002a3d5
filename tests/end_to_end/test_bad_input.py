#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bad input gives one line that says what is wrong and what would be right, and the right status."""
import os
import signal
import stat
import struct
import subprocess
import time
import unittest
import zipfile

from harness import (TIMEOUT_S, Folder, add_at, knock, main, noise, np, run, tool, write_float_wav, write_json,
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

    def test_header_states_ten_times_the_length(self):
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

    def test_silence_has_no_events_and_no_levels(self):
        write_wav(self.path("a.wav"), np.zeros((160000, 2)))
        result = run("lull-detect", self.path("a.wav"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual(len(result.stdout.splitlines()), 1)
        result = run("lull-inspect", self.path("a.wav"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertIn("unfit", result.stdout)
        self.assertNotIn("nan", result.stdout.lower())
        self.assertNotIn("inf,", result.stdout.lower())

    def test_only_nan_samples(self):
        write_float_wav(self.path("a.wav"), np.full((80000, 1), np.nan))
        for name in TABLE_TOOLS:
            result = run(name, self.path("a.wav"))
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertNotIn("nan", result.stdout.lower().replace("ch1", ""))

    def test_nan_samples_do_not_spread(self):
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

    def test_times_as_the_page_shows_them(self):
        for name, options in (("lull-inspect", ["--from", "0:01.5"]), ("lull-inspect", ["--to", "0:00:02"]),
                              ("lull-inspect", ["--from", "0:01", "--to", "+0:02"])):
            self.assertEqual(run(name, "--quiet", self.wav, *options).returncode, 0, options)
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--from", "13:35.0"), 2, "815.000 s")

    def test_misspelt_options_are_named_with_the_nearest(self):
        for options, words in ((["--jbos", "2"], "unknown option --jbos; did you mean --jobs?"),
                               (["--form", "3"], "unknown option --form; did you mean --from?"),
                               (["--list-form=0.5"], "unknown option --list-form; did you mean --list-from?"),
                               (["-jobs", "3"], "unknown option -jobs; did you mean --jobs?"),
                               (["--frobnicate"], "unknown option --frobnicate; see lull-detect --help")):
            for arguments in ([self.wav, *options], [*options, self.wav]):
                self.assert_refused(run("lull-detect", "--quiet", *arguments), 2, words)
        # A missing argument is not blamed instead.
        self.assert_refused(run("lull-filter", self.wav, "--ouput", "x.wav"), 2, "--ouput", "did you mean --output?")

    def test_refused_numbers_are_quoted(self):
        out = ("-o", self.path("o.wav"))
        for name, options, words in (("lull-filter", ["--gain", "loud", *out], "--gain: 'loud' is not a number"),
                                     ("lull-filter", ["--gain", "3dB", *out], "--gain: '3dB' is not a number"),
                                     ("lull-filter", ["--gain", "900", *out],
                                      "--gain: 900 is out of range; give -120 to 120"),
                                     ("lull-detect", ["--jobs", "2.5"], "--jobs: '2.5' is not a whole number"),
                                     ("lull-detect", ["--jobs", "0"], "--jobs: 0 is out of range"),
                                     ("lull-detect", ["--list-from", "nan"], "--list-from: nan is out of range"),
                                     ("lull-detect", ["--band", "low-high"], "'low' is not a frequency")):
            self.assert_refused(run(name, "--quiet", self.wav, *options), 2, words)

    def test_clock_time_without_a_start(self):
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "--from", "02:10:00"), 2, "start")


class HostileJson(Folder):
    """Every JSON file that a tool reads: one line, the place, the right status, without delay."""

    def setUp(self):
        super().setUp()
        write_wav(self.path("a.wav"), noise(3, 1))
        self.bad = self.path("bad.json")
        wav, out = self.path("a.wav"), self.path("out")
        self.commands = [("lull-inspect", self.bad), ("lull-detect", wav, "--session", self.bad),
                         ("lull-detect", wav, "--horns", self.bad),
                         ("lull-review", wav, "--horns", self.bad, "-o", out),
                         ("lull-review", wav, "--language", self.bad, "-o", out),
                         ("lull-exercise", self.bad, "-o", out),
                         ("lull-grade", "--truth", wav, "--sheets", wav, "--weights", self.bad, "-o", out),
                         ("lull-grade", "--truth", wav, "--sheets", wav, "--synonyms", self.bad, "-o", out)]

    def refuse_all(self, text, *words):
        with open(self.bad, "wb") as file:
            file.write(text)
        for name, *arguments in self.commands:
            self.assert_refused(run(name, *arguments), 3, name + ":", "bad.json", *words)
            self.assertFalse(os.path.exists(self.path("out")))

    def test_half_a_million_levels_of_nesting(self):
        self.refuse_all(b"[" * 520000 + b"]" * 520000, "nested deeper than 32 levels")
        self.refuse_all(b'{"channels":' * 520000 + b"1" + b"}" * 520000, "channels.channels", "nested deeper")

    def test_repeated_keys(self):
        self.refuse_all(b'{"format": "x", "format": "y"}', "format: is there twice")

    def test_nul(self):
        self.refuse_all(b'{"format": "x\\u0000y"}', "format", "NUL")
        self.refuse_all(b'{"format":\n"x"}\0', "line 2", "NUL")


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

    def test_a_valid_session_works(self):
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

    def test_limits_on_counts_and_names(self):
        self.refuse(lambda s: s.update(channels=[{"name": f"c{n}", "kind": "air", "track": 1} for n in range(65)]),
                    "channels: 65 entries", "at most 64")
        for name in ("a;b", "a,b", "a\nb", "", "a" * 65, "\u0085"):
            self.refuse(lambda s, name=name: s["channels"][1].update(name=name), "channels[1].name",
                        "1 to 64 characters")

    def test_a_link_out_of_the_folder_is_refused(self):
        os.mkdir(self.path("in"))
        os.symlink(self.path("a.wav"), self.path("in", "a.wav"))
        write_json(self.path("in", "s.json"), self.good)
        self.assert_refused(run("lull-inspect", "--quiet", self.path("in", "s.json")), 3, "recordings[0].file",
                            "outside the session's folder", "--allow-outside")
        self.assertEqual(run("lull-inspect", "--quiet", self.path("in", "s.json"), "--allow-outside").returncode, 0)

    def test_not_json(self):
        with open(self.path("s.json"), "w") as file:
            file.write('{"format": "lull-session",\n "version": 1,,}')
        self.assert_refused(run("lull-detect", "--quiet", self.path("s.json")), 3, "s.json", "line 2")

    def test_a_number_out_of_range(self):
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
        for options, sounds in (([], True), (["--no-audio"], False)):
            result = run("lull-review", "--quiet", self.wav, "-o", self.path("out"), *options)
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertEqual(os.path.isdir(self.path("out", "excerpts")), sounds)

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

    def test_file_size_limit(self):
        """In blocks of 1024 bytes. Each run ends in order, whichever file is the first too large one."""
        ended = []
        for blocks in (0, 1, 4, 16, 64, 4096):
            result = subprocess.run(["bash", "-c", f'ulimit -f {blocks} && exec "$@"', "bash", tool("lull-review"), "--quiet",
                                     self.wav, "-o", self.path("out")], capture_output=True, text=True)
            ended.append(result.returncode)
            if result.returncode != 0:
                self.assert_refused(result, 1, "lull-review: ", "File too large")
                self.assertEqual(os.listdir(self.folder), ["a.wav"])
        self.assertEqual((ended[0], ended[-1]), (1, 0), ended)

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

    def test_unwritable_outputs_are_reported_before_the_analysis(self):
        """Nothing of the input is read before. It does not even exist."""
        gone, plan = self.path("gone.wav"), self.path("gone.json")
        os.mkdir(self.path("folder"))
        nowhere = self.path("no", "such", "x")
        for name, options in (("lull-detect", [gone, "-o", nowhere + ".csv"]),
                              ("lull-detect", [gone, "--arrivals", nowhere + ".csv"]),
                              ("lull-detect", [gone, "--tracks", nowhere + ".json"]),
                              ("lull-inspect", [gone, "--findings", nowhere + ".csv"]),
                              ("lull-inspect", [gone, "--picture", nowhere + ".svg"]),
                              ("lull-noise", [gone, "--quiet-periods", nowhere + ".csv"]),
                              ("lull-delay", [gone, "--events", gone, "--clocks", nowhere + ".csv"]),
                              ("lull-filter", [gone, "-o", nowhere + ".wav"]),
                              ("lull-review", [gone, "-o", nowhere]),
                              ("lull-excerpt", [gone, "--events", gone, "-o", nowhere]),
                              ("lull-exercise", [plan, "-o", nowhere]),
                              ("lull-grade", ["--truth", gone, "--sheets", gone, "-o", nowhere])):
            self.assert_refused(run(name, *options), 1, name + ":", nowhere, "No such file", "a folder that exists")
        self.assert_refused(run("lull-detect", gone, "-o", self.path("folder")), 1, "is a folder")
        self.assert_refused(run("lull-detect", gone, "--series", self.path("folder")), 1, "is a folder")
        self.assert_refused(run("lull-review", gone, "-o", self.wav), 1, "is a file")
        self.assert_refused(run("lull-detect", gone, "-o", os.path.join(self.wav, "e.csv")), 1, "Not a directory")

    def test_a_read_only_place_is_reported_before_the_analysis(self):
        if os.geteuid() != 0:
            self.skipTest("only root may mount")
        place = self.path("place")
        os.mkdir(place)
        if subprocess.run(["mount", "-t", "tmpfs", "-o", "ro", "tmpfs", place], capture_output=True).returncode != 0:
            self.skipTest("nothing can be mounted here")
        self.addCleanup(subprocess.run, ["umount", place])
        for name, option, target in (("lull-detect", "-o", "e.csv"), ("lull-detect", "--series", "s.csv"),
                                     ("lull-review", "-o", "out"), ("lull-inspect", "--picture", "p.svg")):
            self.assert_refused(run(name, self.path("gone.wav"), option, os.path.join(place, target)), 1,
                                "Read-only file system")

    def test_endings_set_the_format(self):
        for option, target in (("-o", "out.xlsx"), ("-o", "out.ods"), ("--arrivals", "a.txt")):
            self.assert_refused(run("lull-detect", "--quiet", self.wav, option, self.path(target)), 2,
                                os.path.splitext(target)[1] + " file", ".csv or .json")
            self.assertFalse(os.path.exists(self.path(target)))
        self.assert_refused(run("lull-inspect", self.wav, "--picture", self.path("p.png")), 2, ".png", ".svg")
        for options in (["-o", self.path("E.CSV")], ["-o", self.path("e.txt"), "--format", "csv"],
                        ["-o", self.path("e")]):
            self.assertEqual(run("lull-detect", "--quiet", self.wav, *options).returncode, 0, options)
            with open(options[1], encoding="utf-8") as file:
                self.assertTrue(file.readline().startswith("event,kind"))
        self.assertEqual(run("lull-detect", "--quiet", self.wav, "-o", self.path("E.JSON")).returncode, 0)
        with open(self.path("E.JSON"), encoding="utf-8") as file:
            self.assertEqual(file.read(1), "{")
        self.assertEqual(run("lull-detect", "--quiet", self.wav, "-o", "/dev/null").returncode, 0)

    def test_missing_parent(self):
        target = self.path("no", "such", "e.csv")
        self.assert_refused(run("lull-detect", "--quiet", self.wav, "-o", target), 1, "e.csv", "No such file")

    def test_closed_pipe_is_quiet(self):
        process = subprocess.run(["bash", "-c", f"'{tool('lull-inspect')}' --quiet '{self.wav}' | true; "
                                  "echo ${PIPESTATUS[0]}"], capture_output=True, text=True)
        self.assertIn(process.stdout.strip(), ("0", "141"))
        self.assertEqual(process.stderr, "")


class BadLog(Folder):
    def test_an_unreadable_line_is_reported_and_the_others_count(self):
        samples = noise(20, 1)
        write_wav(self.path("a.wav"), samples)
        with open(self.path("log.csv"), "w") as file:
            file.write("time,person,action,channels,text\n0:05,operator A,call-out,,called\nlater,operator A,call-out,,?\n")
        result = run("lull-detect", self.path("a.wav"), "--log", self.path("log.csv"), "--hails", self.path("hails.csv"))
        self.assertEqual(result.returncode, 4, result.stderr)
        self.assertIn("line 3", result.stderr)
        with open(self.path("hails.csv")) as file:
            self.assertEqual(len(file.read().splitlines()), 2)


    def test_a_log_as_a_spreadsheet_saves_it(self):
        write_wav(self.path("a.wav"), noise(20, 1))
        for text in ("time;action\r\n0:05,0;call-out\r\n", "sep=;\r\ntime;action\r\n5;call-out\r\n",
                     "time\taction\n0:00:05.0\tcall-out\n"):
            with open(self.path("log.csv"), "w", newline="", encoding="utf-16" if "\t" in text else "utf-8") as file:
                file.write(text)
            result = run("lull-detect", self.path("a.wav"), "--log", self.path("log.csv"), "--hails",
                         self.path("hails.csv"))
            self.assertEqual(result.returncode, 0, result.stderr)
            with open(self.path("hails.csv")) as file:
                self.assertEqual(len(file.read().splitlines()), 2, text)

    def test_a_spreadsheets_own_file(self):
        write_wav(self.path("a.wav"), noise(3, 1))
        with zipfile.ZipFile(self.path("log.xlsx"), "w") as book:
            book.writestr("[Content_Types].xml", "<Types/>")
            book.writestr("xl/workbook.xml", "<workbook/>")
        for option in ("--log", "--judgements", "--withhold"):
            self.assert_refused(run("lull-review", "--quiet", self.path("a.wav"), option, self.path("log.xlsx"), "-o",
                                    self.path("out")), 3, "log.xlsx", "a spreadsheet (.xlsx)", "save it as CSV")


class Interrupted(Folder):
    def setUp(self):
        super().setUp()
        self.wav = self.path("long.wav")
        write_wav(self.wav, np.tile(noise(20, 6), (5, 1)), bits=24)

    def start(self, *options, before=()):
        return subprocess.Popen([*before, tool("lull-review"), "--quiet", self.wav, "-o", self.path("out"), *options],
                                stderr=subprocess.PIPE, text=True)

    def wait_until_it_writes(self, process):
        while process.poll() is None and not os.path.exists(self.path("out", "UNFINISHED.txt")):
            time.sleep(0.002)

    def test_interrupt(self):
        for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)):
            process = self.start("--jobs", "1")
            self.wait_until_it_writes(process)
            process.send_signal(number)
            _, said = process.communicate()
            self.assertEqual((process.returncode, said),
                             (status, "lull-review: interrupted; nothing half-written was kept\n"))
            self.assertEqual(os.listdir(self.folder), ["long.wav"])

    def test_hangup_is_ignored_under_nohup(self):
        process = self.start(before=["nohup"])
        self.wait_until_it_writes(process)
        process.send_signal(signal.SIGHUP)
        process.communicate()
        self.assertEqual(process.returncode, 0)

    def test_interrupt_of_a_blind_page(self):
        """Of an input whose digest alone takes minutes."""
        with open(self.wav, "wb") as file:  # RF64, 24 bit, six channels; sparse
            size = 18 * 16_000_000_000
            file.write(b"RF64\xff\xff\xff\xffWAVEds64" + struct.pack("<IQQQI", 28, size + 72, size, size // 18, 0) +
                       b"fmt " + struct.pack("<IHHIIHH", 16, 1, 6, 16000, 288000, 18, 24) + b"data\xff\xff\xff\xff")
            file.truncate(80 + size)
        process = self.start("--blind")
        self.wait_until_it_writes(process)
        process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=TIMEOUT_S / 5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
        self.assertEqual(process.returncode, 130)
        self.assertEqual(os.listdir(self.folder), ["long.wav"])

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
