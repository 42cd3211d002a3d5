# SPDX-License-Identifier: GPL-3.0-or-later
"""Short scenes with labels for each frame, for fitting: the bench's own scenes, 24 s at 8 kHz."""
import dataclasses

import numpy as np

import beds
import people
import scenes
import truth
from beds import drop_ring
from happening import Happening, Part
from render import Rendering, recorded
from shaping import arch, faded, frame_powers, in_band, log_uniform, through_body

RATE, SECONDS, FRAME_S = 8000, 24.0, 0.016
CLASSES = ["voice", "knock", "horn", "engine", "other"]
OF_KIND = {"voice-like": "voice", "tapping": "knock", "horn": "horn"}
AUDIBLE = 10 ** -0.6  # over the floor: -6 dB; fainter frames of a sound have no label
PART_OF_PEAK = 0.01  # -20 dB: extent of a sound
CLEAR, FAINT = 0.4, 0.1  # share of an engine in the bed from which a frame is labelled, or is unclear
PAUSE_S = 0.3  # a voice continues over shorter pauses


class Varied(Rendering):
    """A rendering in which some confusers sound through the resonances of another thing."""

    def __init__(self, scene):
        self.rng = scene.site.rng("varied")
        super().__init__(scene)

    def add(self, one):
        if not one.kind and not one.neither_for and self.rng.random() < 0.3:
            one = elsewhere(self.rng, one, self.site.rate)
        return super().add(one)


class Labelled(Varied):
    """Keeps the stems of each sound, on the best channel that hears it."""

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
    """Fills gaps of at most `most` frames between true ones."""
    there, at = there.copy(), np.nonzero(there)[0]
    for a, b in zip(at[:-1], at[1:]):
        if 1 < b - a <= most + 1:
            there[a:b] = True
    return there


def elsewhere(rng, one, rate):
    """The same through the resonances of another thing, so that spectral colour cannot decide on a voice."""
    seed = int(rng.integers(2 ** 32))
    return dataclasses.replace(one, parts=[dataclasses.replace(
        part, wave=through_body(np.random.default_rng(seed), rate, part.wave)) for part in one.parts])


def creak(rng, rate, makers):
    """Rubbing that rises and falls like syllables, through moving resonances."""
    wave = makers.rub(rng, rate, log_uniform(rng, 0.15, 2.5), log_uniform(rng, 20, 80), 0.45 * rate)
    n = len(wave)
    swells = 1 + rng.uniform(0, 1) * np.sin(2 * np.pi * log_uniform(rng, 1, 9) * np.arange(n) / rate)
    first, last = through_body(rng, rate, wave), through_body(rng, rate, wave)
    mix = np.linspace(0, 1, n, dtype=np.float32)
    return faded(((1 - mix) * first + mix * last) * swells * arch(n) ** rng.uniform(0.2, 1.5), rate)


def creaks(rng, site, makers):
    """An unnamed thing: it scrapes, squeaks or groans, in the structure, in air or at a sensor."""
    medium, channel = str(rng.choice(["structure", "air", "sensor"])), int(rng.integers(len(site.channels)))
    place = site.channels[channel].position_m if medium == "sensor" else people.somewhere(rng, site)
    parts, at = [], rng.uniform(1, 0.8 * site.duration_s)
    for _ in range(int(rng.integers(1, 9))):
        wave = creak(rng, site.rate, makers)
        parts.append(Part(at, wave / np.float32(wave.std() + 1e-9), place, medium, channel))
        at += len(wave) / site.rate + rng.exponential(0.6)
        if at > site.duration_s - 3:
            break
    return Happening("confuser", "creaks", "", rng.uniform(3, 25), parts)


def falling(rng, site, makers):
    """Drops or grit at a few spots, or things at a few places that somebody touches: each place sounds
    similar every time, at irregular times."""
    begin = rng.uniform(0, 0.5) * site.duration_s
    until = min(site.duration_s - 1, begin + log_uniform(rng, 5, 120))
    times = begin + np.cumsum(rng.exponential(1 / log_uniform(rng, 0.3, 15), 800))
    spots = [(makers.Blows(rng, site.rate, str(rng.choice(["stone", "heel", "metal", "hand"]))) if rng.random() < 0.6
              else drop_ring(rng, site.rate), people.somewhere(rng, site)) for _ in range(int(rng.integers(1, 13)))]
    parts, scatter_db = [], rng.uniform(1, 6)
    for at in times[times < until]:
        what, place = spots[rng.integers(len(spots))]
        wave = what if isinstance(what, np.ndarray) else what.blow(rng)
        wave = wave / (np.abs(wave).max() + 1e-9) * 10 ** (scatter_db * rng.standard_normal() / 20)
        parts.append(Part(float(at), wave.astype(np.float32), place + rng.normal(0, 0.03, 3)))
    return [Happening("confuser", "falling", "", rng.uniform(3, 25), parts)] if parts else []


def scene_of(seed, library, side="fit"):
    """The scene of a training seed, which determines everything."""
    rng = np.random.default_rng([seed, 8])
    ground = str(rng.choice(list(scenes.GROUNDS)))
    scene = scenes.draw(side, seed, ground, library=library, rate=RATE, seconds=SECONDS,
                        channels=int(rng.integers(1, 9)))
    return with_more(rng, scene)


def with_more(rng, scene):
    """The scene; a quarter of them gets creaking sounds, a quarter falling ones."""
    if rng.random() < 0.25:
        scene.happenings.append(creaks(rng, scene.site, scene.makers))
    if rng.random() < 0.25:
        scene.happenings += falling(rng, scene.site, scene.makers)
    return scene


def coloured_by_sensors(rng, samples, rate):
    """Some channels have their own resonances."""
    for row in samples:
        if rng.random() < 0.4:
            ring = np.float32(rng.uniform(0.05, 0.4)) * through_body(rng, rate, row)
            row += ring


def render_training(seed, library, side="fit"):
    """(samples float32 [channels, frames] at 8 kHz, labels bool [classes, 16 ms frames], a mask of the
    same shape, and whether each channel is seismic)."""
    made = Labelled(scene_of(seed, library, side))
    recorded(made)
    coloured_by_sensors(made.rng, made.samples, RATE)
    seismic = np.array([channel.kind == "seismic" for channel in made.site.channels])
    return made.samples, made.labels, made.labels | ~made.unclear, seismic


def varied_scene(rng, scene):
    """Samples and truth of a scene of any rate and length, varied like the short ones."""
    made = Varied(with_more(rng, scene))
    return made.samples, truth.of_scene(made, recorded(made))
