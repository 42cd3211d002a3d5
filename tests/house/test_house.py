#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The house rules that can be checked automatically: include order, top level, silence of the library."""
import os
import re
import subprocess
import sys
import unittest

SOURCE = os.environ.get("LULL_SOURCE", os.path.join(os.path.dirname(__file__), "..", ".."))
with open(os.path.join(SOURCE, "CMakeLists.txt"), encoding="utf-8") as file:  # each target links those before it
    ORDER = re.search(r"set\(LULL_MODULES ([a-z\s]+)\)", file.read())[1].split()
TOP = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "tools", "lib", "tests", "data",
       "scripts"}


def sources(*folders):
    for folder in folders:
        for where, _, files in os.walk(os.path.join(SOURCE, folder)):
            for name in sorted(files):
                if name.endswith((".cpp", ".hpp")):
                    yield os.path.join(where, name)


def text_of(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


class House(unittest.TestCase):
    def test_includes_never_point_back_up(self):
        seen = 0
        for path in sources("lib"):
            inside = os.path.relpath(path, os.path.join(SOURCE, "lib")).split(os.sep)
            if len(inside) < 2:
                continue
            rank = ORDER.index(inside[0])
            for target in re.findall(r'#include "([a-z_]+)/', text_of(path)):
                if target not in ORDER:
                    continue
                seen += 1
                self.assertLessEqual(ORDER.index(target), rank, f"{path} includes {target}/")
        self.assertGreater(seen, 20, "the walk found too few includes to mean anything")

    def test_command_is_for_tools_alone(self):
        for path in sources("lib"):
            if f"{os.sep}command{os.sep}" not in path:
                self.assertNotIn('#include "command/', text_of(path), path)

    def test_library_is_silent(self):
        loud = re.compile(r"std::(cout|cerr)|fmt::print|\bstd::printf|\b(std::)?(exit|abort)\(|getenv")
        for path in sources("lib"):
            if f"{os.sep}command{os.sep}" in path:
                continue
            for number, line in enumerate(text_of(path).splitlines(), 1):
                self.assertIsNone(loud.search(line), f"{path}:{number}: {line.strip()}")

    def test_json_is_read_in_one_place(self):
        """The only places that parse JSON, with limits on depth, sizes and counts."""
        reads = re.compile(r"json::(parse|sax_parse|from_)|\bjson_sax_parse")
        for path in sources("lib", "tools"):
            if not path.endswith(os.path.join("recording", "strict_json.cpp")):
                self.assertIsNone(reads.search(text_of(path)), path)

    def test_every_source_names_its_licence(self):
        for path in sources("lib", "tools", "tests"):
            self.assertIn("SPDX-License-Identifier: GPL-3.0-or-later", text_of(path)[:200], path)

    def test_no_file_is_two_things(self):
        for path in sources("lib", "tools"):
            text = text_of(path)
            if "do not edit" not in text[:400]:  # tables made by a script
                self.assertLessEqual(text.count("\n"), 400, path)

    def test_two_headers_never_declare_one_name(self):
        # If two types or constants have one name, the linker takes either for both (one definition rule).
        declared = {}
        for path in sources("lib"):
            if path.endswith(".hpp"):
                for name in re.findall(r"^(?:struct|class|enum class|inline constexpr [\w:<>, ]+?) (\w+) "
                                       r"(?:final )?(?:: |\{|=)", text_of(path), re.M):
                    self.assertEqual(declared.setdefault(name, path), path, name)
        self.assertGreater(len(declared), 100)

    def test_tools_are_short(self):
        for path in sources("tools"):
            self.assertLessEqual(text_of(path).count("\n"), 160, path)

    def test_top_level_holds_only_its_list(self):
        listed = subprocess.run(["git", "-C", SOURCE, "ls-files"], capture_output=True, text=True)
        if listed.returncode != 0:
            self.skipTest("not a git checkout")
        top = {line.split("/")[0] for line in listed.stdout.splitlines()}
        self.assertEqual({name for name in top if not name.startswith(".")} - TOP, set())


if __name__ == "__main__":
    sys.exit(0 if unittest.main(exit=False, verbosity=1).result.wasSuccessful() else 1)
