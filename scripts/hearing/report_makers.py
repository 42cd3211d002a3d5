# SPDX-License-Identifier: GPL-3.0-or-later
"""The report side's own makers: the names of `makers.py`, none of its code or settings.

Machines are trains of single exhaust pulses through ducts, blows a mass on a contact spring that
drives the modes of a plate or a bar, steps a push of the ground with grains that slip, voices
pulses of a glottis through tubes. Nothing that a model was fitted on comes from here.
"""
import numpy as np
from scipy import signal

POWERS = {"engine": (18, 90), "generator": (40, 60), "pump": (12, 50), "rotor": (8, 24)}


def smooth(rng, count, order=2):
    """A smooth random line of `count` values, mean 0, variance about 1: noise integrated with a leak."""
    line = signal.lfilter([1.0], [1.0, -0.96], rng.standard_normal(count))
    line = signal.lfilter([1.0], [1.0, -0.7], line) if order > 1 else line
    return (line - line.mean()) / (line.std() + 1e-9)


def stretched(line, n):
    return np.interp(np.linspace(0, len(line) - 1, n), np.arange(len(line)), line)


def duct(rng, rate, least_hz, most_hz):
    """Poles of a duct or a housing: a filter with a few resonances."""
    sections = []
    for _ in range(int(rng.integers(2, 6))):
        hz = min(rng.uniform(least_hz, most_hz), 0.45 * rate)
        radius = np.exp(-np.pi * hz / rng.uniform(2, 12) / rate)
        sections.append([1.0, -1.0, 0.0, 1.0, -2 * radius * np.cos(2 * np.pi * hz / rate),
                         radius ** 2])
    return np.array(sections)


def pulses(rng, n, rate, gaps_s, strengths):
    """Pulses at fractional frames, each shared by the two neighbouring frames."""
    at = np.cumsum(gaps_s) * rate
    at, strengths = at[at < n - 2], strengths[:np.count_nonzero(at < n - 2)]
    train, whole = np.zeros(n), at.astype(int)
    part = at - whole
    np.add.at(train, whole, (1 - part) * strengths)
    np.add.at(train, whole + 1, part * strengths)
    return train


def fired(rng, n, rate, per_second, cylinders, breath):
    """Combustion: pulses whose spacing and strength depend on the cylinder, through a duct, with the
    rush of gas after each."""
    count = int(n / rate * per_second.max() * 1.05) + 8
    rates = stretched(per_second, count)
    own = 1 + 0.25 * rng.standard_normal(cylinders)
    strengths = own[np.arange(count) % cylinders] * rng.gamma(12, 1 / 12, count)
    uneven = 1 + 0.04 * rng.standard_normal(cylinders)
    train = pulses(rng, n, rate, uneven[np.arange(count) % cylinders] / rates, strengths)
    rush = signal.lfilter([1.0], [1.0, -np.exp(-1 / (rng.uniform(0.003, 0.02) * rate))], train)
    gas = rush / (rush.std() + 1e-9) * rng.standard_normal(n) * breath
    x = signal.sosfilt(duct(rng, rate, 50, 1500), train)
    return (x / (x.std() + 1e-9) + signal.sosfilt(duct(rng, rate, 200, 4000), gas) * 0.3)


def turning(name):
    low, high = POWERS[name]

    def make(rng, n, rate):
        base = rng.uniform(low, high)
        line = base * np.exp(rng.uniform(0.003, 0.05) * smooth(rng, int(n / rate * 4) + 40))
        x = fired(rng, n, rate, line, int(rng.choice([1, 2, 3, 4, 6])), rng.uniform(0.1, 1.0))
        if name == "rotor":
            x = x * stretched(np.exp(0.8 * smooth(rng, int(n / rate / 2) + 8)), n)
        return x.astype(np.float32)
    return make


def saw(rng, n, rate):
    """A governor varies between idle and full speed; the chain adds its own tooth noise."""
    steps = int(n / rate * 20) + 40
    wanted, speed, line = 45.0, 45.0, []
    for k in range(steps):
        if rng.random() < 0.03:
            wanted = rng.uniform(90, 180) if wanted < 60 else rng.choice([45.0, rng.uniform(80, 170)])
        speed += (wanted - speed) * 0.2 + 1.5 * rng.standard_normal()
        line.append(max(30.0, speed))
    line = np.array(line)
    x = fired(rng, n, rate, line, 1, 0.6)
    chain = rng.standard_normal(n) * stretched(np.clip(line - 60, 0, None) / 60, n)
    return (x * stretched((line / 150) ** 0.8, n)
            + 0.4 * signal.sosfilt(duct(rng, rate, 800, 5000), chain)).astype(np.float32)


def breaker(rng, n, rate):
    strokes = rng.uniform(7, 25)
    count = int(n / rate * strokes) + 4
    on = (smooth(rng, count // 8 + 4) > rng.uniform(-0.6, 0.4)).astype(float)
    gains = np.repeat(on, 8)[:count] * rng.gamma(20, 1 / 20, count)
    x = pulses(rng, n, rate, rng.gamma(400, 1 / 400 / strokes, count), gains)
    return signal.sosfilt(duct(rng, rate, 60, 2500), x).astype(np.float32)


MACHINES = {**{name: turning(name) for name in POWERS}, "saw": saw, "breaker": breaker}


def plate_modes(rng, rate, count=14):
    """Frequencies and shapes of a supported plate, m and n half waves along its sides."""
    sides, first = rng.uniform(0.5, 3.0, 2), rng.uniform(30, 250)
    m = rng.integers(1, 7, count), rng.integers(1, 7, count)
    hz = first * ((m[0] / sides[0]) ** 2 + (m[1] / sides[1]) ** 2) / np.sum(1 / sides ** 2)
    return np.minimum(hz, 0.45 * rate), m, sides


class Blows:
    """A mass on a nonlinear contact drives a plate; each blow is at a slightly different place."""
    MASSES = {"hand": (0.3, 0.8, 2e4, 2e5), "stone": (0.2, 2.0, 1e6, 2e7),
              "metal": (0.1, 1.0, 5e6, 1e8), "heel": (1.0, 5.0, 1e4, 2e5),
              "hammer": (0.5, 3.0, 2e6, 3e7)}

    def __init__(self, rng, rate, of, steady=1.0):
        self.rate, self.steady = rate, steady
        light, heavy, soft, hard = self.MASSES[of]
        self.mass = rng.uniform(light, heavy)
        self.stiffness = np.exp(rng.uniform(np.log(soft), np.log(hard)))
        self.hz, self.order, self.sides = plate_modes(rng, rate)
        loss = rng.uniform(0.004, 0.08) if of == "metal" else rng.uniform(0.03, 0.15)
        self.decay = np.maximum(np.pi * self.hz * loss, 6.0)
        self.spot = rng.uniform(0.15, 0.85, 2) * self.sides
        self.scatter_m = rng.uniform(0.005, 0.05) * steady
        self.force = rng.uniform(0.1, 0.3) * steady
        self.rattles = rng.random() < 0.2

    def contact(self, rng):
        """Half an oscillation of the mass on the contact, with speed and stiffness of the hand."""
        stiffness = self.stiffness * rng.lognormal(0, 0.4 * self.steady)
        seconds = np.pi * np.sqrt(self.mass / stiffness)
        n = max(2, int(np.ceil(seconds * self.rate)))
        rise = np.linspace(0, np.pi, n + 2)[1:-1]
        return np.sin(rise) * (1 + 0.3 * np.sin(2 * rise))

    def blow(self, rng):
        spot = self.spot + self.scatter_m * rng.standard_normal(2)
        shape = np.prod([np.sin(np.pi * m * p / side)
                         for m, p, side in zip(self.order, spot, self.sides)], axis=0)
        length = min(0.8, 7 / self.decay.min() + 0.02)
        t = np.arange(int(length * self.rate)) / self.rate
        ring = (shape * np.sin(2 * np.pi * np.outer(t, self.hz)) * np.exp(
            -np.outer(t, self.decay))).sum(axis=1)
        ring[0] += 0.3 * np.abs(ring).max()
        wave = np.convolve(self.contact(rng), ring) if len(ring) < 200 else signal.fftconvolve(
            ring, self.contact(rng))
        if self.rattles:
            late = int(rng.uniform(0.015, 0.06) * self.rate)
            wave[late:] += rng.uniform(0.05, 0.5) * wave[:-late].copy()
        return (wave * rng.lognormal(0, self.force)).astype(np.float32)


class Steps:
    """The push of a foot: weight comes on, rolls and lifts, and grains slip under the sole."""

    def __init__(self, rng, rate):
        self.rate = rate
        self.floor = Blows(rng, rate, "heel")
        self.roll_s, self.grains = rng.uniform(0.08, 0.2), rng.poisson(25)
        self.size = rng.uniform(0.02, 0.5)
        self.grain_hz = rng.uniform(300, 3500)

    def step(self, rng):
        self.floor.spot = rng.uniform(0.05, 0.95, 2) * self.floor.sides
        n = int((self.roll_s + 0.4) * self.rate)
        wave = np.zeros(n)
        for at, gain in ((0, 1.0), (self.roll_s * rng.uniform(0.8, 1.2), rng.uniform(0.1, 0.9))):
            blow = self.floor.blow(rng)[:n - int(at * self.rate)]
            wave[int(at * self.rate):int(at * self.rate) + len(blow)] += gain * blow
        click = signal.sosfilt(duct(rng, self.rate, 0.5 * self.grain_hz, 2 * self.grain_hz),
                               np.eye(1, int(0.02 * self.rate))[0])
        for _ in range(self.grains):
            at = int(rng.beta(2, 3) * self.roll_s * self.rate)
            wave[at:at + len(click)] += self.size * rng.exponential() * np.abs(
                wave).max() * click / np.abs(click).max() * 0.3
        return wave.astype(np.float32)


def rub(rng, rate, seconds, low_hz, high_hz):
    """Slips of a rough edge: many tiny clicks, denser in the middle of the stroke."""
    n = int(seconds * rate)
    dense = np.sin(np.pi * np.arange(n) / n)
    clicks = (rng.random(n) < 0.2 * dense) * rng.exponential(1, n) * rng.choice([-1, 1], n)
    return signal.sosfilt(duct(rng, rate, low_hz, high_hz), clicks).astype(np.float32)


def debris(rng, rate):
    """A handful of debris rolls down: sizes by a power law, gaps widen as it settles."""
    pieces, at = [], 0.0
    for k in range(int(rng.geometric(0.12))):
        of = "stone" if rng.random() < 0.7 else "heel"
        pieces.append((at, rng.pareto(1.5) * 0.3 * Blows(rng, rate, of).blow(rng)))
        at += rng.exponential(0.05 * (1 + 0.4 * k))
    return pieces


def tube(rng, rate, source):
    sections = duct(rng, rate, 300, 3200)
    return signal.sosfilt(sections, source)


def voiced(rng, rate, seconds, hz, spread, breath):
    """Pulses of a glottis with irregular gaps, through a tube."""
    n = int(seconds * rate)
    line = hz * np.exp(spread * smooth(rng, int(seconds * 50) + 20))
    gaps = 1 / stretched(line, int(seconds * hz * 3) + 8)
    source = pulses(rng, n, rate, gaps * (1 + 0.01 * rng.standard_normal(len(gaps))),
                    np.ones(len(gaps)))
    source = signal.lfilter([1.0], [1.0, -0.9], source)
    x = tube(rng, rate, source + breath * rng.standard_normal(n) * source.std())
    return (x * np.hanning(n) ** 0.3).astype(np.float32)


def cry(rng, rate):
    return voiced(rng, rate, rng.uniform(0.5, 1.8), rng.uniform(260, 800), 0.12, 0.2)


def groan(rng, rate):
    return voiced(rng, rate, rng.uniform(0.6, 2.2), rng.uniform(75, 200), 0.08, 0.3)


def murmur(rng, rate):
    base = rng.uniform(90, 240)
    return np.concatenate([part for _ in range(int(rng.integers(3, 12))) for part in (
        voiced(rng, rate, rng.uniform(0.08, 0.28), base * rng.lognormal(0, 0.1), 0.05, 0.1),
        np.zeros(int(rng.exponential(0.05) * rate), np.float32))])


def cough(rng, rate):
    n = int(rng.uniform(0.2, 0.5) * rate)
    burst = rng.standard_normal(n) * np.exp(-np.arange(n) / (rng.uniform(0.03, 0.1) * rate))
    return np.tile(tube(rng, rate, burst), int(rng.integers(1, 4))).astype(np.float32)


def whistle(rng, rate):
    n = int(rng.uniform(0.3, 1.2) * rate)
    hz = min(rng.uniform(900, 3000), 0.4 * rate) * np.exp(0.05 * stretched(smooth(rng, 30), n))
    blown = 1 + 0.15 * stretched(smooth(rng, 60, 1), n)
    return (np.sin(2 * np.pi * np.cumsum(hz) / rate) * blown * np.hanning(n) ** 0.25).astype(np.float32)


def horn(rng, rate, seconds):
    """A reed: a clipped oscillation through a bell."""
    t = np.arange(int(seconds * rate)) / rate
    reed = np.tanh(rng.uniform(2, 9) * np.sin(2 * np.pi * rng.uniform(200, 800) * t))
    return (signal.sosfilt(duct(rng, rate, 300, 2000), reed) * np.hanning(len(t)) ** 0.1).astype(np.float32)


def alarm(rng, rate):
    t = np.arange(int(rng.uniform(0.15, 0.7) * rate)) / rate
    first, second = np.minimum(rng.uniform(600, 2800, 2), 0.4 * rate)
    hz = np.where((t * rng.uniform(2, 8)).astype(int) % 2, first, second)
    return (np.sin(2 * np.pi * np.cumsum(hz) / rate) * np.hanning(len(t)) ** 0.1).astype(np.float32)


def bark(rng, rate):
    return voiced(rng, rate, rng.uniform(0.1, 0.3), rng.uniform(250, 800), 0.15, 1.0)
