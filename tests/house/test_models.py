#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The models of data/models/: a file whose parts do not belong together is refused when it is built."""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ.get("LULL_SOURCE", pathlib.Path(__file__).resolve().parents[2]))
MODELS = SOURCE / "data/models"
sys.path.insert(0, str(SOURCE / "scripts/train"))
import model_file  # noqa: E402


class Models(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)

    def build(self, name, change=lambda model: None):
        for path in MODELS.glob(f"{name}.*"):
            shutil.copy(path, self.folder)
        path = self.folder / f"{name}.json"
        model = json.loads(path.read_text())
        change(model)
        path.write_text(json.dumps(model))
        return subprocess.run([sys.executable, SOURCE / "scripts/model_source.py", path, self.folder / "made"],
                              capture_output=True, text=True)

    def refused(self, name, change, why):
        done = self.build(name, change)
        self.assertEqual((done.returncode, done.stderr.count("\n")), (1, 1), done.stderr)
        self.assertIn(why, done.stderr)

    def test_models_are_built(self):
        names = sorted(path.stem for path in MODELS.glob("*.json"))
        self.assertEqual(names, ["impulse", "pair", "series", "voice"])
        for name in names:
            done = self.build(name)
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_every_model_says_where_it_is_from(self):
        for path in MODELS.glob("*.json"):
            model = json.loads(path.read_text())
            for key in ("schema", "fitted_by", "seeds", "with", "figures"):
                self.assertTrue(model[key], f"{path.name}: {key}")
            self.assertEqual(model["sounds"], model_file.sounds_of("fit"), path.name)

    def test_weights_of_another_fit_are_refused(self):
        self.refused("voice", lambda model: model.update(weights_sha256="0" * 64), "SHA-256")

    def test_a_question_of_no_feature_is_refused(self):
        def drop_last_features(model):
            model["schema"] = "; ".join(model["schema"].split("; ")[:3])
        self.refused("pair", drop_last_features, "its 3 features")

    def test_a_tree_that_leads_beyond_its_end_is_refused(self):
        self.refused("impulse", lambda model: model["trees"][1].pop(), "tree 2, node")

    def test_writing_without_a_new_part_changes_no_byte(self):
        for path in MODELS.glob("*.json"):
            copy = self.folder / path.name
            shutil.copy(path, copy)
            model_file.write(copy)
            self.assertEqual(copy.read_bytes(), path.read_bytes(), path.name)


if __name__ == "__main__":
    unittest.main()
