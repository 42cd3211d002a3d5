# SPDX-License-Identifier: GPL-3.0-or-later
"""A site: structure, sensors and recorder, drawn from a seed.

Frame: x east, y north, z up, metres. Waves in the structure travel at a speed of its kind; sensors
differ in kind, contact, seating and clock. A side of the split draws from its own seeds.
"""
import dataclasses

import numpy as np

from shaping import log_uniform

RATES = [4000, 8000, 16000, 48000]
MOST_SAMPLES = 120e6  # of all channels together: keeps a scene below 2 GB while it is made
SIDES = {"fit": 11, "tune": 23, "report": 47}
PLACES = ["stairwell", "north-slab", "lift-shaft", "ramp-edge", "east-wall", "cellar-door",
          "south-beam", "gallery", "boiler-room", "roof-edge", "west-column", "landing"]
MICROPHONES = ["void-mic", "shaft-mic", "cellar-mic", "hall-mic"]

# Of each structure: speed of its main wave at 1 kHz [m/s], quality, energy of the scattered tail
# over the direct wave at 10 m [dB], its decay to 60 dB less [s], reflecting planes, spreading.
STRUCTURES = {
    "slab": {"speed": (700, 1500), "quality": (30, 120), "tail_db": (-4, 6), "tail_s": (0.08, 0.4),
             "planes": (1, 4), "spreading": 0.5, "bending": True},
    "rubble": {"speed": (250, 900), "quality": (8, 30), "tail_db": (0, 12), "tail_s": (0.05, 0.25),
               "planes": (0, 2), "spreading": 1.0, "bending": False},
    "frame": {"speed": (1500, 3500), "quality": (40, 200), "tail_db": (-2, 8), "tail_s": (0.15, 0.6),
              "planes": (2, 4), "spreading": 0.6, "bending": False},
    "fill": {"speed": (120, 400), "quality": (8, 25), "tail_db": (-8, 4), "tail_s": (0.03, 0.15),
             "planes": (0, 1), "spreading": 0.5, "bending": False},
}


@dataclasses.dataclass
class Channel:
    name: str
    kind: str  # seismic or air
    sensor: str  # flat (acceleration), resonant (velocity), microphone
    position_m: np.ndarray
    contact: float  # 1: perfectly seated
    corner_hz: float  # the sensor loses sensitivity below it
    upper_hz: float  # and above it
    spurious: tuple  # (frequency in Hz, quality) of its own resonance, or None
    clock_s: float  # its clock relative to the first channel's
    self_noise: float  # rms in the band
    gain_db: float  # of the recorder


@dataclasses.dataclass
class Site:
    seed: tuple
    rate: int
    duration_s: float
    structure: str
    speed_m_s: float
    quality: float
    tail_db: float
    tail_s: float
    spreading: float
    bending: bool
    planes: list  # (point, unit normal, amplitude reflected)
    temperature_c: float
    room_s: float  # decay of the air's tail to 60 dB less
    room_db: float  # its energy relative to the direct sound at 3 m
    extent_m: float
    channels: list

    @property
    def frames(self):
        return int(round(self.duration_s * self.rate))

    @property
    def sound_speed_m_s(self):
        """ISO 9613-1:1993, annex A."""
        return 343.2 * np.sqrt((self.temperature_c + 273.15) / 293.15)

    def rng(self, *words):
        """A separate random stream for each thing of the scene."""
        return np.random.default_rng([*self.seed, *(number_of(w) for w in words)])


def number_of(word):
    return word if isinstance(word, int) else int.from_bytes(str(word).encode()[:8], "little")


def draw_channels(rng, count, extent_m):
    air = 0 if count == 1 and rng.random() < 0.6 else int(rng.integers(0, min(3, count) + 1))
    flat = rng.random() < 0.5
    mixed = rng.random() < 0.25  # both kinds of sensor on one site
    self_noise = {"flat": 1e-3 * 10 ** (rng.normal(0, 3) / 20),
                  "resonant": 1e-3 * 10 ** (rng.normal(0, 3) / 20)}
    corner = {"flat": rng.uniform(2, 15), "resonant": rng.uniform(8, 30)}
    upper = {"flat": log_uniform(rng, 2000, 9000), "resonant": log_uniform(rng, 300, 1200)}
    spurious = (log_uniform(rng, 160, 500), rng.uniform(2, 8)) if rng.random() < 0.5 else None
    gains = [0.0, 0.0, 0.0, 6.0, 12.0] if rng.random() < 0.2 else [0.0]
    places, microphones = rng.permutation(PLACES), rng.permutation(MICROPHONES)
    channels = []
    for c in range(count):
        in_air = c >= count - air
        resonant = flat != (mixed and rng.random() < 0.4)
        sensor = "microphone" if in_air else "resonant" if resonant else "flat"
        place = np.array([*rng.uniform(0, extent_m, 2), rng.normal(0, 0.6) - 1.5 * in_air])
        channels.append(Channel(
            name=str(microphones[c - count + air] if in_air else places[c]),
            kind="air" if in_air else "seismic", sensor=sensor, position_m=place,
            contact=1.0 if in_air else float(np.clip(rng.normal(0.85, 0.2), 0.35, 1.0)),
            corner_hz=rng.uniform(20, 90) if in_air else corner[sensor],
            upper_hz=log_uniform(rng, 3000, 12000) if in_air else upper[sensor],
            spurious=spurious if sensor == "resonant" else None,
            clock_s=0.0 if c == 0 else float(rng.normal(0, 6e-5)),
            self_noise=1e-3 * 10 ** (rng.normal(0, 3) / 20) if in_air
            else self_noise[sensor] * 10 ** (rng.normal(0, 0.7) / 20),
            gain_db=float(rng.choice(gains))))
    return channels


def draw_planes(rng, count, extent_m):
    planes = []
    for _ in range(count):
        bearing = rng.uniform(0, 2 * np.pi)
        normal = np.array([np.cos(bearing), np.sin(bearing), 0.0])
        middle = np.array([extent_m / 2, extent_m / 2, 0.0])
        planes.append((middle - normal * rng.uniform(0.6, 1.2) * extent_m, normal,
                       rng.uniform(0.2, 0.7) * rng.choice([-1, 1])))
    return planes


def draw(side, seed, *, channels=None, rate=None, duration_s=None):
    """A site of one side. Given properties are kept, others are drawn."""
    key = (SIDES[side], *np.atleast_1d(seed).tolist())
    rng = np.random.default_rng([*key, number_of("site")])
    count = channels or int(rng.choice(np.arange(1, 13), p=[
        .14, .07, .12, .12, .14, .12, .10, .07, .03, .03, .03, .03]))
    rate = rate or int(rng.choice(RATES, p=[0.1, 0.3, 0.45, 0.15]))
    longest_s = MOST_SAMPLES / count / rate
    duration_s = duration_s or float(np.round(min(log_uniform(rng, 120, 600), longest_s)))
    extent_m = rng.uniform(5, 25)
    structure = str(rng.choice(list(STRUCTURES), p=[0.35, 0.35, 0.2, 0.1]))
    made = STRUCTURES[structure]
    return Site(
        seed=key, rate=rate, duration_s=duration_s, structure=structure,
        speed_m_s=log_uniform(rng, *made["speed"]), quality=log_uniform(rng, *made["quality"]),
        tail_db=rng.uniform(*made["tail_db"]), tail_s=log_uniform(rng, *made["tail_s"]),
        spreading=made["spreading"], bending=made["bending"],
        planes=draw_planes(rng, int(rng.integers(made["planes"][0], made["planes"][1] + 1)),
                           extent_m),
        temperature_c=rng.uniform(-10, 35), room_s=log_uniform(rng, 0.1, 0.9),
        room_db=rng.uniform(-8, 6), extent_m=extent_m,
        channels=draw_channels(rng, count, extent_m))


def sensor_response(channel, f):
    """Complex response of a seated sensor at frequencies f."""
    f = np.maximum(f, 1.0).astype(float)
    s = 1j * f / channel.corner_hz
    h = s ** 2 / (s ** 2 + 1.2 * s + 1)
    h = h / (1 + 1j * f / channel.upper_hz)
    if channel.sensor == "resonant":  # velocity: a force's acceleration, integrated
        h = h / (1j * f / 150.0)
    if channel.spurious:
        at, quality = channel.spurious
        h = h * (1 + 0.5 / (1 - (f / at) ** 2 + 1j * f / at / quality))
    if channel.contact < 1:  # a mass on a spring, stiff when well seated [practice]
        ratio = f / (60 * 40 ** channel.contact)
        h = h * 10 ** (-18 * (1 - channel.contact) / 20) / (1 - ratio ** 2 + 1j * ratio / 1.2)
    return h.astype(np.complex64)
