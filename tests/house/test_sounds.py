#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The manifest of recorded sounds: valid, licensed, and no source on two sides."""
import json
import os
import pathlib
import sys
import tempfile
import unittest

try:
    import jsonschema
    import numpy as np
    import scipy  # noqa: F401 (sounds needs it)
    import soundfile
except ImportError as missing:
    print(f"SKIPPED: {missing.name} is not installed")
    sys.exit(77)

SOURCE = pathlib.Path(os.environ.get("LULL_SOURCE", pathlib.Path(__file__).parents[2]))
sys.path.insert(0, str(SOURCE / "scripts" / "hearing"))
import clips  # noqa: E402
import measure_sounds  # noqa: E402
import pack_sounds  # noqa: E402
import sounds  # noqa: E402
import sounds_page  # noqa: E402

RATE_HZ = 16000


def made_clicks(folder, at_s, decay_s=0.02, noise=1e-4):
    """A file with a decaying burst at each time, over noise; returns its path."""
    rng = np.random.default_rng(7)
    x = noise * rng.standard_normal(2 * RATE_HZ)
    t = np.arange(int(0.2 * RATE_HZ)) / RATE_HZ
    for at in at_s:
        first = int(at * RATE_HZ)
        x[first:first + len(t)] += 0.5 * np.exp(-t / decay_s) * np.sin(2 * np.pi * 700 * t)
    path = pathlib.Path(folder) / "made.wav"
    soundfile.write(path, x, RATE_HZ)
    return path


class Manifest(unittest.TestCase):
    def setUp(self):
        self.read = json.loads(sounds.MANIFEST.read_text(encoding="utf-8"))
        self.packages = {package["package"]: package for package in self.read["packages"]}

    def clips(self):
        for group in self.read["groups"]:
            for clip in sounds.clips_of(group, {group["package"]: ""}):
                yield clip

    def test_follows_its_schema(self):
        schema = json.loads((SOURCE / "data/schema/sounds.schema.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator.check_schema(schema)
        faults = [f"{list(fault.path)[:4]}: {fault.message[:200]}"
                  for fault in jsonschema.Draft202012Validator(schema).iter_errors(self.read)]
        self.assertEqual(faults, [])

    def test_no_source_stands_on_two_sides(self):
        side_of = {}
        for clip in self.clips():
            self.assertEqual(side_of.setdefault(clip.source, clip.side), clip.side, clip.source)
        self.assertGreater(len(side_of), 200)

    def test_no_file_stands_on_two_sides(self):
        side_of = {}
        for clip in self.clips():
            key = (clip.package, clip.file)
            self.assertEqual(side_of.setdefault(key, clip.side), clip.side, key)

    def test_only_collections_stand_on_two_sides(self):
        for name, package in self.packages.items():
            sides = {group["side"] for group in self.read["groups"] if group["package"] == name}
            self.assertTrue(sides, f"{name} has no group")
            if len(sides) > 1:
                self.assertTrue(package.get("collection"), f"{name} stands on {sorted(sides)}")

    def test_one_language_of_one_project_stands_on_one_side(self):
        """The children's programs are spoken by volunteers, who may have spoken in several of them."""
        side_of = {}
        for group in self.read["groups"]:
            if group["package"] in ("klettres-data", "ktuberling-data", "tuxpaint-stamps-default") \
                    and group.get("language"):
                language = group["language"]
                self.assertEqual(side_of.setdefault(language, group["side"]), group["side"], language)
        self.assertGreater(len(side_of), 20)

    def test_fit_side_may_train_a_model(self):
        for group in self.read["groups"]:
            if group["side"] == "fit":
                self.assertTrue(self.packages[group["package"]]["for_training"], group["package"])
                self.assertNotIn("licence", group, f"{group['package']}: {group['match']}")

    def test_every_group_has_a_package_and_every_file_matches(self):
        for group in self.read["groups"]:
            self.assertIn(group["package"], self.packages)
            self.assertGreater(len(list(sounds.clips_of(group, {group["package"]: ""}))), 0)

    def test_page_is_the_manifests(self):
        self.assertEqual(sounds_page.PAGE.read_text(encoding="utf-8"), sounds_page.page(self.read))

    def test_a_side_gives_its_own_clips_only(self):
        with self.assertRaises(sounds.SoundError):
            sounds.Sounds("both")
        fit = sounds.Sounds("fit")
        for kind in fit.kinds():
            self.assertEqual({clip.side for clip in fit.clips(kind, least_snr_db=-999, unpacked=False)},
                             {"fit"})
        other = sounds.Sounds("report").clips("voice", unpacked=False)[0]
        with self.assertRaises(sounds.SoundError):
            fit.load(other)


class Cutting(unittest.TestCase):
    def test_blows_are_cut_apart(self):
        with tempfile.TemporaryDirectory() as folder:
            path = made_clicks(folder, [0.3, 0.8, 1.4])
            (name, takes), rate_hz = measure_sounds.measured(
                path, "made.wav", {"kind": "knock", "cut": "blows"})
        self.assertEqual((name, rate_hz), ("made.wav", RATE_HZ))
        self.assertEqual(len(takes), 3)
        for (from_s, duration_s, snr_db), at in zip(takes, [0.3, 0.8, 1.4]):
            self.assertLess(abs(from_s + 0.01 - at), 0.011)  # two frames of 5 ms before the rise
            self.assertLess(duration_s, 0.3)
            # 0.5 exp(-t/20 ms) at 700 Hz over 50 ms has mean power 0.5^2/2 * 20/2 ms * (1-e^-5) / 50 ms.
            wanted = 10 * np.log10(0.125 * 0.01 * (1 - np.exp(-5)) / 0.05 / 1e-8)
            self.assertLess(abs(snr_db - wanted), 3)

    def test_samples_are_trimmed_levelled_and_faded(self):
        with tempfile.TemporaryDirectory() as folder:
            path = made_clicks(folder, [0.5])
            clip = sounds.Clip("fit", "knock", "", "s", "", "p", "made.wav", 0.49, 0.2, 60.0, RATE_HZ, path)
            os.environ["LULL_SOUNDS"] = folder
            try:
                once, again = clip.load(48000), clip.load(48000)
            finally:
                del os.environ["LULL_SOUNDS"]
        self.assertEqual(once.dtype, np.float32)
        self.assertEqual(len(once), 0.2 * 48000)
        self.assertAlmostEqual(float(np.abs(once).max()), 1.0, 6)
        self.assertLess(abs(float(once[0])), 1e-3)
        np.testing.assert_array_equal(once, again)


class Packing(unittest.TestCase):
    def test_packed_samples_come_back(self):
        samples = np.random.default_rng(3).integers(-2047, 2048, 5000).astype(np.int16)
        samples[1000:1002] = (2047, -2047)  # the largest step
        planes = pack_sounds.planes_of(samples)
        self.assertEqual(planes.shape, (2, 5000))
        np.testing.assert_array_equal(pack_sounds.samples_of(planes), samples)

    def test_scenes_read_a_pack(self):
        takes = [np.full(800, level, np.int16) for level in (100, -200)]
        records = [{"kind": "knock", "subkind": subkind, "source": subkind, "package": "p", "file": "f.wav",
                    "from_s": 0.0} for subkind in ("wood", "metal")]
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "fit.npz"
            pack_sounds.write(path, "fit", records, takes)
            packed = clips.Packed(path)
        self.assertEqual((packed.side, list(packed.by_source("knock"))), ("fit", ["wood", "metal"]))
        metal = packed.by_source("knock", subkind="metal")["metal"][0]
        np.testing.assert_allclose(metal.load(16000), -200 / 2047, rtol=1e-6)
        self.assertEqual(len(metal.load(8000)), 400)


if __name__ == "__main__":
    unittest.main()
