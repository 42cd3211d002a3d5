#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fits the models of knocks: one source (pair), an impulse alone (impulse), a group (series).

    scripts/train/knock_models.py features BUILD DETECT_FEATURES     builds the listener
    scripts/train/knock_models.py rows PACK DETECT_FEATURES ROWS.npz --what pair,impulse --scenes 400
    scripts/train/knock_models.py fit ROWS.npz... --what pair,impulse --write
    ... build again, since a group's features are made of these; then rows and fit with --what series

Scenes are those of the bench (scripts/hearing), of the fit side, on 1 to 8 channels. Labels: an impulse at
a knock; of two impulses, of which one is a knock or a step, that both are knocks of one person in one
place; of a group, that two taps at least, and half, are knocks of one person. What taps as well and is not
looked for (the team's knocks, hammers at work) is left out. The models are boosted trees (scikit-learn),
which may follow most features one way only. Seeds from 500000.
"""
import argparse
import json
import multiprocessing
import os
import pathlib
import subprocess
import sys
import tempfile

os.environ.setdefault("OMP_NUM_THREADS", "1")
import numpy as np  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.insert(0, str(ROOT / "scripts/hearing"))
import model_text  # noqa: E402

FIRST_SEED = 500000
SECONDS = 100.0
EARLY_S, LATE_S = 0.1, 0.04  # of an event's onset, which is its earliest arrival, to the truth's


def build(folder, binary):
    libraries = [str(pathlib.Path(folder) / f"liblull_{m}.a")
                 for m in ("detect", "health", "noise", "signal", "recording", "base")]
    subprocess.run(["g++", "-std=c++20", "-O2", "-Wl,--as-needed", f"-I{ROOT}/lib", "-I/usr/include/eigen3",
                    "-o", binary, str(HERE / "detect_features.cpp"),
                    *[lib for lib in libraries if os.path.exists(lib)],
                    "-lfmt", "-lsndfile", "-lmpg123", "-lfftw3f", "-lsoxr", "-lcrypto"], check=True)


class Truth:
    """Who made an impulse, by its time."""

    def __init__(self, truth):
        self.people, times = [], []
        for sound in truth["sounds"]:
            if sound["kind"] == "tapping" and sound.get("taps"):
                times += [(t, self.person_of(sound)) for t in sound["taps"]]
        for confuser in truth["confusers"]:
            owner = -2 if "tapping" in confuser["neither_for"] else -3 if confuser["cause"] == "walking" else None
            times += [(t, owner) for t in confuser["times"] if owner]
        self.spans = [(h["from_s"] - 0.1, h["to_s"] + 0.1) for h in truth["hails"]]
        times.sort()
        self.times = np.array([t for t, _ in times])
        self.owners = [owner for _, owner in times]

    def person_of(self, sound):
        at = np.array(sound["position_m"])
        for k, (place, source, of) in enumerate(self.people):
            if np.linalg.norm(place - at) < 0.7 and (source, of) == (sound["source"], sound["of"]):
                return k
        self.people.append((at, sound["source"], sound["of"]))
        return len(self.people) - 1

    def owner(self, at):
        """A person's number; -1: nobody's; -2: what is left out; -3: a step's."""
        if any(a <= at <= b for a, b in self.spans):
            return -2
        first, last = np.searchsorted(self.times, [at - LATE_S, at + EARLY_S])
        near = sorted(range(first, last), key=lambda k: abs(self.times[k] - at - 0.02))
        knocks = [self.owners[k] for k in near if self.owners[k] >= 0]
        return knocks[0] if knocks else self.owners[near[0]] if near else -1


def labelled(rows, truth, wanted):
    """(model, label, features, weight) of every row that a model judges."""
    known = Truth(truth)
    for row in rows:
        if row["what"] == "arrival" and not row["sustained"] and "impulse" in wanted:
            owner = known.owner(row["on"])
            if owner != -2:
                yield "impulse", owner >= 0, row["features"], 1.0
        elif row["what"] == "pair" and "pair" in wanted:
            a, b = known.owner(row["on"]), known.owner(row["end"])
            if -2 not in (a, b) and (max(a, b) >= 0 or (a, b) == (-3, -3)):
                yield "pair", a == b and a >= 0, row["features"], 1.0
        elif row["what"] == "group" and "series" in wanted:
            owners = [known.owner(t) for t in row["taps"]]
            if sum(o == -2 for o in owners) * 2 >= len(owners):
                continue
            most = max(owners.count(o) for o in set(owners) | {0} if o >= 0) if max(owners) >= 0 else 0
            yield "series", most >= 2 and most >= 0.5 * len(owners), row["features"], 1.0 / row["parts"]


def one(seed):
    import clips
    import scenes
    import training
    pack, binary, wanted = one.given
    if not hasattr(one, "library"):
        packed = clips.Packed(pack)
        one.library = clips.Library(packed.side, packed)
    rng = np.random.default_rng([seed, 3])
    grounds = [*scenes.GROUNDS, "calm", "calm"]  # lulls are what the tool is for
    scene = scenes.draw(one.library.side, seed, grounds[seed % len(grounds)], library=one.library,
                        channels=int(rng.choice([1, 2, 3, 4, 5, 6, 7, 8], p=[.2, .1, .15, .15, .15, .1, .1, .05])),
                        rate=int(rng.choice([4000, 8000, 16000], p=[.15, .45, .4])), seconds=SECONDS)
    samples, truth = training.varied_scene(rng, scene)
    asked = (["pairs"] if "pair" in wanted else []) + (["bare"] if seed % 7 == 5 else [])
    kinds = "".join(c["kind"][0] for c in truth["channels"])
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "scene.f32"
        samples.astype(np.float32).tofile(path)
        out = subprocess.run([binary, str(path), str(truth["rate_hz"]), str(len(samples)), kinds, *asked],
                             check=True, capture_output=True, text=True).stdout
    found = list(labelled((json.loads(line) for line in out.splitlines()), truth, wanted))
    return seed, {name: [np.array([row[k] for row in found if row[0] == name], np.float32)
                         for k in (2, 1, 3)] for name in wanted}


def rows(pack, binary, path, wanted, count, jobs, first):
    one.given = pack, binary, wanted
    kept = {name: {part: [] for part in "xyws"} for name in wanted}
    with multiprocessing.get_context("fork").Pool(jobs) as pool:
        for k, (seed, found) in enumerate(pool.imap_unordered(one, range(first, first + count))):
            for name, (x, y, w) in found.items():
                if len(y):
                    keep = np.arange(len(y))
                    if name == "pair" and len(y) > 3000:  # of a crowded scene, some
                        keep = np.sort(np.random.default_rng(seed).choice(len(y), 3000, False))
                    for part, values in zip("xyws", (x, y, w, np.full(len(y), seed))):
                        kept[name][part].append(values[keep])
            if k % 50 == 0:
                print(k, "scenes", file=sys.stderr, flush=True)
    np.savez_compressed(path, **{f"{name}_{part}": np.concatenate(values) for name, parts in kept.items()
                                 for part, values in parts.items()})


def loaded(paths, name):
    files = [np.load(path) for path in paths]
    x, y, weight, scene = (np.concatenate([file[f"{name}_{part}"] for file in files]) for part in "xyws")
    return x.astype(float), y.astype(float), weight, scene


def fit_all(paths, wanted, write):
    for name in wanted:
        x, y, weight, scene = loaded(paths, name)
        held = scene % 4 == 3
        trial = model_text.fit(name, x[~held], y[~held], weight[~held])
        odds = model_text.log_odds(trial, x[held])
        yes, no = odds[y[held] > 0], odds[y[held] < 1]
        print(f"{name}: {len(y)} rows of {len(set(scene))} scenes, {y.mean():.3f} true; held out, true kept at "
              + ", ".join(f"{share}: {np.mean(yes > np.quantile(no, 1 - share)):.3f}"
                          for share in (0.3, 0.1, 0.03, 0.01)) + " of false", flush=True)
        if write:
            model_text.write(name, model_text.fit(name, x, y, weight), y.mean(), len(set(scene)))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    verbs = parser.add_subparsers(dest="verb", required=True)
    listener = verbs.add_parser("features")
    listener.add_argument("build")
    listener.add_argument("binary")
    made = verbs.add_parser("rows")
    for name in ("pack", "binary", "path"):
        made.add_argument(name)
    made.add_argument("--scenes", type=int, default=400)
    made.add_argument("--first", type=int, default=FIRST_SEED)
    made.add_argument("--jobs", type=int, default=multiprocessing.cpu_count())
    fitted = verbs.add_parser("fit")
    fitted.add_argument("paths", nargs="+")
    fitted.add_argument("--write", action="store_true")
    for verb in (made, fitted):
        verb.add_argument("--what", default="pair,impulse")
    given = parser.parse_args()
    if given.verb == "features":
        build(given.build, given.binary)
    elif given.verb == "rows":
        rows(given.pack, given.binary, given.path, given.what.split(","), given.scenes, given.jobs, given.first)
    else:
        fit_all(given.paths, given.what.split(","), given.write)


if __name__ == "__main__":
    main()
