# SPDX-License-Identifier: GPL-3.0-or-later
"""The recorded sounds of one side as a scene asks for them; what no recording exists of is made.

`sounds` is anything with by_source(kind, subkind=...) -> {source: clips}: sounds.Sounds, or Packed,
what pack_sounds.py wrote. None: everything is made, which tests use.
"""
import dataclasses

import numpy as np
from scipy import signal

import pack_sounds
from shaping import frame_powers

# Share of people with recorded blows, and of recorded voices. There are few objects, which a fit would learn by
# heart, so fitting makes most of its blows and reporting few.
RECORDED_BLOWS = {"fit": 0.3, "tune": 0.6, "report": 0.75}
MADE_VOICES = {"call": "murmur", "speech": "murmur", "cry": "cry", "groan": "groan", "cough": "cough",
               "whistle": "whistle"}
RECORDED_VOICES = {"call": 1.0, "speech": 1.0, "cry": 0.8, "groan": 0.6, "cough": 0.6, "whistle": 0.4}
RECORDED_THINGS = 0.4  # of machines, doors, dogs and similar things with recordings
MACHINE_KINDS = {"engine": ("engine", "vehicle"), "generator": ("machine", None),
                 "pump": ("machine", None), "saw": ("tool", None), "breaker": ("tool", None),
                 "rotor": ("engine", "rotor")}
SPOKEN_S = (0.6, 4.0)


@dataclasses.dataclass
class Heard:
    samples: np.ndarray
    source: str


@dataclasses.dataclass
class Takes:
    """Several blows of one object."""
    takes: list
    source: str


class Library:
    def __init__(self, side, sounds):
        self.side, self.sounds = side, sounds
        self.recorded_share = RECORDED_BLOWS[side]
        self.found, self.loaded = {}, {}

    def sources(self, kind, subkind=None):
        """{source: clips} of a kind, sources in order of name; empty when there are none."""
        key = (kind, subkind)
        if key not in self.found:
            rows = self.sounds.by_source(kind, subkind=subkind) if self.sounds else {}
            self.found[key] = {name: rows[name] for name in sorted(rows)}
        return self.found[key]

    def load(self, clip, rate):
        key = (clip.path, clip.from_s, rate)
        if key not in self.loaded:
            if len(self.loaded) > 400:
                self.loaded.clear()
            self.loaded[key] = clip.load(rate)
        return self.loaded[key]

    def any(self, rng, kind, subkind=None, source=None):
        """One clip: first a source, then one of its clips; None when there are none."""
        rows = self.sources(kind, subkind)
        if not rows:
            return None
        source = source if source in rows else list(rows)[rng.integers(len(rows))]
        return rows[source][rng.integers(len(rows[source]))]

    def speaker(self, rng, role):
        """A speaker for a person of a role. The team's speakers are of another third than the others."""
        names = list(self.sources("voice", "speech"))
        kept = [n for k, n in enumerate(names) if (k % 3 == 0) == (role == "team")]
        return kept[rng.integers(len(kept))] if kept else None

    def voice(self, rng, of, rate, makers, speaker=None):
        clip = None
        if rng.random() < RECORDED_VOICES[of]:
            clip = self.any(rng, "voice", of, speaker)
            if of == "call" and (clip is None or rng.random() < 0.7):
                clip = self.any(rng, "voice", "speech", speaker)
        if clip is None:
            made = getattr(makers, MADE_VOICES[of])(rng, rate)
            return Heard(np.asarray(made, np.float32), "made:" + of)
        samples = self.load(clip, rate)
        if of in ("speech", "call"):
            samples = spoken(rng, samples, rate)
        if of == "call":
            samples = raised(rng, samples)
        if self.side == "fit":  # few speakers, so shift them
            samples = at_speed(samples, np.exp(rng.normal(0, 0.12)))
        return Heard(samples, "clip:" + clip.source)

    def thing(self, rng, kind, rate, subkind=None, longest_s=4.0):
        """A recording of a thing. None: there is none, or it is to be made this time."""
        clip = self.any(rng, kind, subkind) if rng.random() < RECORDED_THINGS else None
        return None if clip is None else Heard(self.load(clip, rate)[:int(longest_s * rate)],
                                               "clip:" + clip.source)

    def machine(self, rng, cause, rate):
        """A stretch of a machine that can be looped, or None."""
        kind, subkind = MACHINE_KINDS[cause]
        heard = self.thing(rng, kind, rate, subkind, 20.0)
        return heard if heard is not None and len(heard.samples) > 0.5 * rate else None

    def blows(self, rng, rate):
        return self.takes(rng, "knock", rate)

    def steps(self, rng, rate):
        return self.takes(rng, "step", rate)

    def takes(self, rng, kind, rate):
        rows = self.sources(kind)
        if not rows:
            return None
        source = list(rows)[rng.integers(len(rows))]
        takes = [self.load(clip, rate)[:rate] for clip in rows[source][:12]]
        takes = [take for take in takes if len(take) > 8]
        return Takes(takes, "clip:" + source) if takes else None


class PackedClip:
    """A clip of a pack; `record` as pack_sounds.py keeps it."""

    def __init__(self, record, samples):
        self.source, self.from_s = record["source"], record["from_s"]
        self.path = record["package"] + "/" + record["file"]
        self.samples = samples

    def load(self, rate_hz):
        common = np.gcd(pack_sounds.RATE_HZ, int(rate_hz))
        return self.samples if rate_hz == pack_sounds.RATE_HZ else signal.resample_poly(
            self.samples, rate_hz // common, pack_sounds.RATE_HZ // common).astype(np.float32)


class Packed:
    """The clips of a pack, for machines that cannot unpack packages."""

    def __init__(self, path):
        self.side, clips = pack_sounds.unpacked(path)
        self.records = [(record, PackedClip(record, part)) for record, part in clips]

    def by_source(self, kind, subkind=None):
        found = {}
        for record, clip in self.records:
            if record["kind"] == kind and subkind in (None, record["subkind"]):
                found.setdefault(record["source"], []).append(clip)
        return found


def at_speed(samples, speed):
    index = np.arange(0, len(samples) - 1, speed)
    return np.interp(index, np.arange(len(samples)), samples).astype(np.float32)


def spoken(rng, samples, rate):
    """A part of a speech, cut where it is quiet."""
    wanted = int(rng.uniform(*SPOKEN_S) * rate)
    if len(samples) <= wanted + rate // 4:
        return samples
    powers = frame_powers(samples, rate, 0.02)
    width, first = int(0.02 * rate), int(rng.integers(0, len(samples) - wanted))
    reach = int(0.5 / 0.02)
    cuts = []
    for at in (first, first + wanted):
        near = np.arange(max(0, at // width - reach), min(len(powers), at // width + reach))
        cuts.append(int(near[np.argmin(powers[near])]) * width)
    piece = samples[cuts[0]:cuts[1]]
    return piece if len(piece) > 0.3 * rate else samples[first:first + wanted]


def raised(rng, samples):
    """Changes speech to calling: a little higher, syllables slower, high frequencies stronger."""
    samples = at_speed(samples, rng.uniform(0.95, 1.25))
    bright = rng.uniform(0.1, 0.7)
    return np.concatenate([samples[:1], samples[1:] - np.float32(bright) * samples[:-1]])


def library_of(side):
    """The library of the unpacked packages."""
    import sounds
    found = sounds.Sounds(side)
    if not found.clips("voice", "speech"):
        raise sounds.SoundError(f"no voice of the side '{side}' is unpacked; run scripts/setup sounds")
    return Library(side, found)
