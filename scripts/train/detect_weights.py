#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes lib/detect/weights.hpp, voice_forest.hpp and series_forest.hpp: models fitted to seeded scenes.

    scripts/train/detect_weights.py BUILD [--scenes N] [--cache FOLDER] [--only NAME] [--write]

BUILD holds the static libraries of a finished build. Every site of scenes.py appears with
knocks, voices, horns and nothing in it, at SNR from -3 to 22 dB. Labels: an impulse within 30 ms of
a knock; a piece of what lasts, as it is judged, half covered by a voice or holding half of one; a pair
of impulses, of which one at least is a knock, that both are knocks of one group; a tap group of which
two taps at least, and half, are knocks of one group. In every seventh scene pairs and groups are judged
without their waveforms. Speech files with an even index are for training; reporting uses the odd ones.
Logistic models are fitted by L-BFGS (scipy.optimize) with a ridge, on the features and their products;
the voice and series models are boosted trees (Debian's python3-sklearn, 1.2), which may follow most
features one way only. Seeds: 1000 and up. The impulse and pair models are features of the series model,
and what is judged a voice takes impulses away: fit impulse, voice and pair, rebuild, then fit series.
With --cache, scenes are kept.
"""
import argparse
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from multiprocessing import Pool

import numpy as np
from scipy.optimize import minimize

import scenes

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
FIRST_SEED = 1000
SECONDS = 100
WHAT = ["knocks", "nothing", "voices", "knocks", "nothing", "knocks", "nothing", "horns"]
ONE_SOURCE = (3, 5)  # of WHAT: somebody who knocks again and again; else each group is another's
RIDGE = 3.0
# The way in which a feature may speak (1: for, -1: against, 0: either). Scenes have habits that sites
# have not (a knock group is seldom far from the next); what lies around a group may only ever speak as
# it does in the world. Trees find a habit at the smallest step, so features that speak of runs and beats
# are 0 as far as a person goes (detect/internal/group_features.cpp).
SIGN = {"voice": [1, 1, 0, -1, 0, 0, 0, 1, -1, 0, 0, 0, 0, 1, 1, 0, -1],
        "series": [0, -1, 0, 1, 1, 1, -1, 1, -1, 0, -1, -1, 0, 1, 1, 0, -1, -1, -1, -1, 1,
                   1, 1, -1, -1, -1, -1, -1, -1]}
# Chosen on scenes left out, in four folds: 1,620 scenes and these trees find .737 of groups and .733 of voices
# at 4 false an hour, where 540 scenes and half as many trees find .691 and .705. More scenes add little.
FOREST = {"voice": {"max_iter": 300, "max_leaf_nodes": 8, "learning_rate": 0.08,
                    "min_samples_leaf": 20, "l2_regularization": 5.0},
          "series": {"max_iter": 200, "max_leaf_nodes": 8, "learning_rate": 0.1,
                     "min_samples_leaf": 20, "l2_regularization": 3.0}}
FEATURES = {
    "impulse": ["SNR [10 dB]", "ln(1 + score)", "contrast [10 dB]", "rise [10 ms]",
                "decay [100 ms]", "1 when measured on the tracks alone"],
    "voice": ["voiced share", "harmonicity", "pitch spread [semitones]", "pitch jumps",
              "syllabic share", "log2 duration [s]", "SNR [10 dB]", "longest voiced run [s]",
              "energy in impulses", "fullness", "steadiness exp(-spread / 0.5 semitones)",
              "log2(centroid / 500 Hz)", "log2(fundamental / 200 Hz)",
              "ln(1 + gain of the path of pitch)", "periodic share along it",
              "its range [semitones]",
              "ln(1 + impulses a second around it that have its spectrum)"],
    "pair": ["correlation of waveforms", "correlation expected of one source at this noise",
             "their ratio", "likeness of bands", "difference of levels [dB]",
             "SNR of the weaker [10 dB]", "ln of the ratio of decays", "ln of the ratio of centroids"],
    "series": ["log2 taps, up to 6", "0 (was the longest run beyond 8 taps)", "regularity", "likeness",
               "mean SNR [10 dB]", "mean log odds of the taps alone", "ln(1 + crowd per 10 s)",
               "log2(1 + groups)", "1 for a pair", "log2(interval / 0.4 s)",
               "beats beyond the group, up to 4 [4]", "beats beyond 4 [4]",
               "log2(taps up to 6 + beats beyond)", "log2 of the pause around it [intervals]",
               "correlation of imprints", "correlation expected", "SNR spread [4 dB]",
               "ln(1 + alike per 10 s)", "ln(1 + stronger per 10 s)",
               "share inside lasting sounds", "log2 of the pause from what is alike [intervals]",
               "log likelihood ratio of one source", "the least of it",
               "ln of such groups by chance in a minute [4]", "trend of levels", "sides",
               "0 (was taps beyond 8 of runs elsewhere)", "beat of the chain's groups beyond 0.8",
               "-5 (was the log likelihood ratio of a steady source)"],
}


def build(folder):
    binary = pathlib.Path(folder) / "detect_features"
    libraries = [str(pathlib.Path(folder) / f"liblull_{m}.a")
                 for m in ("detect", "health", "noise", "signal", "recording", "base")]
    subprocess.run(["g++", "-std=c++20", "-O2", f"-I{ROOT}/lib", "-I/usr/include/eigen3",
                    "-o", str(binary), str(HERE / "detect_features.cpp"),
                    *[lib for lib in libraries if os.path.exists(lib)],
                    "-lfmt", "-lsndfile", "-lfftw3f", "-lcrypto"], check=True)
    return str(binary)


def listen(binary, path, asked):
    out = subprocess.run([binary, str(path), str(scenes.RATE), "1", "a", *asked], check=True,
                         capture_output=True, text=True).stdout
    return [json.loads(line) for line in out.splitlines()]


def knocks_of_one(times, truth):
    """Whether two taps at least, and half of them, are knocks of one group."""
    most = max([0] + [sum(min(abs(t - s) for s in row[4]) < 0.04 for t in times)
                      for row in truth if row[4]])
    return most >= 2 and most >= 0.5 * len(times)


def group_of(at, truth):
    """Number of the group that an impulse is a knock of; None: of none."""
    return next((g for g, row in enumerate(truth) if any(abs(at - s) < 0.03 for s in row[4])), None)


def holds_voice(on, end, truth):
    """Whether a piece of what lasts is half covered by a voice, or holds half of one."""
    return any(min(end, t[1]) - max(on, t[0]) > 0.5 * min(end - on, t[1] - t[0])
               for t in truth if t[2] == "voice-like")


def label(rows, truth):
    """(model, label, features) for every row that a model judges."""
    knocks = np.array(sorted(t for row in truth for t in row[4]) or [-1e9])
    for row in rows:
        if row["what"] == "arrival" and not row["sustained"]:
            yield "impulse", np.abs(knocks - row["on"]).min() < 0.03, row["features"]
        elif row["what"] == "lasting":
            yield "voice", holds_voice(row["on"], row["end"], truth), row["features"]
        elif row["what"] == "pair":
            of = group_of(row["on"], truth), group_of(row["end"], truth)
            if of != (None, None):
                yield "pair", of[0] == of[1], row["features"]
        elif row["what"] == "group":
            yield "series", knocks_of_one(row["taps"], truth), row["features"]


def one(job):
    binary, k, cache, names = job
    site = scenes.SITES[k % len(scenes.SITES)]
    turn = (k // len(scenes.SITES)) % len(WHAT)
    what = WHAT[turn]
    path = pathlib.Path(cache) / f"{k:05d}.f32"
    truth_path = path.with_suffix(".json")
    if not truth_path.exists():
        samples, truth = scenes.scene(FIRST_SEED + k, site, SECONDS, what, files=scenes.SPEECH[::2],
                                      one_source=turn in ONE_SOURCE)
        samples.tofile(path)
        truth_path.write_text(json.dumps({"truth": truth}))
    truth = json.loads(truth_path.read_text())["truth"]
    # 7 shares no factor with the number of sites: each has its turn.
    asked = ["bare"] * (k % 7 == 5) + ["pairs"] * ("pair" in names)
    return [(m, bool(y), f, site, what) for m, y, f in label(listen(binary, path, asked), truth)]


def collect(binary, count, cache, names):
    with Pool(2) as pool:
        jobs = [(binary, k, cache, names) for k in range(count)]
        return [row for rows in pool.imap(one, jobs, chunksize=2) for row in rows]


def expand(x, mean, scale):
    """The features, made standard, and their products."""
    s = np.clip((x - mean) / scale, -3, 3)
    return np.hstack([s] + [s[:, [i]] * s[:, i:] for i in range(s.shape[1])])


def fit(x, y):
    """A model as a dict of bias, mean, scale, linear, product."""
    mean, scale = x.mean(axis=0), x.std(axis=0) + 1e-3
    design = np.hstack([np.ones((len(x), 1)), expand(x, mean, scale)])

    def loss(w):
        z = design @ w
        p = 1 / (1 + np.exp(-np.clip(z, -50, 50)))
        value = np.sum(np.logaddexp(0, z) - y * z) + 0.5 * RIDGE * np.sum(w[1:] ** 2)
        return value, design.T @ (p - y) + RIDGE * np.concatenate([[0], w[1:]])

    w = minimize(loss, np.zeros(design.shape[1]), jac=True, method="L-BFGS-B",
                 options={"maxiter": 2000}).x
    n = x.shape[1]
    return {"bias": w[0], "mean": mean, "scale": scale, "linear": w[1:n + 1], "product": w[n + 1:]}


def fit_forest(x, y, name):
    from sklearn.ensemble import HistGradientBoostingClassifier
    trees = HistGradientBoostingClassifier(monotonic_cst=SIGN[name], early_stopping=False,
                                           random_state=1, **FOREST[name])
    return trees.fit(x, y)


def log_odds(model, x):
    if not isinstance(model, dict):
        return model.decision_function(x)
    return model["bias"] + expand(x, model["mean"], model["scale"]) @ np.concatenate(
        [model["linear"], model["product"]])


def numbers(values):
    lines, line = [], "       "
    for value in values:
        word = f" {value:.4f},"
        if len(line) + len(word) > 99:
            lines.append(line)
            line = "       "
        line += word
    return "{\n" + "\n".join(lines + [line]).rstrip(",") + "}"


def block(name, model):
    return (f"inline constexpr Logistic<{len(FEATURES[name])}> {name}_weights{{\n"
            f"    {model['bias']:.4f}, {numbers(model['mean'])}, {numbers(model['scale'])},\n"
            f"    {numbers(model['linear'])}, {numbers(model['product'])}}};")


def nodes_of(nodes, at=0):
    """A tree as the program reads it: (feature, nodes to go on when above, threshold or value)."""
    node = nodes[at]
    if node["is_leaf"]:
        return [(-1, 0, node["value"])]
    below, above = nodes_of(nodes, node["left"]), nodes_of(nodes, node["right"])
    return [(node["feature_idx"], 1 + len(below), node["num_threshold"]), *below, *above]


OF = {"voice": "The model of what lasts (detect/confidence.hpp).",
      "series": "The model of detect/series.hpp."}


def write_forest(name, model, prior, scene_count):
    # The trees themselves are not part of scikit-learn's interface: as in its version 1.2.
    nodes = [n for (tree,) in model._predictors for n in nodes_of(tree.nodes)]
    names = "; ".join(f"{k} {feature}" for k, feature in enumerate(FEATURES[name]))
    path = ROOT / f"lib/detect/{name}_forest.hpp"
    path.write_text(f"""// SPDX-License-Identifier: GPL-3.0-or-later
//
// {OF[name]} Made by scripts/train/detect_weights.py (seeds from 1000):
// {scene_count} scenes of {SECONDS} s; do not edit.
#pragma once

#include "detect/internal/forest.hpp"

namespace lull {{

/// The prior that it stands under: the share of true ones in those scenes.
inline constexpr double {name}_prior = {prior:.4f};

/// {FOREST[name]["max_iter"]} trees. Features: {names}.
inline constexpr ForestNode {name}_nodes[] = {{
    {", ".join(f"{{{f}, {a}, {v:.5g}{'' if '.' in f'{v:.5g}' else '.0'}F}}" for f, a, v in nodes)}}};
inline constexpr double {name}_bias = {float(np.ravel(model._baseline_prediction)[0]):.5f};

}} // namespace lull
""")
    subprocess.run(["clang-format", "-i", str(path)], check=False)


def replace(path, name, model, prior):
    """Puts one model in the place of the old one."""
    text = path.read_text()
    text = re.sub(rf"inline constexpr Logistic<\d+> {name}_weights\{{.*?\}}\}};",
                  lambda _: block(name, model), text, flags=re.S)
    text = re.sub(rf"({name}_prior) = [\d.]+;", rf"\g<1> = {prior:.4f};", text)
    path.write_text(text)
    subprocess.run(["clang-format", "-i", str(path)], check=False)


def write(path, fitted, priors, scene_count):
    """Replaces the models that were fitted; where both logistic ones were, says what from."""
    for name, model in fitted.items():
        if name in FOREST:
            write_forest(name, model, priors[name], scene_count)
        else:
            replace(path, name, model, priors[name])
    if not {"impulse", "pair"} <= set(fitted):
        return  # the others stay what they were, and the header says so
    text = re.sub(r"(seeds from 1000\): ).*?; do not edit\.",
                  rf"\g<1>{scene_count} scenes of {SECONDS} s; do not edit.",
                  path.read_text(), flags=re.S)
    path.write_text(text)
    subprocess.run(["clang-format", "-i", str(path)], check=False)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build")
    parser.add_argument("--scenes", type=int, default=2160)
    parser.add_argument("--only", help="comma-separated models to replace; the others stay")
    parser.add_argument("--cache", help="keep the scenes in this folder")
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    cache = options.cache or tempfile.mkdtemp()
    os.makedirs(cache, exist_ok=True)
    names = options.only.split(",") if options.only else list(FEATURES)
    rows = collect(build(options.build), options.scenes, cache, names)
    fitted, priors = {}, {}
    for name in names:
        of = [row for row in rows if row[0] == name]
        x = np.array([row[2] for row in of])
        y = np.array([row[1] for row in of], float)
        assert x.shape[1] == len(FEATURES[name])
        fitted[name] = fit_forest(x, y, name) if name in FOREST else fit(x, y)
        priors[name] = y.mean()
        p = 1 / (1 + np.exp(-log_odds(fitted[name], x)))
        print(f"{name}: {len(y)} rows, {y.mean():.3f} true; at 0.5: recall "
              f"{np.mean(p[y > 0] >= 0.5):.3f}, false {np.sum(p[y < 1] >= 0.5)}")
        for site in scenes.SITES:
            pick = np.array([row[3] == site for row in of])
            print(f"    {site}: true {int(y[pick].sum())} found {int(np.sum(p[pick & (y > 0)] >= 0.5))}"
                  f" false {int(np.sum(p[pick & (y < 1)] >= 0.5))} of {int(np.sum(y[pick] < 1))}")
    if options.write:
        write(ROOT / "lib/detect/weights.hpp", fitted, priors, options.scenes)
    if not options.cache:
        shutil.rmtree(cache)


if __name__ == "__main__":
    sys.exit(main())
