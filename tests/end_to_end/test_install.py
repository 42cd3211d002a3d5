#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is installed works from where it lies, can be moved and taken away again; so does a Debian package.

The package is unpacked, not installed: scripts/package/newcomer installs it on a bare root, which needs root and a
mirror of packages.
"""
import glob
import os
import shutil
import subprocess
import unittest

from harness import BIN, SOURCE, Folder, is_sanitized, main

TOOLS = sorted(os.path.basename(path)[:-4] for path in glob.glob(os.path.join(SOURCE, "tools", "lull-*.cpp")))


def call(*command, **more):
    return subprocess.run([*map(str, command)], capture_output=True, text=True, timeout=600, **more)


def files_under(folder):
    return [os.path.join(place, name) for place, _, names in os.walk(folder) for name in names]


class Installed(Folder):
    def check_tree(self, prefix):
        """Everything exists and works from there."""
        for name in TOOLS:
            self.assertEqual(call(os.path.join(prefix, "bin", name), "--version").returncode, 0)
            self.assertTrue(os.path.exists(os.path.join(prefix, "share", "man", "man1", name + ".1.gz")), name)
            for place in (f"bash-completion/completions/{name}", f"zsh/vendor-completions/_{name}",
                          f"fish/vendor_completions.d/{name}.fish"):
                self.assertTrue(os.path.exists(os.path.join(prefix, "share", place)), place)
        for place in ("schema/session.schema.json", "plans/first-light.json", "language/en.json", "horn-patterns.json",
                      "grading/synonyms.json", "demo/recording.flac"):
            self.assertTrue(os.path.exists(os.path.join(prefix, "share", "lull", place)), place)
        with open(os.path.join(prefix, "share", "doc", "lull", "copyright"), encoding="utf-8") as file:
            notice = file.read()
        self.assertIn("/usr/share/common-licenses/GPL-3", notice)
        self.assertRegex(notice, r"chuck-data \S+: GPL-2\+; ")
        self.assertTrue(os.path.exists(os.path.join(prefix, "share", "doc", "lull", "data", "guide", "review.md")))
        made = call(os.path.join(prefix, "bin", "lull-exercise"), "first-light", "-o", self.path("exercise"), "--quiet",
                    cwd=self.path())
        self.assertEqual((made.returncode, made.stderr), (0, ""))
        graded = call(os.path.join(prefix, "bin", "lull-grade"), "--truth", self.path("exercise/instructor/truth.csv"),
                      "--sheets", self.path("exercise/instructor/truth.csv"), "-o", self.path("grades"))
        self.assertEqual(graded.returncode, 0, graded.stderr)
        self.assertNotIn("the usual words", graded.stderr)  # those of share/lull/grading are found
        found = call(os.path.join(prefix, "bin", "lull-detect"), os.path.join(prefix, "share/lull/demo/recording.flac"),
                     "--horns", "horn-patterns", "--to", "20", "--quiet", cwd=self.path())
        self.assertEqual(found.returncode, 0, found.stderr)

    def check_cluster(self, prefix):
        environment = {key: value for key, value in os.environ.items() if key != "LULL_REVIEW"}
        result = call(os.path.join(prefix, "libexec/lull/cluster/parallel"), self.path("night"),
                      os.path.join(prefix, "share/lull/demo/recording.flac"), "--to", "20", "--no-audio",
                      env=environment, cwd=self.path())
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertTrue(os.path.exists(self.path("night", "events.csv")))

    def test_it_works_from_any_place_and_is_removed_by_its_manifest(self):
        prefix = self.path("a", "prefix")
        result = call("cmake", "--install", BIN, "--prefix", prefix)
        self.assertEqual(result.returncode, 0, result.stderr)
        moved = self.path("moved")
        shutil.copytree(prefix, moved)
        result = call("cmake", f"-DMANIFEST={os.path.join(os.path.abspath(BIN), 'install_manifest.txt')}", "-P",
                      os.path.join(SOURCE, "scripts", "package", "uninstall.cmake"))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual(files_under(prefix), [])
        self.assertFalse(os.path.exists(os.path.join(prefix, "share", "lull")))
        self.check_tree(moved)
        if shutil.which("parallel"):
            self.check_cluster(moved)

    @unittest.skipUnless(shutil.which("dpkg-deb") and shutil.which("dpkg-shlibdeps"), "dpkg-dev is not installed")
    @unittest.skipIf(is_sanitized(), "a package is made of an optimised build")
    def test_a_debian_package_holds_the_same_and_lintian_finds_no_error(self):
        made = call("cpack", "-G", "DEB", "-B", self.path("made"), cwd=BIN)
        self.assertEqual(made.returncode, 0, made.stdout + made.stderr)
        packages = glob.glob(self.path("made", "*.deb"))
        self.assertEqual(len(packages), 1)
        fields = call("dpkg-deb", "-f", packages[0], "Depends").stdout
        for library in ("libsndfile1", "libmseed2", "libfftw3-single3", "libmpg123-0", "libsoxr0", "tzdata"):
            self.assertIn(library, fields)
        self.assertEqual(call("dpkg-deb", "-x", packages[0], self.path("root")).returncode, 0)
        self.check_tree(self.path("root", "usr"))
        if not shutil.which("lintian"):
            self.skipTest("lintian is not installed")
        complaints = call("lintian", "--fail-on", "error", packages[0])
        self.assertEqual(complaints.returncode, 0, complaints.stdout)


if __name__ == "__main__":
    main()
