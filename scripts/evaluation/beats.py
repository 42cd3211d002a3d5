# SPDX-License-Identifier: GPL-3.0-or-later
"""Synthetic scenes on four sensors of sounds that can keep a beat and are not knocks: one source, 100 s each."""
import numpy as np
from scipy import signal

import scenes

RATE, CHANNELS, SECONDS = scenes.RATE, 4, 100


def place(rng):
    """For one place and each channel: delay in frames, gain, response and loss of high frequencies."""
    ways, near = [], rng.integers(CHANNELS)
    for c in range(CHANNELS):
        far = 0 if c == near else rng.uniform(0.2, 1)
        cut_hz = np.exp(rng.uniform(np.log(500), np.log(3000))) * (1 - 0.5 * far)
        t = np.arange(int(0.12 * RATE)) / RATE
        response = rng.standard_normal(len(t)) * np.exp(-t / rng.uniform(0.003, 0.02))
        response[0] += rng.uniform(2, 8)
        ways.append((int(far * 0.015 * RATE), 10 ** (-9 * far / 20), response / np.sqrt(np.sum(response ** 2)),
                     signal.butter(2, cut_hz, fs=RATE, output="sos")))
    return ways


def heard(sound, way):
    delay, gain, response, low = way
    y = signal.sosfilt(low, signal.fftconvolve(np.concatenate([sound, np.zeros(1600)]), response))
    return np.concatenate([np.zeros(delay), gain * y])


def lay(x, sounds, where, times, powers):
    """Adds each sound at its time; its largest 50 ms have that power on the best channel."""
    for at, power, sound in zip(times, powers, sounds):
        channels = [heard(sound, way) for way in where]
        most = max(scenes.peak_energy(h) for h in channels)
        for c, h in enumerate(channels):
            scenes.put(x[c], h, at, np.sqrt(power / max(1e-15, most)))


def background(rng, seconds):
    n, slope = int(seconds * RATE), rng.uniform(0, 1.5)
    return np.array([0.01 * scenes.coloured(rng, n, slope) * 10 ** (rng.uniform(-2, 2) / 20) *
                     scenes.slow(rng, n, 6, 0.08) for _ in range(CHANNELS)])


def floor_of(x):
    return max(np.median(np.mean(scenes.in_band(c)[:len(c) // 800 * 800].reshape(-1, 800) ** 2, axis=1)) for c in x)


class Source:
    """A source at one place, unless stated otherwise."""

    def __init__(self, seed):
        self.rng = np.random.default_rng([seed, 2])
        self.x = background(self.rng, SECONDS)
        floor = floor_of(self.x)
        self.level = floor * 10 ** (self.rng.uniform(6, 22) / 10)
        self.structure, self.by, self.place = scenes.structure(self.rng), scenes.strike(self.rng), place(self.rng)

    def add(self, times, structure, by, spread_db, level, where=None):
        blows = [scenes.knock(self.rng, structure, by) for _ in times]
        lay(self.x, blows, where or self.place, times,
            level * 10 ** (spread_db * self.rng.standard_normal(len(times)) / 10))


def drips(s):
    jitter = s.rng.uniform(0.005, 0.1)
    by = {**s.by, "scatter": min(s.by["scatter"], s.rng.uniform(0.02, 0.2)), "bounce": None}
    interval_s = np.exp(s.rng.uniform(np.log(0.4), np.log(5)))
    s.add(scenes.regular(s.rng, 0, SECONDS - 1, interval_s, jitter), s.structure, by, 1.0, s.level)


def clock(s):
    by, other = {**s.by, "scatter": 0.03, "bounce": None}, scenes.structure(s.rng)
    times = scenes.regular(s.rng, 0, SECONDS - 1, s.rng.choice([0.5, 1.0, 0.4, 0.25]), 0.003)
    s.add(times[::2], s.structure, by, 0.5, s.level)
    s.add(times[1::2], s.structure + 0.3 * other, by, 0.5, s.level)


def machine(s):
    """A machine that runs for a while, with one to three thumps a turn."""
    at = s.rng.uniform(0, 6)
    while at < SECONDS - 12:
        turn_s, thumps = s.rng.uniform(0.3, 2.5), int(s.rng.integers(1, 4))
        turns = scenes.regular(s.rng, at, min(SECONDS - 2, at + s.rng.uniform(6, 60)), turn_s, 0.01)
        for k in range(thumps):
            s.add([t + k * turn_s * s.rng.uniform(0.2, 0.3) for t in turns], scenes.structure(s.rng),
                  scenes.touch(s.rng), 0.8, s.level * s.rng.uniform(0.2, 1))
        at = (turns[-1] if turns else at) + s.rng.uniform(4, 30)


def steps(s):
    """Somebody walks by: levels rise and fall, left and right differ, the place moves."""
    at, by = s.rng.uniform(0, 4), scenes.touch(s.rng)
    low = signal.butter(2, np.exp(s.rng.uniform(np.log(120), np.log(900))), fs=RATE, output="sos")
    while at < SECONDS - 12:
        times = scenes.regular(s.rng, at, at + s.rng.uniform(3, 12), s.rng.uniform(0.42, 0.75), 0.05)
        nearest = s.rng.uniform(-0.2, 1.2) * len(times)
        begin, end = place(s.rng), place(s.rng)
        for k, t in enumerate(times):
            fade = np.exp(-0.5 * ((k - nearest) / (len(times) / s.rng.uniform(2.5, 3.5))) ** 2)
            f = k / max(1, len(times))
            here = [(int(a[0] * (1 - f) + b[0] * f), a[1] * (1 - f) + b[1] * f, a[2] * (1 - f) + b[2] * f, a[3])
                    for a, b in zip(begin, end)]
            floor = s.structure if k % 2 else s.structure + 0.5 * scenes.structure(s.rng)
            s.add([t], signal.sosfilt(low, floor), by, 2, s.level * fade ** 2, here)
        at = times[-1] + s.rng.uniform(4, 25) if times else at + 5


def handling(s):
    at = s.rng.uniform(0, 4)
    while at < SECONDS - 12:
        until, pace_s = at + s.rng.uniform(2, 10), np.exp(s.rng.uniform(np.log(0.08), np.log(0.8)))
        things = [(scenes.structure(s.rng), scenes.touch(s.rng), place(s.rng))
                  for _ in range(int(s.rng.integers(3, 10)))]
        while at < until:
            structure, by, where = things[s.rng.integers(len(things))]
            s.add([at], structure, by, 4, s.level * 0.5, where)
            at += 0.05 + s.rng.exponential(pace_s)
        at += s.rng.uniform(3, 20)


def doors(s):
    at = s.rng.exponential(10)
    while at < SECONDS - 3:
        times = [at] if s.rng.random() < 0.6 else [max(0.1, at - s.rng.uniform(0.15, 0.6)), at]
        times += list(at + np.cumsum(s.rng.exponential(0.08, s.rng.integers(0, 4))))
        for t in times:
            structure = scenes.structure(s.rng) if s.rng.random() < 0.5 else s.structure
            s.add([t], structure, scenes.touch(s.rng), 4, s.level)
        at += s.rng.uniform(4, 30)


def rain(s):
    times = np.cumsum(s.rng.exponential(1 / np.exp(s.rng.uniform(np.log(2), np.log(20))), 2500))
    times = times[times < SECONDS - 1][:1200]
    spots = [(scenes.structure(s.rng), place(s.rng)) for _ in range(int(s.rng.choice([3, 12])))]
    for t in times:
        structure, where = spots[s.rng.integers(len(spots))]
        s.add([t], structure, s.by, 5, s.level * 0.3, where)


SOURCES = {"drips": drips, "clock": clock, "machine": machine, "steps": steps, "handling": handling,
           "doors": doors, "rain": rain}


def scene(seed, name):
    """Samples (channels x frames)."""
    source = Source(seed)
    SOURCES[name](source)
    return source.x
