# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the bench of hearing: scenes of one side, judged for each detector, kept so that it can go on.

A state folder holds rendered scenes (quick ones only: a full run is some 40 GB) and, a line each, what
every detector was judged to hear in them. Both are tied to what made them by digests.
"""
import dataclasses
import hashlib
import json
import os
import pathlib
import shutil
import tempfile
from concurrent.futures import ProcessPoolExecutor, as_completed

import numpy as np

import finds
import ledger
import scene_files
import scenes
import score
import sounds
import textbook

HERE = pathlib.Path(__file__).resolve().parent
FIRST_SEED = {"fit": 1000000, "tune": 2000000, "report": 3000000}
QUICK_SECONDS, QUICK_CHANNELS, QUICK_RATES = 120.0, (1, 2, 3, 4, 5, 6, 7), (4000, 8000, 16000)
SUBSETS = (1, 3)  # of a scene with more channels; scenes are also judged with all
JUDGES = ("finds.py", "score.py", "ledger.py")
NOT_OF_SCENES = JUDGES + (
    "bench.py", "textbook.py", "rates.py", "hearing_report.py", "hearing_cells.py", "hearing_page.py",
    "recall_counts.py", "training.py", "pack_sounds.py", "measure_sounds.py", "sound_twins.py", "sounds_page.py",
    "unpack_sounds.py")


def jobs_of(side, count, quick):
    """(side, ground, seed, quick) of every scene, grounds in turn."""
    grounds = list(scenes.GROUNDS)
    return [(side, grounds[k % len(grounds)], FIRST_SEED[side] + k, quick) for k in range(count)]


def scene_of(side, ground, seed, quick):
    if not quick:
        return scenes.draw(side, seed, ground)
    rng = np.random.default_rng([seed, 5])
    return scenes.draw(side, seed, ground, channels=int(rng.choice(QUICK_CHANNELS)),
                       rate=int(rng.choice(QUICK_RATES)), seconds=QUICK_SECONDS)


def digest_of(paths, *more):
    digest = hashlib.sha256(repr(more).encode())
    for path in paths:
        digest.update(pathlib.Path(path).read_bytes())
    return digest.hexdigest()[:16]


def scenes_digest(side):
    """Digest of everything that a scene depends on: the code and the unpacked sounds."""
    sources = [p for p in sorted(HERE.glob("*.py")) if p.name not in NOT_OF_SCENES]
    return digest_of([*sources, sounds.MANIFEST], sounds.Sounds(side).missing)


def detector_digest(label, build, of_scenes):
    sources = [HERE / name for name in JUDGES]
    tool = pathlib.Path(build) / "lull-detect" if build else HERE / "textbook.py"
    return digest_of([tool, *sources], of_scenes)


def render_into(folder, job):
    """The scene of a job in its folder, which appears only when complete."""
    if folder.exists():
        return
    scene = scene_of(*job)
    samples, truth = scenes.render(scene)
    part = folder.with_name(f"{folder.name}.{os.getpid()}.part")
    scene_files.write(part, scene, samples, truth)
    try:
        part.rename(folder)
    except OSError:  # another run was faster
        shutil.rmtree(part)


def subsets_of(truth):
    """Channels to analyse together, by number: the first few, as a smaller array would have.
    None: all."""
    names = [c["name"] for c in truth["channels"]]
    return {**{str(n): names[:n] for n in SUBSETS if n < len(names)}, "all": None}


def judged_build(folder, truth, label, build):
    log = folder / "log.csv"
    row = {"judged": {}, "ledger": {}}
    for subset, channels in subsets_of(truth).items():
        heard = finds.detect(build, folder / "session.json", channels=channels,
                             log=log if log.exists() else None)
        row["judged"][f"{label}/{subset}"] = score.judge(truth, heard.finds, channels)
        if subset == "all":
            row["ledger"][label] = ledger.ledger(truth, heard)
    return row


def judged_textbook(folder, truth, voice_detectors):
    kept = folder / f"textbook-{digest_of([HERE / 'textbook.py'], sorted(voice_detectors))}.json"
    if kept.exists():
        found = {name: [finds.Find(*row) for row in them] for name, them in json.loads(kept.read_text()).items()}
    else:
        samples = scene_files.read_wav(folder / "recording.wav")
        found = textbook.all_of(samples, truth, voice_detectors)
        kept.write_text(json.dumps({name: [dataclasses.astuple(f) for f in them] for name, them in found.items()}))
    return {"judged": {f"{name}/all": score.judge(truth, them) for name, them in found.items()}, "ledger": {}}


def judge_scene(job, folder, builds, voice_detectors):
    """Rows by label of one scene, which is rendered if it does not exist yet."""
    with tempfile.TemporaryDirectory() as passing:
        folder = folder or pathlib.Path(passing) / "scene"
        render_into(folder, job)
        truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
        rows = {}
        for label, build in builds:
            rows[label] = judged_build(folder, truth, label, build) if build else judged_textbook(
                folder, truth, voice_detectors)
    return rows


class State:
    """Results so far, by scene and detector."""

    def __init__(self, path, side, builds):
        self.path = pathlib.Path(path) if path else None
        self.of_scenes = scenes_digest(side)
        self.digests = {label: detector_digest(label, build, self.of_scenes) for label, build in builds}
        self.done = {}
        if self.path:
            self.path.mkdir(parents=True, exist_ok=True)
            self.read(self.path / "judged.jsonl")

    def read(self, path):
        labels = {digest: label for label, digest in self.digests.items()}
        if path.exists():
            for line in path.read_text(encoding="utf-8").splitlines():
                digest, _, row = line.partition(" ")
                if digest in labels and row.endswith("}"):  # a run that was killed may leave half a line
                    row = json.loads(row)
                    self.done[labels[digest], tuple(row["job"])] = relabelled(row, labels[digest])

    def folder_of(self, job):
        side, ground, seed, quick = job
        if not self.path or not quick:
            return None
        return self.path / f"scenes-{self.of_scenes}" / f"{side}-{ground}-{seed}"

    def add(self, job, label, row):
        row = {"job": list(job), **row}
        self.done[label, job] = row
        if self.path:
            line = f"{self.digests[label]} {json.dumps(row)}\n".encode()
            with open(self.path / "judged.jsonl", "ab", buffering=0) as file:  # whole lines, since another run may write too
                file.write(line)

    def row_of(self, job, builds):
        row = {"job": list(job), "judged": {}, "ledger": {}}
        for label, _ in builds:
            if (label, job) in self.done:
                row["judged"].update(self.done[label, job]["judged"])
                row["ledger"].update(self.done[label, job]["ledger"])
        return row


def relabelled(row, label):
    """The same tool may have had another label when it was judged."""
    if not row["ledger"]:
        return row
    return {**row, "judged": {f"{label}/{key.rpartition('/')[2]}": v for key, v in row["judged"].items()},
            "ledger": {label: next(iter(row["ledger"].values()))}}


def frozen(builds, folder):
    """Copies of the tools, so that a build meanwhile changes nothing."""
    copies = {}
    for k, (label, build) in enumerate(builds):
        copies[label] = None
        if build:
            place = pathlib.Path(folder) / str(k)
            place.mkdir()
            shutil.copy2(pathlib.Path(build) / "lull-detect", place)
            copies[label] = str(place)
    return copies


def run(builds, jobs, textbook_jobs, state, processes, say):
    """Everything not done yet; returns the rows in the order of the jobs. builds: (label, folder of the
    tools); for textbook detectors a label and None: they get only the first so many scenes."""
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(processes) as pool:
        copies = frozen(builds, folder)
        voice_detectors = textbook.build_voice_detectors(folder) if None in copies.values() else {}
        waiting = {}
        for k, job in enumerate(jobs):
            left = [(label, copies[label]) for label, build in builds
                    if (label, job) not in state.done and (build or k < textbook_jobs)]
            if left:
                place = state.folder_of(job)
                if place:
                    place.parent.mkdir(parents=True, exist_ok=True)
                waiting[pool.submit(judge_scene, job, place, left, voice_detectors)] = job
        for count, future in enumerate(as_completed(waiting), 1):
            for label, row in future.result().items():
                state.add(waiting[future], label, row)
            say(f"{count} of {len(waiting)} scenes")
    return [state.row_of(job, builds) for job in jobs]
