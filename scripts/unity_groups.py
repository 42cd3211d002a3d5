#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Groups source files into translation units, for a build that reads each header once a group.

Usage: unity_groups.py MOST_LINES FILE...

Prints one group a line, its files separated by colons. No file of a group uses a name that another one
declares in its anonymous namespace: that would be hidden, or hide a header's. A file that declares the
type of a header once more stands alone. A group has at most MOST_LINES lines. The same files give the
same groups.
"""
import re
import sys
from dataclasses import dataclass
from pathlib import Path

TOKEN = re.compile(r'//[^\n]*|/\*.*?\*/|R"(\w*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\''
                   r'|#[^\n]*|[A-Za-z_]\w*|->|::|.', re.DOTALL)
OPENING = re.compile(r"^namespace \{$", re.MULTILINE)
TYPE = re.compile(r"^(?:struct|class|enum class|using) (\w+)", re.MULTILINE)
CLOSING = re.compile(r"^\} // namespace$", re.MULTILINE)

# Words in the place of a name that many files may have.
SHARED = {"fs", "const", "override", "TEST", "TEST_F", "TEST_P", "INSTANTIATE_TEST_SUITE_P"}


def declared_in(text: str) -> set[str]:
    """Identifiers outside all brackets in the place of a declared name."""
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


def used_in(text: str) -> set[str]:
    """Identifiers that are looked up: neither members nor qualified names."""
    names, before = set(), ""
    for match in TOKEN.finditer(text):
        token = match.group()
        if token.isspace() or token.startswith(("//", "/*", "#")):
            continue
        if token.isidentifier() and before not in (".", "->", "::"):
            names.add(token)
        before = token
    return names


def private_part(text: str) -> str:
    """The contents of anonymous namespaces."""
    part = ""
    for opening in OPENING.finditer(text):
        closing = CLOSING.search(text, opening.end())
        part += text[opening.end():closing.start() if closing else len(text)]
    return part


@dataclass
class Group:
    files: list[str]
    private: set[str]
    used: set[str]
    lines: int

    def can_take(self, other: "Group", most_lines: int) -> bool:
        return (not self.private & other.used and not other.private & self.used
                and self.lines + other.lines <= most_lines)

    def take(self, other: "Group") -> None:
        self.files += other.files
        self.private |= other.private
        self.used |= other.used
        self.lines += other.lines


def main() -> None:
    most_lines = int(sys.argv[1])
    library = Path(__file__).resolve().parent.parent / "lib"
    public_types = {name for header in library.rglob("*.hpp")
                    for name in TYPE.findall(header.read_text(encoding="utf-8"))}
    groups: list[Group] = []
    for path in sorted(sys.argv[2:]):
        text = Path(path).read_text(encoding="utf-8")
        private = private_part(text)
        one = Group([path], declared_in(private) - SHARED, used_in(text), text.count("\n"))
        if public_types & set(TYPE.findall(private)):
            one.lines = most_lines
        for group in groups:
            if group.can_take(one, most_lines):
                group.take(one)
                break
        else:
            groups.append(one)
    for group in groups:
        print(":".join(group.files))


main()
