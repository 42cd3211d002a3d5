#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Ranks and delays of a million events within 200 MB, since only the numbers of its row are kept of an event."""
import json
import os
import unittest

from harness import Folder, is_sanitized, main, noise, rows_of, run, tool, write_json, write_wav

RATE = 4000
SECONDS = 60
CHANNELS = 3
MOST_MB, MANY = 200.0, 1000000  # what README promises
FEW, MORE = 20000, 60000  # the smaller one fills the buffers of a table that is read in parts
WHY = '"rise 3 ms, decay 46 ms to -20 dB, 26 dB over the floor in 60-430 Hz; on 3 channels within 7 ms"'


class ManyEvents(Folder):
    def setUp(self):
        super().setUp()
        write_wav(self.path("a.wav"), noise(SECONDS, CHANNELS, rate=RATE), rate=RATE)
        # No positions but one clock: delays are searched for within 30 ms, as for any bare file.
        write_json(self.path("s.json"), {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}], "channels": [
            {"name": f"c{c}", "kind": "seismic", "track": c + 1} for c in range(CHANNELS)]})

    def events(self, count):
        path = self.path(f"events-{count}.csv")
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write("event,kind,onset_s,end_s,channel,channels,peak_db,snr_db,confidence,series,why\r\n")
            for i in range(count):
                onset_s = 0.5 + (SECONDS - 1.0) * i / count
                file.write(f"{i + 1},tapping,{onset_s:.6f},{onset_s + 0.01:.6f},c0,c0;c1,-40.00,12.00,0.400,,{WHY}\r\n")
        return path

    def peak_mb(self, name, count):
        """Peak memory, which includes that of this process when it started the tool, and the number of rows
        written."""
        out = self.path("out.csv")
        command = [tool(name), self.path("s.json"), "--events", self.events(count), "--quiet", "--jobs", "1", "-o", out]
        process = os.posix_spawn(command[0], command, os.environ)
        _, status, usage = os.wait4(process, 0)
        self.assertEqual(os.waitstatus_to_exitcode(status), 0)
        with open(out, encoding="utf-8") as file:
            return usage.ru_maxrss / 1024.0, sum(1 for _ in file) - 1

    def stays_small(self, name, rows_each, rows_more):
        few, rows = self.peak_mb(name, FEW)
        self.assertEqual(rows, FEW * rows_each + rows_more)
        more, rows = self.peak_mb(name, MORE)
        self.assertEqual(rows, MORE * rows_each + rows_more)
        of_many = few + (more - few) * (MANY - FEW) / (MORE - FEW)
        self.assertLess(of_many, MOST_MB, f"{few:.0f} MB for {FEW} events, {more:.0f} MB for {MORE}")

    @unittest.skipIf(is_sanitized(), "a sanitizer needs memory of its own")
    def test_ranking(self):
        self.stays_small("lull-rank", CHANNELS, CHANNELS)

    @unittest.skipIf(is_sanitized(), "a sanitizer needs memory of its own")
    def test_delays(self):
        self.stays_small("lull-delay", 1, 0)

    def test_json_holds_the_same(self):
        events = self.events(5000)  # more than are made at a time
        for name in ("lull-rank", "lull-delay"):
            table = run(name, self.path("s.json"), "--events", events, "--quiet")
            document = run(name, self.path("s.json"), "--events", events, "--quiet", "--format", "json")
            rows = json.loads(document.stdout)["rows"]
            self.assertEqual([str(row["event"]) for row in rows], [row["event"] for row in rows_of(table.stdout)], name)


if __name__ == "__main__":
    main()
