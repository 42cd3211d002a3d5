#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turns a model of data/models/ into C++: NAME_model.hpp with its schema and figures, NAME_model.cpp
with its weights or trees. Refuses a file whose parts do not belong together.

Usage: model_source.py MODEL.json FOLDER
"""
import hashlib
import json
import pathlib
import sys

HEADER = """// Made by scripts/model_source.py of data/models/{name}.json.
#pragma once

{include}#include <cstddef>
#include <string_view>

namespace lull::{name}_model {{

inline constexpr std::string_view schema = {schema};
{figures}
{content}
}} // namespace lull::{name}_model
"""
WEIGHTS = """// Made by scripts/model_source.py of data/models/{name}.json.
#include "models/{name}_model.hpp"

asm(".section .rodata\\n.balign 64\\n.globl lull_{name}_weights\\nlull_{name}_weights:\\n"
    ".incbin \\"{weights}\\"\\n.previous\\n");
extern "C" const float lull_{name}_weights[];

namespace lull::{name}_model {{

const float* weights() {{
    return lull_{name}_weights;
}}

}} // namespace lull::{name}_model
"""
TREES = """// Made by scripts/model_source.py of data/models/{name}.json.
#include "models/{name}_model.hpp"

namespace lull::{name}_model {{

namespace {{

constexpr ForestNode nodes[] = {{
{nodes}}};

}} // namespace

constinit const Forest forest{{bias, nodes}};

}} // namespace lull::{name}_model
"""


def refuse(path, why):
    sys.exit(f"model_source.py: {path.name}: {why}: fit the model again, or take all parts of one fit")


def of_weights(path, model):
    weights = path.with_suffix(".f32").resolve()
    found = hashlib.sha256(weights.read_bytes()).hexdigest()
    if found != model["weights_sha256"]:
        refuse(path, f"SHA-256 of {weights.name} is {found}, it tells of {model['weights_sha256']}")
    count = weights.stat().st_size // 4
    return {"include": "", "weights": weights,
            "content": f"inline constexpr std::size_t weight_count = {count};\n"
                       "[[nodiscard]] const float* weights();\n"}, WEIGHTS


def of_trees(path, model):
    """Every node in one list. A node: feature (-1: a leaf), nodes to go on by when above, value."""
    features = model["schema"].split("; ")
    for number, tree in enumerate(model["trees"], 1):
        for at, (feature, above, _) in enumerate(tree):
            leaf = feature == -1 and above == 0
            if not leaf and not (0 <= feature < len(features) and 1 < above < len(tree) - at):
                refuse(path, f"tree {number}, node {at} is neither a leaf nor a question of its {len(features)} features")
    nodes = "".join(f"    {{{feature}, {above}, {float(value)!r}F}},\n"
                    for tree in model["trees"] for feature, above, value in tree)
    return {"include": '#include "detect/internal/forest.hpp"\n\n', "nodes": nodes,
            "content": f"inline constexpr std::size_t feature_count = {len(features)};\n"
                       "extern const Forest forest;\n"}, TREES


def main():
    path, folder = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    model = json.loads(path.read_text())
    values, source = (of_trees if "trees" in model else of_weights)(path, model)
    values["figures"] = "".join(f"inline constexpr double {key} = {value!r};\n"
                                for key, value in model["constants"].items())
    values.update(name=path.stem, schema=json.dumps(model["schema"]))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{path.stem}_model.hpp").write_text(HEADER.format(**values))
    (folder / f"{path.stem}_model.cpp").write_text(source.format(**values))


if __name__ == "__main__":
    main()
