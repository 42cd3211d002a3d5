# SPDX-License-Identifier: GPL-3.0-or-later
"""Grounds on which places are measured: made scenes of impacts heard by several sensors.

Nothing is shared with lull-exercise. Each simulator returns a Scene; `side` is "tune", on which constants
may be chosen, or "report", on which figures are given: they differ in seeds, sizes, numbers and places of
sensors, and in the ranges of what the ground is made of.

plate    Bending waves of a thin plate until shear limits them: phase speed (B w^2/m')^(1/4), the response to a
         point force being H0(kr) less its near field [Cremer, Heckl & Petersson, Structure-Borne Sound];
         quasi-longitudinal waves before them; reflections in the edges of the slab, which lie beyond the
         sensors; an opening that waves go around; sensors with contact, resonance and clock of their own.
layered  Rayleigh waves over layers: fast and deep at low frequencies, slow and shallow at high ones, a
         weak body wave before them, blocks between cracks that hold the waves up, a tail scattered alike at
         sensors that are near each other.
"""
import dataclasses
import itertools

import numpy as np
from scipy.special import hankel2, k0

RATE = 4000
COUNT = 4096     # samples of one impact's room, 1 s
STEP_S = 2.0     # from one impact to the next
NOISE = 0.001    # standard deviation
LEAD_S = 0.1     # before an impact, in its room
FREQUENCY = np.fft.rfftfreq(COUNT, 1 / RATE)
OMEGA = 2 * np.pi * np.maximum(FREQUENCY, 0.5)


@dataclasses.dataclass
class Scene:
    samples: np.ndarray      # frames x sensors
    sensors: np.ndarray      # as the session states them, x and y [m]
    sigma_m: float           # of each coordinate
    corner: np.ndarray       # low corner of the team's grid
    size: np.ndarray         # of the team's grid
    truth: list              # (time of the impact [s], place)
    speeds: tuple            # as the session states them [m/s]


def room_of(side, random):
    """Size of the room and its sensors."""
    if side == "tune":
        size = random.uniform([3, 4], [9, 12])
        count = int(random.integers(4, 6))
    elif side == "yard":     # the room of the aim: four sensors round 4 x 6 m
        size, count = np.array([4.0, 6.0]), 4
    else:
        size = np.exp(random.uniform(np.log(3), np.log(30), 2))
        size[1] = np.clip(size[1], size[0] / 2.5, size[0] * 2.5)
        count = int(random.integers(3, 9))
    corners = np.array([[0.08, 0.08], [0.92, 0.1], [0.1, 0.93], [0.9, 0.9], [0.5, 0.1], [0.1, 0.5], [0.9, 0.5], [0.5, 0.9]])
    while True:
        if side == "report" and random.uniform() < 0.5:
            at = random.uniform(0.03, 0.97, (count, 2))
        else:
            at = corners[:count] + random.normal(0, 0.04, (count, 2))
        sensors = at * size
        apart = [np.hypot(*(a - b)) for a, b in itertools.combinations(sensors, 2)]
        if min(apart) > 0.25 * min(size) and np.linalg.svd(sensors - sensors.mean(0))[1][1] > 0.15 * min(size):
            return size, sensors


def noise_of(frames, count, random):
    """Noise that falls towards high frequencies, with a little hum."""
    noise = random.normal(size=(frames, count))
    noise[1:] += 0.7 * noise[:-1]
    noise *= NOISE / np.sqrt(1.49)
    t = np.arange(frames)[:, None] / RATE
    return noise + NOISE * random.uniform(0, 0.3, count) * np.sin(2 * np.pi * 50 * t + random.uniform(0, 6.28, count))


def push_of(side, random):
    """Spectrum of an impact's force: a soft push, sometimes bouncing once."""
    top_hz = np.exp(random.uniform(*np.log((150, 350) if side == "tune" else (100, 600))))
    push = np.exp(-(FREQUENCY / top_hz) ** 2)
    if random.uniform() < 0.2:
        push = push * (1 + random.uniform(0.1, 0.5) * np.exp(-1j * OMEGA * random.uniform(0.02, 0.08)))
    return push


class Contact:
    """The response of one sensor."""

    def __init__(self, random, most_db):
        gain = 10 ** (random.normal(0, most_db) / 20)
        at_hz, q = np.exp(random.uniform(np.log(200), np.log(1200))), random.uniform(0.6, 2.5)
        ratio = FREQUENCY / at_hz
        self.response = gain * (1 + 1j * ratio / q) / (1 - ratio ** 2 + 1j * ratio / q)
        low = FREQUENCY / random.uniform(4, 12)
        self.response = self.response * -low ** 2 / (1 - low ** 2 + 1.2j * low)
        self.response *= np.exp(-1j * OMEGA * random.normal(0, 1.0) / RATE)  # its clock


def way_round(a, b, centre, radius):
    """The shortest way from a to b round a disc, and its excess over the straight line."""
    straight = np.hypot(*(b - a))
    ra, rb = np.hypot(*(a - centre)), np.hypot(*(b - centre))
    if straight < 1e-6 or ra <= radius or rb <= radius:
        return straight, 0.0
    along = np.clip(np.dot(centre - a, b - a) / straight ** 2, 0, 1)
    if np.hypot(*(a + along * (b - a) - centre)) >= radius:
        return straight, 0.0
    angle = np.arccos(np.clip(np.dot(a - centre, b - centre) / (ra * rb), -1, 1))
    arc = max(0.0, angle - np.arccos(radius / ra) - np.arccos(radius / rb))
    way = np.sqrt(ra ** 2 - radius ** 2) + np.sqrt(rb ** 2 - radius ** 2) + radius * arc
    return way, way - straight


def sources_in(size, radius, centre, random):
    while True:
        source = random.uniform(0.04, 0.96, 2) * size
        if np.hypot(*(source - centre)) > radius + 0.2:
            return source


class Plate:
    def __init__(self, side, size, sensors, random):
        wide = side == "report"
        thick = random.uniform(0.08, 0.30) if wide else random.uniform(0.12, 0.24)
        young, density, poisson = random.uniform(15e9, 38e9) if wide else random.uniform(22e9, 34e9), 2400.0, 0.2
        stiff = young * thick ** 3 / (12 * (1 - poisson ** 2))
        bending = (stiff * OMEGA ** 2 / (density * thick)) ** 0.25
        shear = 0.9 * np.sqrt(young / (2 * density * (1 + poisson)))
        self.wave_number = OMEGA / bending * (1 + (bending / shear) ** 3) ** (1 / 3)
        self.in_plane_m_s = np.sqrt(young / (density * (1 - poisson ** 2))) * random.uniform(0.8, 1.0)
        self.in_plane = 10 ** (random.uniform(-40, -18) / 20)
        self.held_hz = random.uniform(20, 120)  # by beams and walls; little moves below this
        self.loss = random.uniform(0.01, 0.08) if wide else random.uniform(0.02, 0.06)
        self.low = -random.uniform(0.1, 2.5, 2)
        self.high = size + random.uniform(0.1, 2.5, 2)
        self.edges = random.uniform(0.3, 0.9, 4) * random.choice([-1, 1], 4)
        self.radius = random.uniform(0.1, 0.2) * min(size) if random.uniform() < 0.4 else 0.0
        while True:
            self.centre = random.uniform(0.2, 0.8, 2) * size
            if np.min(np.hypot(*(sensors - self.centre).T)) > self.radius + 0.1:
                break

    def images(self, source):
        length = self.high - self.low
        for i, j in itertools.product(range(-3, 4), repeat=2):
            if abs(i) + abs(j) > 3:
                continue
            place, strength = np.empty(2), 1.0
            for d, n in enumerate((i, j)):
                inner = source[d] - self.low[d]
                place[d] = self.low[d] + n * length[d] + (inner if n % 2 == 0 else length[d] - inner)
                low_edge, high_edge = self.edges[2 * d], self.edges[2 * d + 1]
                low_times, high_times = (abs(n) + (n < 0)) // 2, (abs(n) + (n > 0)) // 2
                strength *= low_edge ** low_times * high_edge ** high_times
            yield place, strength, i == 0 and j == 0

    def travelled(self, source, sensor, push):
        total = np.zeros(len(FREQUENCY), complex)
        for place, strength, direct in self.images(source):
            r, longer = max(0.15, np.hypot(*(place - sensor))), 0.0
            if direct and self.radius > 0:
                r, longer = way_round(source, sensor, self.centre, self.radius)
                r = max(0.15, r)
            kr = self.wave_number * r
            behind = 1 / (1 + (FREQUENCY / 150) * 0.8) if longer > 0 else 1.0
            total += strength * behind * (hankel2(0, kr) - 2j / np.pi * k0(kr)) * np.exp(-0.25 * self.loss * kr)
            delay = np.exp(-1j * OMEGA * r / self.in_plane_m_s)
            total += strength * self.in_plane * (OMEGA / 1000) * delay / np.sqrt(r)
        return push * (1 - np.exp(-(FREQUENCY / self.held_hz) ** 2)) * total


class Layers:
    def __init__(self, side, size, sensors, random):
        wide = side == "report"
        self.deep = np.exp(random.uniform(np.log(400), np.log(2200))) if wide else np.exp(random.uniform(np.log(500), np.log(1500)))
        self.shallow = self.deep * random.uniform(0.25, 0.8)
        self.turn_hz = random.uniform(40, 300)
        c = self.shallow + (self.deep - self.shallow) / (1 + (FREQUENCY / self.turn_hz) ** 2)
        self.wave_number = OMEGA / c
        self.body_m_s, self.body = self.deep * random.uniform(1.7, 3.0), 10 ** (random.uniform(-30, -12) / 20)
        self.quality = random.uniform(10, 40)
        self.cracks = [(random.uniform(0, 1, 2) * size, random.uniform(0, np.pi), random.uniform(0.0, 0.0015), random.uniform(0.4, 1.0))
                       for _ in range(int(random.integers(0, 5)))]
        self.tails = random.normal(size=(COUNT // 2, len(sensors)))
        apart = np.hypot(*(sensors[:, None] - sensors[None]).transpose(2, 0, 1))
        self.tails = self.tails @ np.linalg.cholesky(np.exp(-apart / (0.3 * min(size))) + 1e-9 * np.eye(len(sensors))).T
        self.tail_share, self.tail_s = 10 ** (random.uniform(-14, -3) / 20), random.uniform(0.02, 0.08)
        self.sensors, self.radius, self.centre = sensors, 0.0, np.zeros(2)

    def travelled(self, source, sensor, push):
        r = max(0.2, np.hypot(*(source - sensor)))
        held, passed = 0.0, 1.0
        for through, angle, delay, loss in self.cracks:
            normal = np.array([-np.sin(angle), np.cos(angle)])
            if np.dot(source - through, normal) * np.dot(sensor - through, normal) < 0:
                held, passed = held + delay, passed * loss
        kr = self.wave_number * r
        wave = passed / np.sqrt(r) * np.exp(-1j * kr - kr / (2 * self.quality) - 1j * OMEGA * held)
        body = self.body * (OMEGA / 1000) / r * np.exp(-1j * OMEGA * (r / self.body_m_s + 0.5 * held))
        number = int(np.argmin(np.hypot(*(self.sensors - sensor).T)))
        t = np.arange(COUNT // 2) / RATE
        tail = np.zeros(COUNT)
        tail[:COUNT // 2] = self.tails[:, number] * (1 - np.exp(-t / 0.01)) * np.exp(-t / self.tail_s)
        tail *= self.tail_share * np.sqrt(r / 5) / np.sqrt(np.sum(tail ** 2))
        return push * (wave * (1 + np.fft.rfft(tail)) + body)


GROUNDS = {"plate": Plate, "layered": Layers}


def make_scene(ground, side, impacts, seeds, snr_db=None):
    """`side`: tune, report, or yard (the room of the aim on a plate of the report side)."""
    random = np.random.default_rng([{"tune": 11, "report": 23, "yard": 37}[side], *ground.encode(), *seeds])
    size, sensors = room_of(side, random)
    site = GROUNDS[ground]("report" if side == "yard" else side, size, sensors, random)
    contacts = [Contact(random, 4.0) for _ in sensors]
    samples = noise_of(int((impacts * STEP_S + 3) * RATE), len(sensors), random)
    truth = []
    for k in range(impacts):
        source = sources_in(size, site.radius, site.centre, random)
        push = push_of("report" if side == "yard" else side, random) * np.exp(-1j * OMEGA * LEAD_S)
        waves = [np.fft.irfft(site.travelled(source, sensor, push) * contact.response, COUNT)
                 for sensor, contact in zip(sensors, contacts)]
        power = max(np.max(np.convolve(w ** 2, np.ones(200) / 200, "valid")) for w in waves)
        level_db = random.uniform(12, 38) if snr_db is None else snr_db
        begin = int((1 + k * STEP_S + random.uniform(-0.2, 0.2)) * RATE)
        for c, wave in enumerate(waves):
            samples[begin:begin + COUNT, c] += NOISE * np.sqrt(10 ** (level_db / 10) / power) * wave
        truth.append((begin / RATE + LEAD_S, source))
    sigma = random.uniform(0.02, 0.1)
    stated = sensors + random.normal(0, sigma, sensors.shape)
    return Scene(samples, stated, sigma, np.zeros(2), size, truth, (300.0, 3500.0))
