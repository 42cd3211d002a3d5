#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Packs the clips of one side into one file for a machine that cannot reach Debian.

    scripts/hearing/pack_sounds.py fit fit.npz

The file holds all clips end to end as `planes` (see `planes_of`), `ends` (one past the last sample of
each clip), `clips` (their records as JSON), `side` and `rate_hz`. `unpacked()` reads it back.
"""
import argparse
import json
import sys

import numpy as np

from worksite import SIDES

RATE_HZ = 16000
FULL_SCALE = 2047  # 12 bits: rounding noise is 77 dB below the peak
KEPT = ("kind", "subkind", "source", "language", "package", "file", "from_s", "snr_db", "rate_hz")


def planes_of(samples):
    """Differences of samples (int16), their low bytes, then their high ones: half as large when compressed."""
    steps = np.diff(samples, prepend=np.int16(0)).astype(np.int16)
    return np.ascontiguousarray(steps.view(np.uint8).reshape(-1, 2).T)


def samples_of(planes):
    return np.cumsum(np.ascontiguousarray(planes.T).view(np.int16).ravel(), dtype=np.int16)


def write(path, side, records, samples):
    np.savez_compressed(path, planes=planes_of(np.concatenate(samples)),
                        ends=np.cumsum([len(part) for part in samples]),
                        clips=json.dumps(records), side=side, rate_hz=RATE_HZ)


def pack(side, path):
    import sounds  # imported here, since packs are also read where no sound files exist
    own = sounds.Sounds(side)
    samples, records = [], []
    for kind in own.kinds():
        for clip in own.clips(kind):
            samples.append(np.round(clip.load(RATE_HZ) * FULL_SCALE).astype(np.int16))
            records.append({name: getattr(clip, name) for name in KEPT})
    if not samples:
        raise sounds.SoundError(f"no clip of '{side}' is unpacked; run scripts/setup sounds")
    write(path, side, records, samples)
    return own.missing, len(records), sum(map(len, samples)) / RATE_HZ


def unpacked(path):
    """The side, and each clip's record with its samples as float32."""
    with np.load(path) as file:
        parts = np.split(samples_of(file["planes"]), file["ends"][:-1])
        records = json.loads(str(file["clips"]))
        return str(file["side"]), [(record, part.astype(np.float32) / FULL_SCALE)
                                   for record, part in zip(records, parts)]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("side", choices=list(SIDES))
    parser.add_argument("path")
    given = parser.parse_args()
    missing, count, seconds = pack(given.side, given.path)
    print(f"pack_sounds.py: {given.path}: {count} clips, {seconds / 60:.1f} minutes", file=sys.stderr)
    if missing:
        print(f"pack_sounds.py: not unpacked, so left out: {', '.join(missing)}", file=sys.stderr)


if __name__ == "__main__":
    main()
