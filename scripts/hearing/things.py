# SPDX-License-Identifier: GPL-3.0-or-later
"""Nearby things, animals and bystanders that are not to be found. Like people.py."""
import numpy as np

from beds import drop_ring
from happening import Happening, Part
from people import bouts, somewhere
from shaping import faded, log_uniform, low_pass


def doors(rng, site, makers, library, from_s, to_s):
    found, place = [], somewhere(rng, site, 10)
    latch, slam = makers.Blows(rng, site.rate, "metal"), makers.Blows(rng, site.rate, "heel")
    for start, _ in bouts(rng, from_s, to_s, (1, 3), (8, 90)):
        door = library.thing(rng, "door", site.rate)
        parts = [Part(start, slam.blow(rng) if door is None else door.samples, place)]
        if rng.random() < 0.6:
            parts.append(Part(start + rng.uniform(0.1, 0.7), np.float32(0.4) * latch.blow(rng), place))
        for later in np.cumsum(rng.exponential(0.09, rng.integers(0, 5))):
            parts.append(Part(start + later, np.float32(0.2) * latch.blow(rng), place))
        found.append(Happening("confuser", "door", "", rng.uniform(4, 26), parts))
    return found


def settling(rng, site, makers, library, from_s, to_s):
    found = []
    for start, _ in bouts(rng, from_s, to_s, (1, 2), (5, 60)):
        place = somewhere(rng, site)
        fall = library.thing(rng, "debris", site.rate)
        pieces = makers.debris(rng, site.rate) if fall is None else [(0.0, fall.samples)]
        parts = [Part(start + later, wave, place + rng.normal(0, 0.6, 3)) for later, wave in pieces]
        found.append(Happening("confuser", "debris", "", rng.uniform(2, 24), parts))
    return found


def repeated(cause, rng, parts_of, from_s, to_s, interval_s, jitter, snr_db, **more):
    """Something that repeats at one place for a time, as one happening."""
    parts, at = [], from_s + rng.uniform(0, interval_s)
    while at < to_s - 0.5:
        parts += parts_of(at)
        at += interval_s * max(0.2, 1 + jitter * rng.standard_normal())
    return [Happening("confuser", cause, "", snr_db, parts, **more)] if parts else []


def drips(rng, site, makers, library, from_s, to_s):
    place, ring = somewhere(rng, site), drop_ring(rng, site.rate)
    scatter = rng.uniform(0.05, 0.5)

    def one(at):
        wave = ring + scatter * drop_ring(rng, site.rate)
        return [Part(at, (wave * 10 ** (rng.normal(0, 2) / 20)).astype(np.float32),
                     place + rng.normal(0, 0.02, 3))]
    return repeated("drip", rng, one, from_s, to_s, log_uniform(rng, 0.4, 6),
                    log_uniform(rng, 0.005, 0.2), rng.uniform(0, 18))


def clock(rng, site, makers, library, from_s, to_s):
    blows = makers.Blows(rng, site.rate, "metal", steady=0.05)
    place, medium = somewhere(rng, site), str(rng.choice(["structure", "air"]))
    one = lambda at: [Part(at, blows.blow(rng), place, medium)]  # noqa: E731
    return repeated("clock", rng, one, from_s, to_s, rng.choice([0.25, 0.4, 0.5, 1.0, 1.0, 2.0]),
                    0.002, rng.uniform(-2, 14))


def alarm(rng, site, makers, library, from_s, to_s):
    place, beep = somewhere(rng, site, 15), makers.alarm(rng, site.rate)
    clip = library.thing(rng, "alarm", site.rate)
    beep = beep if clip is None else clip.samples
    until = min(to_s, from_s + log_uniform(rng, 10, 120))
    one = lambda at: [Part(at, faded(beep, site.rate), place, "air")]  # noqa: E731
    return repeated("alarm", rng, one, from_s, until, len(beep) / site.rate + rng.uniform(0.1, 1.5),
                    0.001, rng.uniform(2, 25))


def dogs(rng, site, makers, library, from_s, to_s):
    found = []
    place = somewhere(rng, site, 15)
    for start, until in bouts(rng, from_s, to_s, (1, 10), (10, 80)):
        clip = library.thing(rng, "animal", site.rate, longest_s=2.0)
        bark = clip.samples if clip is not None else None
        own, parts, at = makers.bark(rng, site.rate), [], start
        while at < until:
            wave = own if bark is None else bark
            parts.append(Part(at, faded(wave, site.rate) * np.float32(10 ** (rng.normal(0, 2) / 20)),
                              place, "air"))
            at += len(wave) / site.rate + log_uniform(rng, 0.1, 1.2)
        found.append(Happening("confuser", "dog", "", rng.uniform(2, 24), parts,
                               clip.source if clip is not None else "made"))
    return found


def vehicle_horn(rng, site, makers, library, from_s, to_s):
    place, at = somewhere(rng, site, 30), rng.uniform(from_s, max(from_s + 0.1, to_s - 3))
    clip = library.thing(rng, "horn", site.rate)
    wave = makers.horn(rng, site.rate, rng.uniform(0.2, 1.5)) if clip is None else clip.samples
    wave = low_pass(wave, site.rate, 2500)
    return [Happening("confuser", "vehicle-horn", "", rng.uniform(3, 22),
                      [Part(at, wave, place, "air")], neither_for=("horn",), lasting=True)]


def shouts(rng, site, makers, library, from_s, to_s):
    """Voices of bystanders."""
    found = []
    for start, _ in bouts(rng, from_s, to_s, (1, 3), (5, 60)):
        clip = library.voice(rng, "call", site.rate, makers)
        found.append(Happening("confuser", "crowd-voice", "", rng.uniform(0, 15),
                               [Part(start, clip.samples, somewhere(rng, site, 15), "air")],
                               clip.source, ("voice-like",), lasting=True))
    return found


THINGS = [drips, clock, settling, doors, alarm, dogs, vehicle_horn]
