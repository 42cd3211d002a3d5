#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes lib/detect/weights.hpp: logistic models fitted to seeded scenes (scenes.py).

    scripts/train/detect_weights.py BUILD_FOLDER [--scenes N] [--collect FILE] [--write]

BUILD_FOLDER holds the static libraries of a finished build. Every site of scenes.py appears with
knocks, voices, horns and nothing in it, at SNR from -3 to 22 dB. Labels: an impulse within 30 ms of
a knock; a lasting sound half covered by a voice; a tap group inside a group of knocks. Speech files
with an even index are for training; reporting uses the odd ones. Fitted by L-BFGS
(scipy.optimize) with a ridge, on the features and their products. Seeds: 1000 and up for training.
"""
import argparse
import json
import os
import pathlib
import re
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
SECONDS = 150
RIDGE = 3.0
SNR_RANGE_DB = "-3 to 22"
FEATURES = {
    "impulse": ["SNR [10 dB]", "ln(1 + score)", "contrast [10 dB]", "rise [10 ms]",
                "decay [100 ms]", "1 when measured on the tracks alone"],
    "voice": ["voiced share", "harmonicity", "pitch spread [semitones]", "pitch jumps",
              "syllabic share", "log2 duration [s]", "SNR [10 dB]", "longest voiced run [s]",
              "energy in impulses", "fullness", "steadiness exp(-spread / 0.5 semitones)",
              "log2(centroid / 500 Hz)", "log2(fundamental / 200 Hz)"],
    "series": ["log2 taps", "longest run beyond 6 taps [4]", "regularity", "likeness",
               "mean SNR [10 dB]", "mean log odds of the taps alone", "ln(1 + crowd per 10 s)",
               "log2(1 + groups)", "1 for a pair", "interval short of 0.25 s [0.1 s]",
               "beats beyond the group, up to 4 [4]", "beats beyond 4 [4]",
               "log2(taps + beats beyond)", "log2 of the pause around it [intervals]"],
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


def listen(binary, samples, kind="a"):
    with tempfile.NamedTemporaryFile(suffix=".f32") as file:
        np.asarray(samples, np.float32).tofile(file.name)
        out = subprocess.run([binary, file.name, str(scenes.RATE), "1", kind], check=True,
                             capture_output=True, text=True).stdout
    return [json.loads(line) for line in out.splitlines()]


def label(rows, truth):
    """(model, label, features, snr of the truth or None) for every row that a model judges."""
    knocks = np.array(sorted(t for row in truth for t in row[4]) or [-1e9])
    for row in rows:
        middle = 0.5 * (row["on"] + row["end"])
        if row["what"] == "arrival" and not row["sustained"]:
            hit = np.abs(knocks - row["on"]).min() < 0.03
            yield "impulse", hit, row["features"]
        elif row["what"] == "arrival":
            covered = max([0.0] + [min(row["end"], t[1]) - max(row["on"], t[0])
                                   for t in truth if t[2] == "voice-like"])
            yield "voice", covered > 0.5 * (row["end"] - row["on"]), row["features"]
        elif row["what"] == "group":
            hit = any(t[0] - 0.2 <= middle <= t[1] + 0.2 for t in truth if t[2] == "tapping")
            yield "series", hit, row["features"]


def one(job):
    binary, seed, site, what, kind, seconds = job
    files = scenes.SPEECH[::2]
    samples, truth = scenes.scene(seed, site, seconds, what, files=files)
    return [(m, bool(y), f, site, what) for m, y, f in label(listen(binary, samples, kind), truth)]


def collect(binary, count, seconds):
    jobs = []
    for k in range(count):
        site = scenes.SITES[k % len(scenes.SITES)]
        what = ["knocks", "voices", "nothing", "knocks", "horns"][(k // len(scenes.SITES)) % 5]
        jobs.append((binary, FIRST_SEED + k, site, what, "a", seconds))
    with Pool(2) as pool:
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


def log_odds(model, x):
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


def replace(path, name, model, prior):
    """Puts one model in the place of the old one."""
    text = path.read_text()
    text = re.sub(rf"inline constexpr Logistic<\d+> {name}_weights\{{.*?\}}\}};",
                  lambda _: block(name, model), text, flags=re.S)
    text = re.sub(rf"({name}_prior) = [\d.]+;", rf"\g<1> = {prior:.4f};", text)
    path.write_text(text)
    subprocess.run(["clang-format", "-i", str(path)], check=False)


def write(path, fitted, priors, scene_count, seconds):
    """Writes the header whole."""
    out = ["// SPDX-License-Identifier: GPL-3.0-or-later", "//",
           "// Weights of the logistic models of detect/confidence.hpp and detect/series.hpp. Made by",
           f"// scripts/train/detect_weights.py from {scene_count} scenes of {seconds:g} s, seeds from "
           f"{FIRST_SEED}; do not edit.", "#pragma once", "",
           '#include "detect/internal/logistic.hpp"', "", "namespace lull {", ""]
    for name, features in FEATURES.items():
        model = fitted[name]
        out += [f"/// Share of the candidates in those scenes that were true: the prior of {name}_weights.",
                f"inline constexpr double {name}_prior = {priors[name]:.4f};", ""]
        out += [f"/// Features: {'; '.join(features)}."]
        out += [block(name, model), ""]
    path.write_text("\n".join(out + ["} // namespace lull", ""]))
    subprocess.run(["clang-format", "-i", str(path)], check=False)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build")
    parser.add_argument("--scenes", type=int, default=150)
    parser.add_argument("--seconds", type=float, default=SECONDS, help="length of a scene")
    parser.add_argument("--only", help="the one model to replace; the others stay as they are")
    parser.add_argument("--collect", help="keep the features in this file, or take them from it")
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    if options.collect and os.path.exists(options.collect):
        rows = json.load(open(options.collect))
    else:
        rows = collect(build(options.build), options.scenes, options.seconds)
        if options.collect:
            json.dump(rows, open(options.collect, "w"))
    fitted, priors = {}, {}
    for name, features in FEATURES.items():
        of = [row for row in rows if row[0] == name]
        x = np.array([row[2] for row in of])
        y = np.array([row[1] for row in of], float)
        assert x.shape[1] == len(features)
        fitted[name] = fit(x, y)
        priors[name] = y.mean()
        p = 1 / (1 + np.exp(-log_odds(fitted[name], x)))
        print(f"{name}: {len(y)} rows, {y.mean():.3f} true; at 0.5: recall "
              f"{np.mean(p[y > 0] >= 0.5):.3f}, false {np.sum(p[y < 1] >= 0.5)}")
        for site in scenes.SITES:
            pick = np.array([row[3] == site for row in of])
            print(f"    {site}: true {int(y[pick].sum())} found {int(np.sum(p[pick & (y > 0)] >= 0.5))}"
                  f" false {int(np.sum(p[pick & (y < 1)] >= 0.5))} of {int(np.sum(y[pick] < 1))}")
    if options.write and options.only:
        replace(ROOT / "lib/detect/weights.hpp", options.only, fitted[options.only],
                priors[options.only])
    elif options.write:
        write(ROOT / "lib/detect/weights.hpp", fitted, priors, options.scenes, options.seconds)


if __name__ == "__main__":
    sys.exit(main())
