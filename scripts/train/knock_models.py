#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fits the models of knocks: one source (pair), an impulse alone (impulse), a group (series).

    cmake --build BUILD --target detect_features
    scripts/train/knock_models.py rows PACK BUILD/tests/detect_features ROWS.npz --what pair,impulse --scenes 400
    scripts/train/knock_models.py fit ROWS.npz... --what pair,impulse --write
    ... build again, since a group's features are made of these; then rows and fit with --what series

What is measured, and the names of it, come from the program itself (scripts/train/detect_features.cpp).

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
import model_file  # noqa: E402

FIRST_SEED = 500000
SECONDS = 100.0
# The way in which a feature may speak (1: for, -1: against); of the others either. Scenes have habits that
# sites have not (a knock group is seldom far from the next); what lies around a group may only ever speak as
# it does in the world, and no number of taps, no steadiness and no likeness of theirs speaks against a person.
# Trees find a habit at the smallest step, so features that speak of runs and beats are 0 as far as a person
# goes (detect/internal/group_features.cpp).
WAYS = {
    "impulse": {"SNR [10 dB]": 1, "ln(1 + score)": 1, "contrast [10 dB]": 1, "rise [10 ms]": -1},
    "pair": {"correlation of waveforms": 1, "their ratio": 1, "likeness of bands": 1, "difference of levels [dB]": -1,
             "ln of the ratio of decays": -1, "ln of the ratio of centroids": -1,
             "asinh of the agreement of phases between channels": 1, "its mean cosine": 1,
             "scatter of levels between channels [4 dB]": -1, "share of channels that only one is heard on": -1},
    "series": {"log2 taps, up to 6": 1, "asinh of the agreement of places": 1, "regularity": 1, "likeness": 1,
               "mean SNR [10 dB]": 1, "mean log odds of the taps alone": 1, "ln(1 + crowd per 10 s)": -1,
               "log2(1 + groups)": 1, "1 for a pair": -1, "beats beyond the group, up to 4 [4]": -1,
               "beats beyond 4 [4]": -1, "log2 of the pause around it [intervals]": 1, "correlation of imprints": 1,
               "SNR spread [4 dB]": -1, "ln(1 + alike per 10 s)": -1, "ln(1 + stronger per 10 s)": -1,
               "share inside lasting sounds": -1, "log2 of the pause from what is alike [intervals]": 1,
               "log likelihood ratio of one source": 1, "the least of it": 1,
               "ln of such groups by chance in a minute [4]": -1, "trend of levels": -1, "sides": -1,
               "the same of the first tap and the last": 1, "beat of the chain's groups beyond 0.8": -1,
               "best channel over the next [10 dB]": -1, "log likelihood ratio of the one but next": 1}}
CROWD, QUIET = "ln(1 + crowd per 10 s)", 0.7  # of the series model; one other impulse in 10 s at most
TREES = {"impulse": 60, "pair": 120, "series": 250}
EARLY_S, LATE_S = 0.1, 0.04  # of an event's onset, which is its earliest arrival, to the truth's


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
    schemas = json.loads(subprocess.run([binary, "schemas"], check=True, capture_output=True, text=True).stdout)
    np.savez_compressed(path, **{f"{name}_schema": schemas[name] for name in wanted},
                        **{f"{name}_{part}": np.concatenate(values) for name, parts in kept.items()
                           for part, values in parts.items()})


def loaded(paths, name):
    files = [np.load(path) for path in paths]
    schema = str(files[0][f"{name}_schema"])
    if any(str(file[f"{name}_schema"]) != schema for file in files):
        sys.exit(f"knock_models.py: {paths}: not all have the same features: make the rows anew")
    x, y, weight, scene = (np.concatenate([file[f"{name}_{part}"] for file in files]) for part in "xyws")
    return schema, x.astype(float), y.astype(float), weight, scene


def fit(name, schema, x, y, weight):
    from sklearn.ensemble import HistGradientBoostingClassifier
    features = schema.split("; ")
    if not set(WAYS[name]) <= set(features) or x.shape[1] != len(features):
        sys.exit(f"knock_models.py: {name}: the rows' features are not those that WAYS names: make the rows anew")
    if name == "series":  # in a lull little else sounds; of scenes most rows come from the crowded ones
        weight = weight * np.where(x[:, features.index(CROWD)] < QUIET, 4.0, 1.0)
    trees = HistGradientBoostingClassifier(
        monotonic_cst=[WAYS[name].get(feature, 0) for feature in features], max_iter=TREES[name], max_leaf_nodes=12,
        learning_rate=0.1, min_samples_leaf=8, l2_regularization=1.0, early_stopping=False, random_state=1)
    return trees.fit(x, y, sample_weight=weight)


def nodes_of(nodes, at=0):
    """A tree as the program reads it: (feature, nodes to go on when above, threshold or value)."""
    node = nodes[at]
    if node["is_leaf"]:
        return [(-1, 0, float(f"{node['value']:.5g}"))]
    below, above = nodes_of(nodes, node["left"]), nodes_of(nodes, node["right"])
    return [(int(node["feature_idx"]), 1 + len(below), float(f"{node['num_threshold']:.5g}")), *below, *above]


def write(name, schema, trees, prior, scene_count):
    """The series model's calibration stays as it was: it is fitted on scenes of the side tune, by the bench."""
    path = model_file.ROOT / f"data/models/{name}.json"
    known = json.loads(path.read_text())
    bias = round(float(np.ravel(trees._baseline_prediction)[0]), 5)
    # The trees themselves are not part of scikit-learn's interface: as in its versions 1.2 to 1.7.
    model_file.write(path, schema=schema, constants=known["constants"] | {"prior": round(prior, 4), "bias": bias},
                     figures=known["figures"] | {"scenes": scene_count},
                     trees=[nodes_of(tree.nodes) for (tree,) in trees._predictors])


def fit_all(paths, wanted, is_written):
    for name in wanted:
        schema, x, y, weight, scene = loaded(paths, name)
        held = scene % 4 == 3
        trial = fit(name, schema, x[~held], y[~held], weight[~held])
        odds = trial.decision_function(x[held])
        yes, no = odds[y[held] > 0], odds[y[held] < 1]
        print(f"{name}: {len(y)} rows of {len(set(scene))} scenes, {y.mean():.3f} true; held out, true kept at "
              + ", ".join(f"{share}: {np.mean(yes > np.quantile(no, 1 - share)):.3f}"
                          for share in (0.3, 0.1, 0.03, 0.01)) + " of false", flush=True)
        if is_written:
            write(name, schema, fit(name, schema, x, y, weight), y.mean(), len(set(scene)))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    verbs = parser.add_subparsers(dest="verb", required=True)
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
    if given.verb == "rows":
        rows(given.pack, given.binary, given.path, given.what.split(","), given.scenes, given.jobs, given.first)
    else:
        fit_all(given.paths, given.what.split(","), given.write)


if __name__ == "__main__":
    main()
