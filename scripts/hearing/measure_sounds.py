#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fills in data/sounds.json from the unpacked packages: digests, takes, levels over their noise.

A person writes the head of a group (package, folder, match, kind, source, side, cut); this script
finds its files, cuts them into takes and writes `rate_hz`, `digest` and `files`. Run it when a group was
added or a package's version changed, and read the difference before it is committed.
"""
import argparse
import json
import re
import sys

import numpy as np

import sound_files
import sounds

FRAME_S = 0.005
QUIETEST_DB = 90.0  # a floor of digital silence counts as this SNR


def levels_db(samples, rate_hz):
    """Level of each frame of FRAME_S, in dB full scale."""
    size = int(FRAME_S * rate_hz)
    frames = samples[:len(samples) // size * size].astype(np.float64).reshape(-1, size)
    return 10 * np.log10(np.mean(frames ** 2, axis=1) + 1e-12)


def floor_db(levels):
    """Level of the quietest twentieth of the frames, taken as the noise."""
    return float(np.percentile(levels, 5))


def active(levels, floor, depth_db):
    """First and one past the last frame that exceed the floor and are near the maximum."""
    above = np.nonzero(levels > max(floor + 6, levels.max() - depth_db))[0]
    return (max(0, above[0] - 1), above[-1] + 2) if len(above) else (0, len(levels))


def whole(levels):
    """One take: the file without the silence at its ends."""
    return [active(levels, floor_db(levels), 45)]


def all_of_it(levels):
    """One take: the whole file, for loops and beds."""
    return [(0, len(levels))]


def blows(levels):
    """A take for each blow: a rise of 12 dB within 25 ms, 120 ms after the one before and within
    20 dB of the strongest, until its decay ends or the next blow begins."""
    before = np.array([levels[max(0, i - 5):i].min() if i else -120.0 for i in range(len(levels))])
    near = levels > max(levels.max() - 20, floor_db(levels) + 15)
    onsets = []
    for i in np.nonzero(near & (levels - before > 12))[0]:
        if not onsets or i - onsets[-1] > 0.12 / FRAME_S:
            onsets.append(int(i))
    takes = []
    for onset, until in zip(onsets, onsets[1:] + [len(levels) + 2]):
        stretch = levels[onset:min(until - 2, onset + int(1.5 / FRAME_S))]
        if len(stretch) > 2:
            takes.append((max(0, onset - 2), onset + active(stretch, floor_db(levels), 50)[1]))
    return takes or whole(levels)


def is_struck(levels, first, last):
    """Whether a take is loudest within 60 ms: no swing before the blow, no rattle or brushing."""
    return np.argmax(levels[first:last]) <= 0.06 / FRAME_S


CUTS = {"whole": whole, "loop": all_of_it, "blows": blows}


def snr_db(kind, levels, first, last):
    """The largest 50 ms of a blow, or the louder half of anything else, over the file's floor."""
    power = 10 ** (levels[first:last] / 10)
    if kind == "knock":
        signal = np.convolve(power, np.ones(10) / 10)[:max(1, len(power))].max()
    else:
        signal = np.sort(power)[len(power) // 2:].mean()
    return float(min(QUIETEST_DB, 10 * np.log10(signal + 1e-12) - floor_db(levels)))


def measured(path, name, group):
    """A file's row (name, takes) and its rate. None where it holds no sound."""
    samples, rate_hz = sound_files.decode(path)
    if len(samples) < 0.02 * rate_hz or np.abs(samples).max() < 1e-3:
        return None, rate_hz
    levels = levels_db(samples, rate_hz)
    found = [take for take in CUTS[group["cut"]](levels)
             if group["kind"] != "knock" or is_struck(levels, *take)]
    frame_s = int(FRAME_S * rate_hz) / rate_hz
    takes = [[round(first * frame_s, 3), round((min(last, len(levels)) - first) * frame_s, 3),
              round(snr_db(group["kind"], levels, first, last))]
             for first, last in found]
    return ([name, takes] if takes else None), rate_hz


def chosen(names, group):
    """At most `at_most` names for each source, spread evenly over the source's names."""
    of_source, match = {}, re.compile(group["match"])
    for name in names:
        found = match.fullmatch(name)
        if found:
            of_source.setdefault(found.expand(group["source"]), []).append(name)
    limit = group.get("at_most", len(names))
    return sorted(own[k * len(own) // min(limit, len(own))] for own in of_source.values()
                  for k in range(min(limit, len(own))))


def fill(group, versions):
    """The group with its files; unchanged if its package is not unpacked."""
    place = sounds.place_of(group["package"], versions[group["package"]], group["folder"])
    if not place.is_dir():
        print(f"measure_sounds.py: {place}: not there, so the group stays as it was", file=sys.stderr)
        return group
    rows, rates = [], []
    names = sorted(path.relative_to(place).as_posix() for path in place.rglob("*") if path.is_file())
    for name in chosen(names, group):
        try:
            row, rate_hz = measured(place / name, name, group)
        except sound_files.FileError as fault:
            print(f"measure_sounds.py: {fault}", file=sys.stderr)
            continue
        if row:
            rows.append(row)
            rates.append(rate_hz)
    if not rows:
        print(f"measure_sounds.py: {place}: nothing matches {group['match']}", file=sys.stderr)
    return {**group, "rate_hz": int(min(rates, default=0)),
            "digest": sounds.digest_of(place, [name for name, _ in rows]), "files": rows}


def text_of(read):
    """JSON with one package, one group head and one file a line."""
    def one_line(value):
        return json.dumps(value, ensure_ascii=False)

    lines = ["{", *(f'"{key}": {one_line(value)},' for key, value in read.items()
                    if key not in ("packages", "groups"))]
    lines += ['"packages": [', ",\n".join(map(one_line, read["packages"])), "],", '"groups": [']
    groups = []
    for group in read["groups"]:
        head = one_line({k: v for k, v in group.items() if k != "files"})[:-1]
        files = ",\n".join(json.dumps(row, ensure_ascii=False, separators=(",", ":"))
                           for row in group["files"])
        groups.append(f'{head}, "files": [\n{files}]}}' if files else f'{head}, "files": []}}')
    return "\n".join(lines) + "\n" + ",\n".join(groups) + "\n]}\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--package", action="append", help="only the groups of this package")
    packages = parser.parse_args().package
    read = json.loads(sounds.MANIFEST.read_text(encoding="utf-8"))
    versions = {package["package"]: package["version"] for package in read["packages"]}
    read["groups"] = [fill(group, versions) if not packages or group["package"] in packages else group
                      for group in read["groups"]]
    sounds.MANIFEST.write_text(text_of(read), encoding="utf-8")


if __name__ == "__main__":
    main()
