# SPDX-License-Identifier: GPL-3.0-or-later
"""Blows, steps, rubbing and debris of the fit and tune sides, by the physics of a contact.

A blow is a pulse of force: its contact time and its level change from blow to blow, and it may
bounce. What is struck rings in modes whose strength depends on the spot; the spot wanders by
centimetres from blow to blow.
"""
import numpy as np
from scipy import signal

from shaping import arch, band_noise, faded, log_uniform, low_pass, through_body

# Contact time [s], share of it that changes from blow to blow, decay of the longest mode [s]
STRIKERS = {"hand": ((0.002, 0.012), (0.1, 0.35), 0.08), "stone": ((0.0004, 0.003), (0.08, 0.3), 0.12),
            "metal": ((0.00015, 0.0015), (0.05, 0.25), 0.4), "heel": ((0.005, 0.03), (0.1, 0.3), 0.08),
            "hammer": ((0.0003, 0.002), (0.05, 0.2), 0.25)}
STRUCK = {"concrete": (60, 900), "steel": (200, 3500), "pipe": (120, 2500), "timber": (60, 600),
          "wall": (80, 1500)}


class Struck:
    """A thing that is struck: its modes, each a wave over its surface."""

    def __init__(self, rng, rate, longest_s):
        low, high = STRUCK[rng.choice(list(STRUCK))]
        count = int(log_uniform(rng, 3, 20))
        f = np.minimum(np.exp(rng.uniform(np.log(low), np.log(high), count)), 0.45 * rate)
        decay = np.exp(rng.uniform(np.log(0.005), np.log(longest_s), count))
        t = np.arange(int(min(0.9, 5 * decay.max() + 0.03) * rate)) / rate
        self.modes = np.exp(-t / decay[:, None]) * np.sin(2 * np.pi * f[:, None] * t)
        self.gains = rng.uniform(0.2, 1, count)
        self.waves = rng.standard_normal((count, 2)) * 2 * np.pi / np.exp(
            rng.uniform(np.log(0.15), np.log(1.5), (count, 1)))
        self.phases = rng.uniform(0, 2 * np.pi, count)
        self.pressed = rng.uniform(0.0, 0.5)  # the force itself, besides the resonances

    def response(self, spot):
        h = (self.gains * np.cos(self.waves @ spot + self.phases)) @ self.modes
        h[0] += self.pressed * np.abs(h).max()
        return h


class Blows:
    """One source of blows: what strikes what. blow(rng) gives the next wave."""

    def __init__(self, rng, rate, of, steady=1.0):
        contact, changes, longest = STRIKERS[of]
        self.rate = rate
        self.contact_s = log_uniform(rng, *contact)
        self.changes = steady * log_uniform(rng, *changes)
        self.struck = Struck(rng, rate, log_uniform(rng, 0.25, 1) * longest)
        self.spot = rng.uniform(0, 0.3, 2)
        self.wanders_m = steady * log_uniform(rng, 0.003, 0.06)
        self.level_db = steady * rng.uniform(0.8, 3.0)
        self.bounces = rng.random() < 0.2
        self.bounce_s, self.bounce_gain = rng.uniform(0.012, 0.045), rng.uniform(0.1, 0.6)
        self.grain = rng.uniform(0.1, 1.0) if rng.random() < 0.2 else 0.0

    def pulse(self, rng):
        width = self.contact_s * np.exp(self.changes * rng.standard_normal()) * self.rate
        n = max(2, int(np.ceil(width)))
        force = np.sin(np.pi * np.clip((np.arange(n) + 0.5) / max(width, 1.0), 0, 1)) ** 1.5
        if self.grain:  # a soft or crumbling surface grinds
            long = n + int(0.006 * self.rate)
            rub = rng.standard_normal(long) * np.exp(-np.arange(long) / (0.3 * long))
            force = np.concatenate([force, np.zeros(long - n)]) + self.grain * rub / np.sqrt(long)
        return force

    def blow(self, rng):
        spot = self.spot + self.wanders_m * rng.standard_normal(2)
        wave = signal.fftconvolve(self.struck.response(spot), self.pulse(rng))
        if self.bounces and rng.random() < 0.8:
            late = int(self.bounce_s * np.exp(0.2 * rng.standard_normal()) * self.rate)
            again = signal.fftconvolve(self.struck.response(spot), self.pulse(rng))
            wave = np.concatenate([wave, np.zeros(max(0, late + len(again) - len(wave)))])
            wave[late:late + len(again)] += self.bounce_gain * rng.uniform(0.4, 1.3) * again
        wave *= 10 ** (self.level_db * rng.standard_normal() / 20)
        return trimmed(wave)


def trimmed(wave):
    """Removes the end below a thousandth of the maximum."""
    loud = np.nonzero(np.abs(wave) > 1e-3 * np.abs(wave).max())[0]
    return wave[:loud[-1] + 1].astype(np.float32) if len(loud) else wave.astype(np.float32)


class Steps:
    """One walker: heel, then toe; the surface changes from step to step."""

    def __init__(self, rng, rate):
        self.rate = rate
        self.heel = Blows(rng, rate, "heel")
        self.contact_s = log_uniform(rng, 0.004, 0.025)
        self.toe_s, self.toe_gain = rng.uniform(0.06, 0.16), rng.uniform(0.1, 0.8)
        self.gravel = rng.uniform(0.1, 1.5) if rng.random() < 0.6 else 0.0
        self.crunch_hz = log_uniform(rng, 300, 3000)
        self.cut_hz = log_uniform(rng, 90, 900)

    def step(self, rng):
        rate = self.rate
        self.heel.contact_s = self.contact_s * np.exp(0.25 * rng.standard_normal())
        self.heel.spot = rng.uniform(0, 3, 2)  # another place at each step
        strike = low_pass(self.heel.blow(rng), rate, self.cut_hz)
        late = int(self.toe_s * np.exp(0.15 * rng.standard_normal()) * rate)
        wave = np.zeros(late + len(strike) + int(0.15 * rate), np.float32)
        wave[:len(strike)] += strike
        wave[late:late + len(strike)] += self.toe_gain * rng.uniform(0.3, 1.5) * strike
        if self.gravel:
            n = int(rng.uniform(0.08, 0.25) * rate)
            crunch = band_noise(rng, n, rate, 0.4 * self.crunch_hz, 2.5 * self.crunch_hz)
            crunch *= (rng.random(n) < 0.15) * np.hanning(n)
            peak = np.abs(crunch).max() + 1e-9
            wave[:n] += (self.gravel * np.abs(strike).max() / peak * crunch)[:len(wave)]
        return trimmed(wave)


def grains(rng, rate, n):
    """A moving rough edge: grains of noise, single clicks, or slips that are faster in the middle of the
    stroke. None has a steady tone like a throat."""
    way = rng.random()
    if way < 0.5:
        width = int(log_uniform(rng, 0.002, 0.012) * rate)
        return rng.standard_normal(n) * np.repeat(rng.exponential(1, n // width + 2), width)[:n]
    if way < 0.8:
        return (rng.random(n) < log_uniform(rng, 20, 2000) / rate) * rng.exponential(1, n) * rng.choice([-1, 1], n)
    slips = rng.random(n) < log_uniform(rng, 15, 500) / rate * (0.3 + arch(n))
    return slips * rng.exponential(1, n) + 0.05 * rng.standard_normal(n)


def rub(rng, rate, seconds, low_hz, high_hz):
    """One stroke of something rough over something hard. The same band means the same thing."""
    n = int(seconds * rate)
    high_hz = min(high_hz, 0.45 * rate)
    sections = signal.butter(2, [min(low_hz, 0.6 * high_hz), high_hz], "bandpass", fs=rate, output="sos")
    wave = signal.sosfilt(sections, grains(rng, rate, n) * arch(n) ** rng.uniform(0.4, 1.5))
    thing = np.random.default_rng([int(1000 * low_hz), int(1000 * high_hz)])
    if thing.random() < 0.6:
        wave = through_body(thing, rate, wave)
    return faded(wave / (wave.std() + 1e-12), rate)


def debris(rng, rate):
    """Parts that fall and settle: (seconds after the first, wave) each, all different."""
    pieces, at = [], 0.0
    for _ in range(int(rng.integers(1, 18))):
        piece = Blows(rng, rate, str(rng.choice(["stone", "stone", "heel", "metal"])))
        height = log_uniform(rng, 0.2, 1.0)
        gap, size = rng.uniform(0.03, 0.25), 10 ** (rng.normal(-4, 6) / 20)
        for k in range(int(rng.integers(1, 7))):  # it bounces, lower each time
            pieces.append((at, size * height ** k * piece.blow(rng)))
            at += gap
            gap *= rng.uniform(0.45, 0.85)
        at += rng.exponential(0.35)
    return pieces
