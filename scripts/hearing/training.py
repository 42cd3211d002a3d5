# SPDX-License-Identifier: GPL-3.0-or-later
"""Short scenes with labels a frame, for fitting: the bench's own scenes, 24 s at 8 kHz."""
import numpy as np

import beds
import scenes
from render import Rendering, recorded
from shaping import frame_powers, in_band

RATE, SECONDS, FRAME_S = 8000, 24.0, 0.016
CLASSES = ["voice", "knock", "horn", "engine", "other"]
OF_KIND = {"voice-like": "voice", "tapping": "knock", "horn": "horn"}
AUDIBLE = 10 ** -0.6  # over the floor: -6 dB; fainter frames of a sound are neither yes nor no
PART_OF_PEAK = 0.01  # -20 dB: where a sound is
CLEAR, FAINT = 0.4, 0.1  # share of an engine in the bed that makes a frame its, or unclear
PAUSE_S = 0.3  # a voice goes on over shorter ones


class Labelled(Rendering):
    """A rendering that keeps where each sound is, for the best channel that hears it."""

    keeps_stems = True

    def __init__(self, scene):
        self.width = int(FRAME_S * scene.site.rate)
        self.frames = scene.site.frames // self.width
        self.labels = np.zeros((len(CLASSES), self.frames), bool)
        self.unclear = np.zeros_like(self.labels)
        self.engines = 0.0
        super().__init__(scene)
        self.label_engines(scene)

    def add_bed(self, bed):
        before = self.samples.copy() if bed.cause in beds.MACHINES else None
        super().add_bed(bed)
        if before is not None:
            self.engines = self.engines + self.bed_powers(self.samples - before)

    def bed_powers(self, samples):
        return frame_powers(in_band(samples, self.site.rate), self.site.rate,
                            FRAME_S)[:, :self.frames]

    def label_engines(self, scene):
        if np.ndim(self.engines) == 0:
            return
        floors = np.repeat(self.floors, self.site.rate, axis=1)[:, :self.site.frames]
        floors = floors[:, self.width // 2::self.width][:, :self.frames]
        share = np.max(self.engines / np.maximum(floors, self.engines + 1e-20), axis=0)
        self.labels[CLASSES.index("engine")] = share > CLEAR
        self.unclear[CLASSES.index("engine")] = (share > FAINT) & (share <= CLEAR)

    def add(self, one):
        heard = super().add(one)
        kind = one.kind or (one.neither_for[0] if one.neither_for else "")
        row = CLASSES.index(OF_KIND.get(kind, "other"))
        for stem in heard["kept"]:
            self.label(row, stem, heard["best"], heard["gain"])
        return heard

    def label(self, row, stem, best, gain):
        at = np.nonzero(stem.channels == best)[0]
        if not len(at):
            return
        lead = stem.starts[at[0]] % self.width
        band = np.concatenate([np.zeros(lead), stem.band[at[0]]])
        powers = frame_powers(band, self.site.rate, FRAME_S) * gain ** 2
        there = powers > PART_OF_PEAK * powers.max(initial=0)
        if row == 0:
            there = bridged(there, int(PAUSE_S / FRAME_S))
        first = stem.starts[at[0]] // self.width
        floor = self.floors_at(stem)[at[0]]
        for k in np.nonzero(there)[0]:
            if 0 <= first + k < self.frames:
                if powers[k] > AUDIBLE * floor or row == 0 and powers.max() > floor:
                    self.labels[row, first + k] = True
                else:
                    self.unclear[row, first + k] = True


def bridged(there, most):
    """Gaps of at most `most` frames between true ones made true."""
    there, at = there.copy(), np.nonzero(there)[0]
    for a, b in zip(at[:-1], at[1:]):
        if 1 < b - a <= most + 1:
            there[a:b] = True
    return there


def scene_of(seed, library, side="fit"):
    """The scene of a training seed, which draws everything."""
    rng = np.random.default_rng([seed, 8])
    ground = str(rng.choice(list(scenes.GROUNDS)))
    return scenes.draw(side, seed, ground, library=library, rate=RATE, seconds=SECONDS,
                       channels=int(rng.integers(1, 9)))


def render_training(seed, library, side="fit"):
    """(samples float32 [channels, frames] at 8 kHz, labels bool [classes, 16 ms frames], which of
    them count, same shape, and whether each channel is seismic)."""
    made = Labelled(scene_of(seed, library, side))
    recorded(made)
    seismic = np.array([channel.kind == "seismic" for channel in made.site.channels])
    return made.samples, made.labels, made.labels | ~made.unclear, seismic
