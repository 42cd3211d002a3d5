# SPDX-License-Identifier: GPL-3.0-or-later
"""The models of knocks: how they are fitted, and how they are written into lib/detect."""
import pathlib
import subprocess

import numpy as np

ROOT = pathlib.Path(__file__).resolve().parents[2]
# The way in which a feature may speak (1: for, -1: against, 0: either). Scenes have habits that sites
# have not (a knock group is seldom far from the next); what lies around a group may only ever speak as
# it does in the world, and no number of taps, no steadiness and no likeness of theirs speaks against a person.
# Trees find a habit at the smallest step, so features that speak of runs and beats are 0 as far as a person
# goes (detect/internal/group_features.cpp).
SIGN = {"impulse": [1, 1, 1, -1, 0, 0],
        "pair": [1, 0, 1, 1, -1, 0, -1, -1, 1, 1, 0, -1, -1],
        "series": [1, 1, 1, 1, 1, 1, -1, 1, -1, 0, -1, -1, 0, 1, 1, 0, -1, -1, -1, -1, 1,
                   1, 1, -1, -1, -1, 1, -1, 0, 0, 0, -1, 1]}
CROWD, QUIET = 6, 0.7  # feature of the series model: ln(1 + other impulses in 10 s), one at most
TREES = {"impulse": 60, "pair": 120, "series": 250}
FEATURES = {
    "impulse": ["SNR [10 dB]", "ln(1 + score)", "contrast [10 dB]", "rise [10 ms]",
                "decay [100 ms]", "1 when measured on the tracks alone"],
    "pair": ["correlation of waveforms", "correlation expected of one source at this noise",
             "their ratio", "likeness of bands", "difference of levels [dB]",
             "SNR of the weaker [10 dB]", "ln of the ratio of decays", "ln of the ratio of centroids",
             "asinh of the agreement of phases between channels", "its mean cosine",
             "log2 of the channels", "scatter of levels between channels [4 dB]",
             "share of channels that only one is heard on"],
    "series": ["log2 taps, up to 6", "asinh of the agreement of places", "regularity", "likeness",
               "mean SNR [10 dB]", "mean log odds of the taps alone", "ln(1 + crowd per 10 s)",
               "log2(1 + groups)", "1 for a pair", "log2(interval / 0.4 s)",
               "beats beyond the group, up to 4 [4]", "beats beyond 4 [4]",
               "log2(taps up to 6 + beats beyond)", "log2 of the pause around it [intervals]",
               "correlation of imprints", "correlation expected", "SNR spread [4 dB]",
               "ln(1 + alike per 10 s)", "ln(1 + stronger per 10 s)",
               "share inside lasting sounds", "log2 of the pause from what is alike [intervals]",
               "log likelihood ratio of one source", "the least of it",
               "ln of such groups by chance in a minute [4]", "trend of levels", "sides",
               "the same of the first tap and the last", "beat of the chain's groups beyond 0.8",
               "log2 of the channels they are compared on",
               "log2 of the recording's channels", "log2 of the channels that hear a tap",
               "best channel over the next [10 dB]", "log likelihood ratio of the one but next"],
}


def fit(name, x, y, weight):
    from sklearn.ensemble import HistGradientBoostingClassifier
    assert x.shape[1] == len(FEATURES[name]), (name, x.shape)
    trees = HistGradientBoostingClassifier(
        monotonic_cst=SIGN[name], max_iter=TREES[name], max_leaf_nodes=12, learning_rate=0.1, min_samples_leaf=8,
        l2_regularization=1.0, early_stopping=False, random_state=1)
    return trees.fit(x, y, sample_weight=weight * crowding(name, x))


def crowding(name, x):
    """Weights. In a lull little else sounds; of scenes most rows come from the crowded ones."""
    return np.where(x[:, CROWD] < QUIET, 4.0, 1.0) if name == "series" else 1.0


def log_odds(model, x):
    return model.decision_function(x)


def nodes_of(nodes, at=0):
    """A tree as the program reads it: (feature, nodes to go on when above, threshold or value)."""
    node = nodes[at]
    if node["is_leaf"]:
        return [(-1, 0, node["value"])]
    below, above = nodes_of(nodes, node["left"]), nodes_of(nodes, node["right"])
    return [(node["feature_idx"], 1 + len(below), node["num_threshold"]), *below, *above]


OF = {"impulse": "The model of an impulse alone (detect/confidence.hpp).",
      "pair": "The model of one source (detect/internal/source.hpp).",
      "series": "The model of detect/series.hpp."}


def write(name, model, prior, scene_count):
    # The trees themselves are not part of scikit-learn's interface: as in its versions 1.2 to 1.7.
    nodes = [n for (tree,) in model._predictors for n in nodes_of(tree.nodes)]
    names = "; ".join(f"{k} {feature}" for k, feature in enumerate(FEATURES[name]))
    path = ROOT / f"lib/detect/{name}_forest.hpp"
    path.write_text(f"""// SPDX-License-Identifier: GPL-3.0-or-later
//
// {OF[name]} Made by scripts/train/knock_models.py of
// {scene_count} scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/forest.hpp"

namespace lull {{

/// The prior that it stands under: the share of true ones in those scenes.
inline constexpr double {name}_prior = {prior:.4f};

/// {TREES[name]} trees. Features: {names}.
inline constexpr ForestNode {name}_nodes[] = {{
    {", ".join(f"{{{f}, {a}, {v:.5g}{'' if '.' in f'{v:.5g}' else '.0'}F}}" for f, a, v in nodes)}}};
inline constexpr double {name}_bias = {float(np.ravel(model._baseline_prediction)[0]):.5f};

}} // namespace lull
""")
    subprocess.run(["clang-format", "-i", str(path)], check=False)
