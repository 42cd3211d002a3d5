#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where much is found, excerpts go to the most deserving finds as far as their share of the recording's sound
reaches, and the review says so. A short recording keeps all."""
import json
import os
import re
import sys

from harness import SOURCE, Folder, main, run, write_json

sys.path.insert(0, os.path.join(SOURCE, "scripts"))
import bench_grounds  # noqa: E402

LONG_S = 310  # longer than the guide's five minutes


class Share(Folder):
    def setUp(self):
        super().setUp()
        write_json(self.path("plan.json"), bench_grounds.plan_of("people", LONG_S))
        made = run("lull-exercise", self.path("plan.json"), "-o", self.path("made"), "--quiet")
        self.assertEqual(made.returncode, 0, made.stderr)

    def review(self, *options):
        """Numbers of the finds that have an excerpt, and the notices on excerpts."""
        done = run("lull-review", self.path("made", "trainee", "recording.wav"), "-o", self.path("out"), "--quiet",
                   *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(self.path("out", "report.json"), encoding="utf-8") as file:
            notices = [notice["text"] for notice in json.load(file)["notices"]]
        numbers = sorted(int(name[5:8]) for name in os.listdir(self.path("out", "excerpts"))
                         if name.startswith("find-"))
        return numbers, [text for text in notices if text.startswith("excerpts")]

    def test_excerpts_end_with_their_share_and_the_review_says_so(self):
        cut, said = self.review()
        self.assertEqual(len(said), 1)
        first, every = map(int, re.match(r"excerpts: cut for the first (\d+) of (\d+) finds", said[0]).groups())
        self.assertGreater(every, first)
        self.assertEqual(cut, list(range(1, first + 1)))  # finds are numbered by how much they deserve a listen
        sound = sum(os.path.getsize(self.path("out", "excerpts", name))
                    for name in os.listdir(self.path("out", "excerpts")))
        recording = os.path.getsize(self.path("made", "trainee", "recording.wav"))
        self.assertLess(sound, 0.14 * recording)  # 16 bits, and base64 of them, of 24
        self.assertGreater(sound, 0.04 * recording)
        with open(self.path("out", "index.html"), encoding="utf-8") as file:
            self.assertIn(said[0], file.read())

    def test_a_short_stretch_keeps_all(self):
        cut, said = self.review("--to", "60")
        self.assertEqual(said, [])
        self.assertGreater(len(cut), 20)


if __name__ == "__main__":
    main()
