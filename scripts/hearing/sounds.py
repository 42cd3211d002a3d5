# SPDX-License-Identifier: GPL-3.0-or-later
"""Recorded sounds from Debian packages, by side: `fit`, `tune`, `report`. The only way to them.

    sounds = Sounds("fit")
    for clip in sounds.clips("voice", "cry"):
        samples = clip.load(16000)

What each clip is stands in data/sounds.json; `scripts/setup sounds` unpacks the packages into
build/sounds or the folder that LULL_SOUNDS names. Two clips of one `source` are one speaker, one
object or one machine. A `Sounds` holds the clips of its own side and knows no others.
"""
import dataclasses
import functools
import hashlib
import json
import os
import pathlib
import re

import numpy as np
from scipy import signal

import sound_files

PROJECT = pathlib.Path(__file__).resolve().parents[2]
MANIFEST = PROJECT / "data" / "sounds.json"
SIDES = ("fit", "tune", "report")
# With a lower SNR the clip's own noise would be audible beside the scene's noise.
LEAST_SNR_DB = {"knock": 25.0, "voice": 20.0}


class SoundError(Exception):
    """What is wrong with the sounds, and what would be right."""


def folder():
    """The folder of the unpacked packages."""
    return pathlib.Path(os.environ.get("LULL_SOUNDS", PROJECT / "build" / "sounds"))


@functools.lru_cache(maxsize=None)
def manifest(path=MANIFEST):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def package_folder(package, version):
    return folder() / f"{package}_{version.replace(':', '%3a')}"


def place_of(package, version, inside):
    """The folder `inside` an unpacked package; * stands for parts that need not be named."""
    place = package_folder(package, version)
    return next(iter(sorted(place.glob(inside))), place / inside)


def digest_of(place, names):
    """SHA-256 over a line for each file: the SHA-256 of the file as unpacked, two spaces, its name."""
    lines = "".join(f"{hashlib.sha256((place / name).read_bytes()).hexdigest()}  {name}\n"
                    for name in sorted(names))
    return hashlib.sha256(lines.encode()).hexdigest()


@dataclasses.dataclass(frozen=True)
class Clip:
    """One take: a stretch of one file. `snr_db` is relative to the clip's own noise floor."""
    side: str
    kind: str
    subkind: str
    source: str
    language: str
    package: str
    file: str       # path inside the unpacked package
    from_s: float
    duration_s: float
    snr_db: float
    rate_hz: int    # of the file; it has no content above half of it
    path: pathlib.Path

    def load(self, rate_hz=16000):
        """Mono float32 at `rate_hz`: trimmed, no constant offset, largest sample 1, ends faded."""
        key = re.sub(r"[^A-Za-z0-9.]+", "-", f"{self.file}-{self.from_s:.3f}-{self.duration_s:.3f}")
        kept = folder() / "decoded" / str(rate_hz) / self.package / (key + ".npy")
        if kept.exists():
            return np.load(kept)
        samples, native_hz = sound_files.decode(self.path)
        first = int(self.from_s * native_hz)
        samples = samples[first:first + max(1, int(self.duration_s * native_hz))]
        samples = prepare(samples, native_hz, rate_hz)
        kept.parent.mkdir(parents=True, exist_ok=True)
        part = kept.with_suffix(f".{os.getpid()}.part")
        with open(part, "wb") as file:
            np.save(file, samples)
        part.replace(kept)
        return samples


def prepare(samples, native_hz, rate_hz):
    """Ends faded over 1 and 5 ms, resampled, largest sample 1."""
    samples = samples.astype(np.float64)
    rise, fall = int(0.001 * native_hz), min(len(samples) // 4, int(0.005 * native_hz))
    if rise and len(samples) > 4 * rise:
        samples[:rise] *= np.linspace(0, 1, rise)
    if fall:
        samples[-fall:] *= np.linspace(1, 0, fall)
    if native_hz != rate_hz:
        common = np.gcd(int(native_hz), int(rate_hz))
        samples = signal.resample_poly(samples, rate_hz // common, native_hz // common)
    return (samples / max(1e-9, np.abs(samples).max())).astype(np.float32)


class Sounds:
    """The clips of one side."""

    def __init__(self, side, path=MANIFEST):
        if side not in SIDES:
            raise SoundError(f"no side '{side}'; the sides are {', '.join(SIDES)}")
        self.side = side
        read = manifest(path)
        versions = {package["package"]: package["version"] for package in read["packages"]}
        self._clips = tuple(clip for group in read["groups"] if group["side"] == side
                            for clip in clips_of(group, versions))
        self.missing = sorted({clip.package for clip in self._clips if not clip.path.exists()})

    def clips(self, kind, subkind=None, language=None, least_snr_db=None, unpacked=True):
        """Clips of a kind in a fixed order; those under the kind's least SNR are left out.
        With `unpacked`, only those whose file is there."""
        least = LEAST_SNR_DB.get(kind, -np.inf) if least_snr_db is None else least_snr_db
        return [clip for clip in self._clips
                if clip.kind == kind and subkind in (None, clip.subkind)
                and language in (None, clip.language) and clip.snr_db >= least
                and (not unpacked or clip.path.exists())]

    def by_source(self, kind, **others):
        """From source to its takes, for the clips of a kind."""
        found = {}
        for clip in self.clips(kind, **others):
            found.setdefault(clip.source, []).append(clip)
        return found

    def kinds(self):
        return sorted({clip.kind for clip in self._clips})

    def load(self, clip, rate_hz=16000):
        """Like clip.load, but refuses a clip of another side."""
        if clip.side != self.side:
            raise SoundError(f"{clip.file}: on the side '{clip.side}', asked for by '{self.side}'")
        return clip.load(rate_hz)


def clips_of(group, versions):
    """The clips of one group of the manifest."""
    match = re.compile(group["match"])
    place = place_of(group["package"], versions[group["package"]], group["folder"])
    for name, takes in group["files"]:
        source = match.fullmatch(name).expand(group["source"])
        for from_s, duration_s, snr_db in takes:
            yield Clip(group["side"], group["kind"], group.get("subkind", ""), source,
                       group.get("language", ""), group["package"], f"{group['folder']}/{name}",
                       from_s, duration_s, snr_db, group["rate_hz"], place / name)
