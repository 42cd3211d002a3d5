#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes manual pages and completions of what the tools say of themselves (--describe) and of the schemas.

Usage: manual.py BUILD OUT    (OUT/man1, man5, bash, zsh, fish, changelog.Debian.gz; the build runs it)
       manual.py --guide      (data/guide/plan-keys.md and tables.md anew)
       manual.py --notice OUT (the sounds behind data/models, with their licences)
"""
import datetime
import email.utils
import glob
import gzip
import json
import os
import subprocess
import sys
import textwrap

SOURCE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
CAUTION = ("A recording in which nothing is found does not show that nobody is there. These figures support, and "
           "never replace, the judgement of qualified search personnel under local procedures; never end a search "
           "because of them.")


def described(build):
    tools = []
    for path in sorted(glob.glob(os.path.join(build, "lull-*"))):
        if os.access(path, os.X_OK) and os.path.isfile(path):
            tools.append(json.loads(subprocess.run([path, "--describe"], capture_output=True, check=True).stdout))
    return tools


def schema(name):
    with open(os.path.join(SOURCE, "data", "schema", name + ".schema.json"), encoding="utf-8") as file:
        return json.load(file)


def put(folder, name, text):
    os.makedirs(folder, exist_ok=True)
    if name.endswith(".gz"):
        text = gzip.compress(text.encode(), 9, mtime=0)
    with open(os.path.join(folder, name), "wb") as file:
        file.write(text if isinstance(text, bytes) else text.encode())


# ---- schemas as lists of keys

def resolved(node, root):
    """A property with its own description and that of its reference."""
    if "$ref" not in node:
        return node
    target = root
    for part in node["$ref"].lstrip("#/").split("/"):
        target = target[part]
    return {**resolved(target, root), **{key: value for key, value in node.items() if key != "$ref"}}


def number(value):
    return f"{value:g}" if abs(value) < 1e5 else f"{value:.0f}"


def form(node, root):
    """The allowed values, in words."""
    node = resolved(node, root)
    if "const" in node:
        return json.dumps(node["const"])
    if "enum" in node:
        return " | ".join(str(one) for one in node["enum"])
    for kind in ("oneOf", "anyOf"):
        if kind in node:
            return ", or ".join(dict.fromkeys(form(one, root) for one in node[kind]))
    kind = node.get("type", "text")
    if isinstance(kind, list):
        kind = " or ".join(one for one in kind if one != "null")
    low, high = node.get("minimum"), node.get("maximum")
    bounds = (f" {number(low)} to {number(high)}" if low is not None and high is not None
              else f" {number(low)} and more" if low is not None else "")
    if kind == "array":
        count = node.get("minItems") if node.get("minItems") == node.get("maxItems") else None
        items = node.get("items", {})
        inner = "objects" if "properties" in resolved(items, root) else form(items, root) if items else "values"
        return f"list of {count} x {inner}" if count else f"list of {inner}"
    return {"string": "text", "integer": "whole number", "boolean": "true or false"}.get(kind, kind) + bounds


def keys_of(node, root, path=""):
    """(path, form, default, whether it is required, description) of every key, in order."""
    for name, one in node.get("properties", {}).items():
        one = resolved(one, root)
        place = f"{path}{name}"
        yield place, form(one, root), one.get("default"), name in node.get("required", []), one.get("description", "")
        items = resolved(one.get("items", {}), root) if one.get("type") == "array" else {}
        if "properties" in items:
            yield from keys_of(items, root, place + "[].")
        elif "properties" in one:
            yield from keys_of(one, root, place + ".")


def tables_of(root):
    for name, node in root["$defs"].items():
        if name.endswith("_row"):
            yield name[:-4], [(column, form(one, root), resolved(one, root).get("description", ""))
                              for column, one in node["properties"].items()]


# ---- manual pages

def roff(text):
    text = text.replace("\\", "\\e").replace("-", "\\-").replace("'", "\\(aq")
    return "\\&" + text if text.startswith(".") else text


def page(name, section, title, body):
    return (f".\\\" Made by scripts/manual.py; do not edit.\n.TH {name.upper()} {section} {release(title[1])[0]} \"lull {title[1]}\" "
            f"\"lull\"\n.SH NAME\n{roff(name)} \\- {roff(title[0])}\n{body}")


def option_name(option):
    if option["positional"]:
        return f"\\fI{roff(option['name'])}\\fR"
    names = [f"\\fB\\-{letter}\\fR" for letter in option["short"]]
    names += [f"\\fB\\-\\-{roff(word)}\\fR" for word in option["long"]]
    value = " | ".join(option["choices"]) or option["type"]
    return ", ".join(names) + (f" \\fI{roff(value)}\\fR" if value else "") + (" ..." if option["several"] else "")


def option_about(option):
    said = ([] if not option["required"] or option["positional"] else ["required"])
    said += [option["range"]] if option["range"] else []
    said += ["default: " + option["default"]] if option["default"] else []
    return roff(option["about"] + (f" ({'; '.join(said)})" if said else "") + ".")


def tool_page(tool):
    positionals = [option["name"] for group in tool["groups"] for option in group["options"] if option["positional"]]
    body = f".SH SYNOPSIS\n.B {roff(tool['name'])}\n[\\fIOPTIONS\\fR] {' '.join(positionals)}\n"
    body += f".SH DESCRIPTION\n{roff(tool['purpose'])}\n.PP\n{roff(CAUTION)}\n"
    for group in tool["groups"]:
        body += f".SH {group['name'].upper()}\n"
        for option in group["options"]:
            body += f".TP\n{option_name(option)}\n{option_about(option)}\n"
    body += ".SH EXAMPLES\n"
    for example in tool["examples"]:
        body += f".TP\n\\fB{roff(example['command'])}\\fR\n{roff(example['about'])}\n"
    body += ".SH EXIT STATUS\n"
    for status in tool["statuses"]:
        body += f".TP\n\\fB{status['status']}\\fR\n{roff(status['meaning'])}.\n"
    body += ".SH SEE ALSO\n.BR lull\\-session (5),\n.BR lull\\-plan (5),\n.BR lull\\-tables (5)\n"
    purpose = tool["purpose"].rstrip(".").split(":")[0]
    return page(tool["name"], 1, (purpose[0].lower() + purpose[1:], tool["lull"]), body)


def keys_page(name, purpose, file, version):
    root = schema(file)
    body = f".SH DESCRIPTION\n{roff(root.get('description', purpose + '.'))}\n.SH KEYS\n"
    for place, kind, default, needed, about in keys_of(root, root):
        said = [kind] + (["needed"] if needed else []) + ([f"default: {default}"] if default is not None else [])
        body += f".TP\n\\fB{roff(place)}\\fR ({roff('; '.join(said))})\n{roff(about)}\n"
    return page(name, 5, (purpose, version), body)


def tables_page(version):
    body = (".SH DESCRIPTION\nTables are CSV (RFC 4180, UTF\\-8, a header row), or JSON with the same names. Times are "
            "seconds from the start. An empty cell, in JSON null, is unknown.\n")
    for table, columns in tables_of(schema("table")):
        body += f".SH {table.upper()}\n"
        for column, kind, about in columns:
            body += f".TP\n\\fB{roff(column)}\\fR ({roff(kind)})\n{roff(about)}\n"
    return page("lull-tables", 5, ("tables that lull writes", version), body)


# ---- completions

def options_of(tool):
    return [option for group in tool["groups"] for option in group["options"] if not option["positional"]]


def flags_of(option):
    return ["-" + one for one in option["short"]] + ["--" + one for one in option["long"]]


def is_file(option):
    return option["type"] in ("FILE", "FOLDER", "PROGRAM")


def bash(tool):
    function = "_" + tool["name"].replace("-", "_")
    cases = ""
    for option in options_of(tool):
        names = "|".join(flags_of(option))
        if option["choices"]:
            cases += f"    {names}) COMPREPLY=($(compgen -W '{' '.join(option['choices'])}' -- \"$cur\")); return ;;\n"
        elif is_file(option):
            kind = "-d" if option["type"] == "FOLDER" else "-f"
            cases += (f"    {names}) compopt -o filenames; COMPREPLY=($(compgen {kind} -- \"$cur\")); return ;;\n")
        elif option["type"]:
            cases += f"    {names}) return ;;\n"
    words = " ".join(flag for option in options_of(tool) for flag in flags_of(option))
    return (f"# Made by scripts/manual.py; do not edit.\n{function}() {{\n  local cur=${{COMP_WORDS[COMP_CWORD]}} "
            f"prev=${{COMP_WORDS[COMP_CWORD-1]}}\n  case $prev in\n{cases}  esac\n  if [[ $cur == -* ]]; then\n"
            f"    COMPREPLY=($(compgen -W '{words}' -- \"$cur\"))\n  else\n    compopt -o filenames\n"
            f"    COMPREPLY=($(compgen -f -- \"$cur\"))\n  fi\n}}\ncomplete -F {function} {tool['name']}\n")


def quoted(text):
    return text.replace("'", "'\\''")


def zsh(tool):
    lines = []
    for option in options_of(tool):
        about = quoted(option["about"].replace("[", "(").replace("]", ")").replace(":", ";"))
        value = (f":value:({' '.join(option['choices'])})" if option["choices"] else ":folder:_files -/" if
                 option["type"] == "FOLDER" else ":file:_files" if is_file(option) else
                 f":{option['type'].lower()}: " if option["type"] else "")
        lines += [f"  '{flag}[{about}]{value}'" for flag in flags_of(option)]
    return f"#compdef {tool['name']}\n# Made by scripts/manual.py; do not edit.\n_arguments \\\n" + " \\\n".join(
        lines + ["  '*:file:_files'"]) + "\n"


def fish(tool):
    lines = "# Made by scripts/manual.py; do not edit.\n"
    for option in options_of(tool):
        names = "".join(f" -s {one}" for one in option["short"]) + "".join(f" -l {one}" for one in option["long"])
        value = (f" -x -a '{' '.join(option['choices'])}'" if option["choices"] else
                 " -r" if is_file(option) else " -x" if option["type"] else "")
        about = option["about"].replace("\\", "\\\\").replace("'", "\\'")
        lines += f"complete -c {tool['name']}{names}{value} -d '{about}'\n"
    return lines


# ---- pages of the guide, and the notice

def guide_pages():
    root = schema("plan")
    text = ("# Every key of a plan\n\nMade by `scripts/manual.py --guide` from `data/schema/plan.schema.json`; do not "
            "edit.\n\n| key | what it may be | default | meaning |\n|---|---|---|---|\n")
    for place, kind, default, needed, about in keys_of(root, root):
        standard = "needed" if needed else "" if default is None else str(default)
        text += f"| `{place}` | {kind.replace(' | ', ', ')} | {standard} | {about} |\n"
    tables = ("# Every column of the tables\n\nMade by `scripts/manual.py --guide` from `data/schema/table.schema.json`; "
              "do not edit.\nTimes are seconds from the start. An empty cell is unknown, never 0.\n")
    for table, columns in tables_of(schema("table")):
        tables += f"\n## {table}\n\n| column | meaning |\n|---|---|\n"
        tables += "".join(f"| `{column}` | {about} |\n" for column, _, about in columns)
    return {"plan-keys.md": text, "tables.md": tables}


def notice():
    text = ("lull is free software under the GNU General Public License, version 3 or later; on Debian systems its "
            "text is in /usr/share/common-licenses/GPL-3.\n\nCopyright 2026 the authors of lull.\n\n"
            "The models that are built in were fitted to scenes made of recorded sounds. No sound is part of lull.\n")
    for path in sorted(glob.glob(os.path.join(SOURCE, "data", "models", "*.json"))):
        with open(path, encoding="utf-8") as file:
            model = json.load(file)
        text += f"\nModel \"{model['name']}\":\n"
        for sound in model.get("sounds", []):
            text += f"  {sound['package']} {sound['version']}: {sound['licence']}; {sound['attribution']}\n"
    return text


def release(version):
    """Date and lines of a version's entry in the changelog."""
    with open(os.path.join(SOURCE, "data", "guide", "CHANGELOG.md"), encoding="utf-8") as file:
        heading, _, entry = file.read().partition(f"## {version} (")[2].partition("\n")
    return heading.rstrip(")"), entry.split("\n## ")[0]


def debian_changelog(version):
    """That entry in Debian's format."""
    day, entry = release(version)
    date = email.utils.format_datetime(datetime.datetime.fromisoformat(day + "T00:00:00+00:00"))
    lines = [line[2:] for line in entry.splitlines() if line.startswith("- ")]
    return (f"lull ({version}-1) unstable; urgency=medium\n\n" + "".join(textwrap.fill(line, 78, initial_indent="  * ", subsequent_indent="    ") + "\n" for line in lines)
            + f"\n -- lull maintainers <maintainers@lull.example>  {date}\n")


def main():
    if sys.argv[1:] == ["--guide"]:
        for name, text in guide_pages().items():
            put(os.path.join(SOURCE, "data", "guide"), name, text)
        return
    if sys.argv[1:2] == ["--notice"]:
        put(os.path.dirname(sys.argv[2]), os.path.basename(sys.argv[2]), notice())
        return
    build, out = sys.argv[1:3]
    tools = described(build)
    for tool in tools:
        name = tool["name"]
        put(os.path.join(out, "man1"), name + ".1.gz", tool_page(tool))
        put(os.path.join(out, "bash"), name, bash(tool))
        put(os.path.join(out, "zsh"), "_" + name, zsh(tool))
        put(os.path.join(out, "fish"), name + ".fish", fish(tool))
    version = tools[0]["lull"]
    man5 = os.path.join(out, "man5")
    put(man5, "lull-session.5.gz", keys_page("lull-session", "which recordings and channels belong together", "session",
                                          version))
    put(man5, "lull-plan.5.gz", keys_page("lull-plan", "what an exercise is made of", "plan", version))
    put(out, "changelog.Debian.gz", debian_changelog(version))
    put(man5, "lull-tables.5.gz", tables_page(version))


if __name__ == "__main__":
    main()
