#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The recorded sounds unpacked by `scripts/setup sounds` are those of the manifest."""
import json
import os
import pathlib
import sys
import unittest

SOURCE = pathlib.Path(os.environ.get("LULL_SOURCE", pathlib.Path(__file__).parents[2]))
sys.path.insert(0, str(SOURCE / "scripts" / "hearing"))
try:
    import sounds
    import unpack_sounds
except ImportError as missing:
    print(f"SKIPPED: {missing.name} is not installed")
    sys.exit(77)

READ = json.loads(sounds.MANIFEST.read_text(encoding="utf-8"))
UNPACKED = [package for package in READ["packages"]
            if sounds.package_folder(package["package"], package["version"]).is_dir()]
if not UNPACKED:
    print(f"SKIPPED: no package is unpacked under {sounds.folder()} (scripts/setup sounds)")
    sys.exit(77)


class Unpacked(unittest.TestCase):
    def groups_of(self, package):
        return [group for group in READ["groups"] if group["package"] == package["package"]]

    def test_files_have_the_manifests_digests(self):
        for package in UNPACKED:
            self.assertEqual(list(unpack_sounds.faults(package, self.groups_of(package))), [])

    def test_copyright_lies_beside_the_clips(self):
        for package in UNPACKED:
            place = sounds.package_folder(package["package"], package["version"])
            found = list(place.glob("usr/share/doc/*/copyright"))
            self.assertTrue(found, f"{place}: no copyright file")

    def test_clips_decode(self):
        """The first clip of each group: not silent, and as long as the manifest states."""
        versions = {package["package"]: package["version"] for package in UNPACKED}
        for group in READ["groups"]:
            if group["package"] in versions:
                clip = next(sounds.clips_of(group, versions))
                samples = clip.load(16000)
                self.assertAlmostEqual(len(samples) / 16000, clip.duration_s, delta=0.02, msg=clip.path)


if __name__ == "__main__":
    unittest.main()
