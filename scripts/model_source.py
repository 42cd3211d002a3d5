#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turns a model of data/models/ into C++: NAME_model.hpp with its schema and figures, NAME_model.cpp
with its weights. Refuses weights that are not those which the model's file tells of.

Usage: model_source.py MODEL.json FOLDER
"""
import hashlib
import json
import pathlib
import sys

HEADER = """// Made by scripts/model_source.py of data/models/{name}.json.
#pragma once

#include <cstddef>
#include <string_view>

namespace lull::{name}_model {{

inline constexpr std::string_view schema = {schema};
inline constexpr std::size_t weight_count = {count};
{figures}
[[nodiscard]] const float* weights();

}} // namespace lull::{name}_model
"""
SOURCE = """// Made by scripts/model_source.py of data/models/{name}.json.
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


def main():
    path, folder = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    model = json.loads(path.read_text())
    weights = path.with_suffix(".f32").resolve()
    found = hashlib.sha256(weights.read_bytes()).hexdigest()
    if found != model["weights_sha256"]:
        sys.exit(f"model_source.py: {weights.name}: SHA-256 is {found}, {path.name} tells of "
                 f"{model['weights_sha256']}: fit the model again, or take both files of one fit")
    figures = "".join(f"inline constexpr double {key} = {value!r};\n"
                      for key, value in model["constants"].items())
    values = {"name": path.stem, "schema": json.dumps(model["schema"]), "figures": figures,
              "count": weights.stat().st_size // 4, "weights": weights}
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{path.stem}_model.hpp").write_text(HEADER.format(**values))
    (folder / f"{path.stem}_model.cpp").write_text(SOURCE.format(**values))


if __name__ == "__main__":
    main()
