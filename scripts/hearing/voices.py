# SPDX-License-Identifier: GPL-3.0-or-later
"""Synthetic voices, whistles, horns and animals for the fit and tune sides.

Recorded voices come from `sounds.py`; these add variety where few recordings exist.
"""
import numpy as np

from shaping import arch, band_noise, faded, log_uniform, low_pass


def times(seconds, rate):
    return np.arange(int(seconds * rate)) / rate


def glide(rng, t, spread, points=5):
    return np.exp(np.interp(t, np.linspace(0, t[-1], points), spread * rng.standard_normal(points)))


def harmonics(rng, f, rate, fall, breath):
    """A voiced sound of pitch f (per sample) with two resonances of a throat."""
    phase = 2 * np.pi * np.cumsum(f) / rate
    formants = [rng.uniform(350, 900), rng.uniform(1000, 2400)]
    x = np.zeros(len(f))
    for k in range(1, 1 + int(min(5000, 0.45 * rate) / f.max())):
        at = k * f.mean()
        lift = 0.15 + sum(1 / (1 + ((at - hz) / (0.12 * hz)) ** 2) for hz in formants)
        x += lift * k ** -fall * np.sin(k * phase + rng.uniform(0, 6.28))
    return x / (x.std() + 1e-9) + breath * rng.standard_normal(len(f))


def cry(rng, rate):
    t = times(rng.uniform(0.4, 2.2), rate)
    f = log_uniform(rng, 250, 950) * glide(rng, t, 0.2)
    f = f * (1 + rng.uniform(0, 0.04) * np.sin(2 * np.pi * rng.uniform(4, 8) * t))
    x = harmonics(rng, f, rate, rng.uniform(0.2, 1.0), rng.uniform(0, 0.3))
    return faded(x, rate, rng.uniform(0.03, 0.15))


def groan(rng, rate):
    t = times(rng.uniform(0.5, 2.5), rate)
    f = log_uniform(rng, 70, 220) * glide(rng, t, 0.12)
    x = harmonics(rng, f, rate, rng.uniform(0.6, 1.4), rng.uniform(0.02, 0.3))
    x *= 1 + 0.3 * np.sin(2 * np.pi * rng.uniform(15, 40) * t) * (rng.random() < 0.3)
    return faded(x * arch(len(t)) ** 0.5, rate)


def cough(rng, rate):
    bursts = []
    for _ in range(int(rng.integers(1, 5))):
        n = int(rng.uniform(0.12, 0.35) * rate)
        noise = band_noise(rng, n, rate, rng.uniform(200, 500), rng.uniform(1500, 4500))
        voiced = harmonics(rng, np.full(n, log_uniform(rng, 120, 350)), rate, 0.5, 0)
        shape = np.exp(-np.arange(n) / rate / rng.uniform(0.03, 0.12))
        bursts += [faded((noise / noise.std() + rng.uniform(0, 1) * voiced) * shape, rate, 0.004),
                   np.zeros(int(rng.uniform(0.1, 0.4) * rate), np.float32)]
    return np.concatenate(bursts)


def whistle(rng, rate):
    """Lips or a whistle: a gliding tone, in one or a few blasts."""
    blasts, base = [], log_uniform(rng, 900, min(3200, 0.4 * rate))
    for _ in range(int(rng.integers(1, 5))):
        t = times(rng.uniform(0.15, 0.9), rate)
        f = np.minimum(base * glide(rng, t, 0.08, 4), 0.45 * rate)
        x = np.sin(2 * np.pi * np.cumsum(f) / rate) + 0.05 * rng.standard_normal(len(t))
        if rng.random() < 0.3:  # a pea whistle
            x *= 1 + 0.6 * np.sin(2 * np.pi * rng.uniform(25, 60) * t)
        blasts += [faded(x, rate, 0.02), np.zeros(int(rng.uniform(0.08, 0.5) * rate), np.float32)]
    return np.concatenate(blasts)


def murmur(rng, rate):
    """Like speech: syllables of gliding pitch and changing spectrum, with hisses between."""
    parts, f0 = [], log_uniform(rng, 85, 260)
    for _ in range(int(rng.integers(3, 14))):
        t = times(rng.uniform(0.09, 0.3), rate)
        f = f0 * glide(rng, t, 0.06, 3) * np.exp(0.1 * rng.standard_normal())
        x = harmonics(rng, f, rate, rng.uniform(0.4, 1.0), 0.05) * arch(len(t)) ** 0.6
        parts.append(faded(x * np.exp(0.35 * rng.standard_normal()), rate))
        if rng.random() < 0.5:
            n = int(rng.uniform(0.03, 0.14) * rate)
            parts.append(faded(0.4 * band_noise(rng, n, rate, 1200, 6000), rate))
        if rng.random() < 0.2:
            parts.append(np.zeros(int(rng.uniform(0.05, 0.35) * rate), np.float32))
    return np.concatenate(parts)


def horn(rng, rate, seconds):
    t = times(seconds, rate)
    base = log_uniform(rng, 180, 900)
    x = sum(k ** -rng.uniform(0.2, 1.0) * np.sin(2 * np.pi * base * k * t + k)
            for k in range(1, 1 + int(min(9, 0.45 * rate / base))))
    if rng.random() < 0.4:  # two reeds that beat
        x = x + np.sin(2 * np.pi * base * rng.uniform(1.002, 1.3) * t)
    return faded(x * (1 + 0.03 * np.sin(2 * np.pi * rng.uniform(3, 9) * t)), rate, 0.03)


def alarm(rng, rate):
    """A repeated beep or sweep of an alarm."""
    t = times(rng.uniform(0.1, 0.8), rate)
    base = log_uniform(rng, 500, min(3000, 0.35 * rate))
    f = base * np.linspace(1, rng.choice([1.0, 1.0, 1.4, 0.7]), len(t))
    return faded(np.sign(np.sin(2 * np.pi * np.cumsum(f) / rate)) * 0.3
                 + np.sin(2 * np.pi * np.cumsum(f) / rate), rate, 0.01)


def bark(rng, rate):
    t = times(rng.uniform(0.08, 0.3), rate)
    f = log_uniform(rng, 250, 900) * np.interp(t, [0, 0.3 * t[-1], t[-1]], [0.8, 1.1, 0.6])
    x = harmonics(rng, f, rate, 0.5, rng.uniform(0.5, 1.2))
    return low_pass(faded(x * arch(len(t)), rate), rate, 4000)
