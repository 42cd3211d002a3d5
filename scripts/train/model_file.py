# SPDX-License-Identifier: GPL-3.0-or-later
"""The files of data/models/: what they hold, and how a fit is written into one."""
import json
import pathlib

ROOT = pathlib.Path(__file__).resolve().parents[2]


def sounds_of(side):
    """Packages that clips of a side come from, as data/sounds.json has them."""
    manifest = json.loads((ROOT / "data/sounds.json").read_text())
    used = {group["package"] for group in manifest["groups"] if group["side"] == side}
    return [{key: row[key] for key in ("package", "version", "licence", "attribution")}
            for row in manifest["packages"] if row["package"] in used and row["for_training"]]


def write(path, **parts):
    """Puts the parts of a new fit into a model's file; what is not given stays. A tree is one line."""
    model = json.loads(path.read_text()) | parts | {"sounds": sounds_of("fit")}
    trees = model.pop("trees", None)
    text = json.dumps(model, indent=1)
    if trees is not None:
        lines = ",\n".join("  " + json.dumps(tree, separators=(",", ":")) for tree in trees)
        text = f'{text[:-2]},\n "trees": [\n{lines}\n ]\n}}'
    path.write_text(text + "\n")
