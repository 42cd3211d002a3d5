#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Groups source files into translation units, for a build that reads each header once a group.

Usage: unity_groups.py MOST_LINES FILE...

Prints one group a line, its files separated by colons. Files of one group share no name of their
anonymous namespaces, and a group has at most MOST_LINES lines. A file of which a private name is also
a header's type, constant or inline function stands alone. The same files give the same groups.
"""
import re
import sys
from pathlib import Path

TOKEN = re.compile(r'//[^\n]*|/\*.*?\*/|R"(\w*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\''
                   r'|#[^\n]*|[A-Za-z_]\w*|.', re.DOTALL)
OPENING = re.compile(r"^namespace \{$", re.MULTILINE)
PUBLIC = re.compile(r"^(?:struct |class |enum class |using |(?:\[\[nodiscard\]\] )?inline .*?[ *&](?=\w+[ (]))"
                    r"(\w+)", re.MULTILINE)
CLOSING = re.compile(r"^\} // namespace$", re.MULTILINE)

# What stands where a name stands and may stand in many files.
SHARED = {"fs", "const", "override", "TEST", "TEST_F", "TEST_P", "INSTANTIATE_TEST_SUITE_P"}


def declared_in(text: str) -> set[str]:
    """Identifiers outside all brackets that stand where a declared name stands."""
    names, depth, before = set(), 0, ""
    for match in TOKEN.finditer(text):
        token = match.group()
        if token.isspace() or token.startswith(("//", "/*", "#")):
            continue
        if depth == 0 and token in "(={[;," and before.isidentifier():
            names.add(before)
        depth += (token in "({[") - (token in ")}]")
        before = token
    return names


def private_part(text: str) -> str:
    """What stands in anonymous namespaces."""
    part = ""
    for opening in OPENING.finditer(text):
        closing = CLOSING.search(text, opening.end())
        part += text[opening.end():closing.start() if closing else len(text)]
    return part


def main() -> None:
    most_lines = int(sys.argv[1])
    library = Path(__file__).resolve().parent.parent / "lib"
    public = {name for header in library.rglob("*.hpp")
              for name in PUBLIC.findall(header.read_text(encoding="utf-8"))}
    groups: list[tuple[list[str], set[str], int]] = []
    for path in sorted(sys.argv[2:]):
        text = Path(path).read_text(encoding="utf-8")
        part, lines = private_part(text), text.count("\n")
        names = declared_in(part) - SHARED
        if public & (names | set(PUBLIC.findall(part))):
            lines = most_lines
        for k, (files, taken, sum_lines) in enumerate(groups):
            if not taken & names and sum_lines + lines <= most_lines:
                groups[k] = (files + [path], taken | names, sum_lines + lines)
                break
        else:
            groups.append(([path], names, lines))
    for files, _, _ in groups:
        print(":".join(files))


main()
