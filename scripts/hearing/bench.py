# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the bench of hearing: scenes of one side, judged for each detector, kept so that it can go on."""
import hashlib
import json
import pathlib
import shutil
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor, as_completed

import finds
import ledger
import scene_files
import scenes
import score
import textbook

FIRST_SEED = {"fit": 1000000, "tune": 2000000, "report": 3000000}
QUICK_SECONDS, QUICK_CHANNELS, QUICK_RATE = 120.0, 4, 16000
SUBSETS = (1, 3)         # of a scene with more channels; all are judged besides


def jobs_of(side, count, quick):
    """(side, ground, seed, quick) of every scene, grounds in turn."""
    grounds = list(scenes.GROUNDS)
    return [(side, grounds[k % len(grounds)], FIRST_SEED[side] + k, quick) for k in range(count)]


def subsets_of(truth):
    """Channels to analyse together, by number: the first few, as an array that was smaller would have
    had them. None: all."""
    names = [c["name"] for c in truth["channels"]]
    return {**{str(n): names[:n] for n in SUBSETS if n < len(names)}, "all": None}


def scene_of(side, ground, seed, quick):
    if quick:
        return scenes.draw(side, seed, ground, channels=QUICK_CHANNELS, rate=QUICK_RATE,
                           seconds=QUICK_SECONDS)
    return scenes.draw(side, seed, ground)


def judge_scene(job, builds, with_textbook):
    """One scene, rendered once and given to every detector; what is kept is plain JSON."""
    scene = scene_of(*job)
    samples, truth = scenes.render(scene)
    rows = {"job": list(job), "judged": {}, "ledger": {}, "detect_s": {}}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        scene_files.write(folder, scene, samples, truth)
        log = folder / "log.csv" if (folder / "log.csv").exists() else None
        for label, build in builds:
            for subset, channels in subsets_of(truth).items():
                began = time.monotonic()
                heard = finds.detect(build, folder / "session.json", channels=channels, log=log)
                rows["judged"][f"{label}/{subset}"] = score.judge(truth, heard.finds, channels)
                if subset == "all":
                    rows["detect_s"][label] = time.monotonic() - began
                    rows["ledger"][label] = ledger.ledger(truth, heard)
        if with_textbook:
            for label, found in textbook.all_of(samples, truth, folder).items():
                rows["judged"][f"{label}/all"] = score.judge(truth, found)
    return rows


class State:
    """Finished scenes in a file, a line each, tied to the tools and the bench by their digest."""

    def __init__(self, path, builds):
        digest = hashlib.sha256()
        for label, build in builds:
            digest.update(label.encode() + (pathlib.Path(build) / "lull-detect").read_bytes())
        for source in sorted(pathlib.Path(__file__).parent.glob("*.py")):
            digest.update(source.read_bytes())
        self.digest = digest.hexdigest()[:16]
        self.path = pathlib.Path(path) if path else None
        self.done = {}
        if self.path and self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                if row["digest"] == self.digest:
                    self.done[tuple(row["job"])] = row

    def add(self, row):
        row["digest"] = self.digest
        self.done[tuple(row["job"])] = row
        if self.path:
            with open(self.path, "a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")


def frozen(builds, folder):
    """Copies of the tools: a build that goes on meanwhile changes nothing."""
    copies = []
    for label, build in builds:
        place = pathlib.Path(folder) / label
        place.mkdir()
        shutil.copy2(pathlib.Path(build) / "lull-detect", place)
        copies.append((label, str(place)))
    return copies


def run(builds, jobs, state, processes, with_textbook, say):
    """All jobs that are not done yet; returns the rows in the order of the jobs."""
    left = [job for job in jobs if job not in state.done]
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(processes) as pool:
        copies = frozen(builds, folder)
        waiting = [pool.submit(judge_scene, job, copies, with_textbook) for job in left]
        for count, future in enumerate(as_completed(waiting), 1):
            state.add(future.result())
            say(f"{count} of {len(left)} scenes")
    return [state.done[job] for job in jobs]
