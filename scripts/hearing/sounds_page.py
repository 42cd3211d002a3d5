#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes data/sounds.md from data/sounds.json: what is on which side, packages and licences."""
import json

import numpy as np

import sounds

PAGE = sounds.PROJECT / "data" / "sounds.md"


def amounts(read):
    """From (kind, subkind, side) to its sources, seconds and takes, as the loader gives them."""
    found = {}
    for group in read["groups"]:
        key = (group["kind"], group.get("subkind", ""), group["side"])
        sources, seconds, takes = found.setdefault(key, [set(), 0.0, 0])
        for clip in sounds.clips_of(group, {group["package"]: ""}):
            if clip.snr_db < sounds.LEAST_SNR_DB.get(clip.kind, -np.inf):
                continue
            sources.add(clip.source)
            seconds, takes = seconds + clip.duration_s, takes + 1
        found[key] = [sources, seconds, takes]
    return found


def cell(entry):
    return f"{len(entry[0])} / {entry[2]} / {entry[1] / 60:.1f}" if entry else "-"


def amounts_table(read):
    found = amounts(read)
    lines = ["| kind | " + " | ".join(sounds.SIDES) + " |", "|---|" + "---:|" * len(sounds.SIDES)]
    for kind, subkind in sorted({key[:2] for key in found}):
        cells = [cell(found.get((kind, subkind, side))) for side in sounds.SIDES]
        lines.append(f"| {kind}{', ' + subkind if subkind else ''} | " + " | ".join(cells) + " |")
    return lines


def languages_line(read, side):
    spoken = sorted({group["language"] for group in read["groups"]
                     if group.get("language") and group["side"] == side})
    return f"- {side}: {len(spoken)} languages ({', '.join(spoken)})"


def packages_table(read):
    lines = ["| package | version | sides | files | licence | attribution |", "|---|---|---|---:|---|---|"]
    for package in read["packages"]:
        groups = [group for group in read["groups"] if group["package"] == package["package"]]
        sides = ", ".join(side for side in sounds.SIDES if any(g["side"] == side for g in groups))
        lines.append(f"| {package['package']} | {package['version']} | {sides} | "
                     f"{len({(g['folder'], row[0]) for g in groups for row in g['files']})} | "
                     f"{package['licence']} | {package['attribution']} |")
    return lines


def page(read):
    size = sum(package["mib"] for package in read["packages"])
    return "\n".join([
        "# Recorded sounds", "",
        "Made by `scripts/hearing/sounds_page.py` from `data/sounds.json`; do not edit.", "",
        "The bench of hearing and the training use recordings that Debian packages carry. None of them is part "
        f"of the project: `scripts/setup sounds` downloads {len(read['packages'])} packages ({size:.0f} MiB) and "
        "unpacks the files named in the manifest. A model may be fitted on `fit`, its settings chosen on `tune`; "
        "figures come from `report`. No speaker, object or machine stands on two sides; a package does so only "
        "where its clips are of different speakers.", "",
        "## Sources, takes and minutes by kind and side", "",
        "Counted without knocks under "
        f"{sounds.LEAST_SNR_DB['knock']:.0f} dB and voices under {sounds.LEAST_SNR_DB['voice']:.0f} dB over "
        "their own noise, which the loader leaves out.", "", *amounts_table(read), "",
        "## Languages of speech", "", *(languages_line(read, side) for side in sounds.SIDES), "",
        "## Packages and licences", "",
        "Authors are named in each package's copyright file, which is unpacked beside its clips.", "",
        *packages_table(read), ""])


if __name__ == "__main__":
    PAGE.write_text(page(json.loads(sounds.MANIFEST.read_text(encoding="utf-8"))), encoding="utf-8")
