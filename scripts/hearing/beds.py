# SPDX-License-Identifier: GPL-3.0-or-later
"""Noise that lasts: weather, machines, roads, crowds. Several at once, each with its own course.

A bed has a part of its own on each channel, a part from one or a few places that reaches every
channel on its path, or both. Its level is in dB over the sensors' own noise, in the band, on the
middle channel while it is on.
"""
import dataclasses

import numpy as np
from scipy import fft, signal

from shaping import (band_noise, coloured, in_band, log_uniform, low_pass, on_and_off,
                     through_points, unit_power, wander)

MACHINES = ("engine", "generator", "pump", "saw", "breaker", "rotor")
LEVELS_DB = {"ambient": (-3, 10), "rain": (4, 24), "wind": (5, 25), "traffic": (3, 18), "crowd": (4, 18),
             "hum": (-6, 10), "generator": (4, 20), "pump": (4, 20), "engine": (6, 28),
             "saw": (8, 30), "breaker": (8, 30), "rotor": (8, 26)}
# How long a machine runs and rests, in seconds. Other beds start and stop independently.
COURSES = {"engine": (20, 300, 5, 60), "generator": (120, 900, 10, 60), "pump": (60, 600, 5, 40),
           "saw": (8, 60, 4, 40), "breaker": (10, 80, 5, 40), "rotor": (40, 300, 20, 120),
           "crowd": (30, 400, 10, 60), "rain": (60, 900, 20, 120)}


@dataclasses.dataclass
class Bed:
    cause: str
    level_db: float
    position_m: np.ndarray
    points: tuple  # times and gains of its level history
    number: int  # number of the bed in the scene, which selects its random stream

    def spans(self, duration_s):
        """The times at which it is on."""
        times, gains = self.points
        spans, start = [], None
        for t, g in zip(times, gains):
            if g > 0.05 and start is None:
                start = t
            elif g <= 0.05 and start is not None:
                spans.append((start, min(t, duration_s)))
                start = None
        if start is not None:
            spans.append((start, duration_s))
        return [s for s in spans if s[1] > s[0] and s[0] < duration_s]


def draw(rng, site, cause, number, level_db=None):
    low, high = LEVELS_DB[cause]
    far = {"traffic": (20, 80), "rotor": (20, 150), "ambient": (20, 60)}.get(cause, (3, 40))
    bearing, way = rng.uniform(0, 2 * np.pi), log_uniform(rng, *far)
    middle = np.array([site.extent_m / 2, site.extent_m / 2, 0])
    place = middle + way * np.array([np.cos(bearing), np.sin(bearing), 0.0])
    if cause == "rotor":
        place[2] += way
    points = (np.array([0.0, 1.0]), np.array([1.0, 1.0]))
    if cause in COURSES and rng.random() < 0.8:
        on = COURSES[cause]
        points = on_and_off(rng, site.duration_s, on[:2], on[2:], 1.0)
        if not points[1][points[0] < site.duration_s].any():
            points = (points[0], 1 - points[1])
    level = rng.uniform(low, high) if level_db is None else level_db
    return Bed(cause, float(level), place, points, number)


def hushed(bed, periods):
    """A copy that is off while quiet is ordered, like the team's own machines."""
    grid = np.arange(0, periods[-1]["to_s"] + 1, 0.5)
    gains = np.interp(grid, *bed.points)
    for period in periods:
        if period["state"] == "quiet":
            gains[(grid > period["from_s"] + 1) & (grid < period["to_s"])] = 0
    return dataclasses.replace(bed, points=(grid, gains))


def through_all(source, starts, taps):
    """One source through the response of each channel. The source is transformed once."""
    size = 4 * taps.shape[1]
    size = fft.next_fast_len(size, real=True)
    step = size - taps.shape[1] + 1
    blocks = -(-len(source) // step)
    padded = np.zeros(blocks * step, np.float32)
    padded[:len(source)] = source
    spectra = fft.rfft(padded.reshape(blocks, step), size, axis=1)
    for start, response in zip(starts, taps):
        pieces = fft.irfft(spectra * fft.rfft(response.astype(np.float32), size), size, axis=1)
        heard = np.zeros(blocks * step + size, np.float32)
        heard[:blocks * step] = pieces[:, :step].ravel()
        over = size - step
        rows = heard[step:step + blocks * step].reshape(blocks, step)
        rows[:, :over] += pieces[:, step:]
        first = int(start)
        yield heard[-first:][:len(source)] if first < 0 else np.concatenate(
            [np.zeros(min(first, len(source)), np.float32), heard[:max(0, len(source) - first)]])


def add_from(out, site, paths, source, position, level_db, in_air_db=0.0):
    """Adds a source at a place to all channels: through the structure to sensors, by air to microphones."""
    starts, taps = paths.response(position, "structure")
    if paths.air.any():
        by_air = paths.response(position, "air")
        starts = np.where(paths.air, by_air[0], starts)
        taps = np.where(paths.air[:, None], by_air[1] * 10 ** (in_air_db / 20), taps)
    n = min(len(source), 8 * site.rate)
    middle = max(0, int(np.argmax(np.abs(source))) - n // 2)
    sample = np.asarray(source[middle:middle + n], np.float32)
    heard = in_band(signal.oaconvolve(sample[None], taps, axes=1)[:, :n], site.rate)
    own = np.array([c.self_noise for c in site.channels])
    over = np.mean(heard ** 2, axis=1) / own ** 2
    gain = np.float32(10 ** (level_db / 20) / np.sqrt(np.median(over) + 1e-30))
    for c, wave in enumerate(through_all(source, starts, taps)):
        wave *= gain
        out[c] += wave


def loop(rng, clip, n, rate):
    """A recorded stretch repeated, each time another part at another speed, cross-faded."""
    out = np.zeros(n + rate, np.float32)
    edge = min(int(0.3 * rate), len(clip) // 6)
    ramp = np.sin(np.linspace(0, np.pi / 2, edge, dtype=np.float32))
    base, at = np.exp(rng.normal(0, 0.12)), 0
    while at < n:
        speed = base * np.exp(rng.normal(0, 0.03))
        piece_n = int(rng.uniform(0.6, 1.0) * len(clip))
        first = int(rng.integers(0, len(clip) - piece_n + 1))
        index = np.arange(0, piece_n - 1, speed)
        piece = np.interp(index, np.arange(piece_n), clip[first:first + piece_n]).astype(np.float32)
        piece[:edge] *= ramp
        piece[-edge:] *= ramp[::-1]
        piece = piece[:len(out) - at]
        out[at:at + len(piece)] += piece
        at += max(1, len(piece) - edge)
    return out[:n]


def machine(rng, site, makers, library, cause):
    clip = library.machine(rng, cause, site.rate)
    if clip is not None:
        return loop(rng, clip.samples, site.frames, site.rate) * wander(
            rng, site.frames, site.rate, 4.0, 0.15)
    return makers.MACHINES[cause](rng, site.frames, site.rate).astype(np.float32)


def crowd(rng, site, makers, library):
    clip = library.thing(rng, "crowd", site.rate, longest_s=20.0)
    if clip is not None:
        return unit_power(loop(rng, clip.samples, site.frames, site.rate), site.rate)
    out = np.zeros(site.frames, np.float32)
    voices = [unit_power(library.voice(rng, "speech", site.rate, makers).samples, site.rate)
              for _ in range(int(rng.integers(6, 16)))]
    for _ in range(int(site.duration_s * log_uniform(rng, 2, 10))):
        voice = voices[rng.integers(len(voices))]
        at = int(rng.uniform(0, max(1, site.frames - len(voice))))
        piece = voice[:site.frames - at]
        out[at:at + len(piece)] += np.float32(np.exp(rng.normal(-0.5, 0.8))) * piece
    return out


def drops(rng, n, rate, per_second, taps, gust):
    """Drops of many sizes, clustered as the rain varies, through one response."""
    count = rng.poisson(per_second * n / rate)
    at = rng.integers(0, n, count)
    keep = rng.random(count) < gust[at] / gust.max()
    train = np.zeros(n, np.float32)
    np.add.at(train, at[keep], ((rng.pareto(2.2, keep.sum()) + 0.1) * rng.choice([-1, 1], keep.sum())))
    return signal.oaconvolve(train, taps.astype(np.float32))[:n]


def drop_ring(rng, rate):
    t = np.arange(int(0.04 * rate)) / rate
    return sum(rng.uniform(0.2, 1) * np.exp(-t / log_uniform(rng, 0.001, 0.012))
               * np.sin(2 * np.pi * min(log_uniform(rng, 150, 5000), 0.45 * rate) * t)
               for _ in range(int(rng.integers(2, 6))))


def rain(rng, site, paths, bed, out, course):
    """Independent texture and drops on each channel, and a few places where water falls for all."""
    n, rate = site.frames, site.rate
    swell = wander(rng, n, rate, log_uniform(rng, 3, 20), 0.4) * course
    rates = log_uniform(rng, 3, 200)
    drop_share, tilt = rng.uniform(0.2, 0.9), rng.uniform(-0.5, 1.2)
    for c, channel in enumerate(site.channels):
        own = np.random.default_rng(rng.integers(2 ** 63))
        gain = channel.self_noise * 10 ** ((bed.level_db + own.normal(0, 3)) / 20)
        cut = channel.upper_hz
        texture = coloured(own, n, rate, lambda f: f ** -tilt / (1 + (f / cut) ** 2)) * swell
        falls = unit_power(drops(own, n, rate, rates * log_uniform(own, 0.5, 2), drop_ring(own, rate),
                                 swell), rate)
        out[c] += np.float32(gain) * (np.float32(np.sqrt(1 - drop_share)) * texture
                                      + np.float32(np.sqrt(drop_share)) * falls)
    for _ in range(int(rng.integers(0, 3))):
        place = np.array([*rng.uniform(0, site.extent_m, 2), 0.0])
        falls = drops(rng, n, rate, log_uniform(rng, 0.5, 8), drop_ring(rng, rate), swell)
        add_from(out, site, paths, falls, place, bed.level_db - rng.uniform(5, 15))


def wind(rng, site, bed, out, course):
    """Gusts pull on cables and blow over sensors: low frequencies, and tones that follow the gusts."""
    n, rate = site.frames, site.rate
    period = log_uniform(rng, 2, 12)
    gust = wander(rng, n, rate, period, rng.uniform(0.4, 0.9)) * course
    slope = rng.uniform(1.5, 3.2)
    for c, channel in enumerate(site.channels):
        own = np.random.default_rng(rng.integers(2 ** 63))
        flutter = wander(own, n, rate, 0.4, 0.35) * gust
        noise = coloured(own, n, rate, lambda f: np.maximum(f, 12.0) ** -slope) * flutter
        if own.random() < 0.3:
            hz = np.minimum(log_uniform(own, 90, 500) * (gust / gust.mean()) ** 0.3, 0.4 * rate)
            tone = np.sin(2 * np.pi * np.cumsum(hz, dtype=np.float64) / rate).astype(np.float32)
            noise += np.float32(own.uniform(0.1, 0.8)) * tone * flutter
        level_db = bed.level_db + own.normal(0, 4) + 4 * (channel.kind == "air")
        out[c] += np.float32(channel.self_noise * 10 ** (level_db / 20)) * noise


def self_and_ambient(rng, site, bed, out):
    """The noise of sensors and site, independent on each channel; part of the site's is
    shared (add_ambient)."""
    for c, channel in enumerate(site.channels):
        own = np.random.default_rng(rng.integers(2 ** 63))
        corner, slope = log_uniform(own, 10, 200), own.uniform(0.3, 2.0)
        ambient = 10 ** ((bed.level_db + own.normal(0, 2)) / 10)
        inside = lambda f: 1 + corner / f  # noqa: E731
        f = np.linspace(60, min(2000, 0.4 * site.rate), 200)
        scale = np.mean(inside(f)) / np.mean(f ** -slope)
        noise = coloured(own, site.frames, site.rate,
                         lambda f: inside(f) + ambient * scale * f ** -slope)
        noise *= np.float32(channel.self_noise * np.sqrt(1 + ambient))
        out[c] += noise


def shared_ambient(rng, site, paths, bed, out):
    slope = rng.uniform(0.3, 2.0)
    source = coloured(rng, site.frames, site.rate, lambda f: f ** -slope)
    source *= wander(rng, site.frames, site.rate, 6.0, 0.15)
    add_from(out, site, paths, source, bed.position_m, bed.level_db - rng.uniform(0, 8))


def traffic(rng, site, course):
    """A road: passing vehicles, with rumble below and tyres above."""
    n, rate = site.frames, site.rate
    rumble = low_pass(rng.standard_normal(n, dtype=np.float32), rate, rng.uniform(50, 200))
    tyres = band_noise(rng, n, rate, 200, 1200)
    level = through_points(n, rate, np.arange(0, site.duration_s + 4, 0.25),
                           vehicles(rng, site.duration_s + 4), 0.05)
    return (rumble / rumble.std() + 0.3 * tyres / tyres.std()) * level * course


def vehicles(rng, duration_s):
    t = np.arange(0, duration_s, 0.25)
    level = np.full(len(t), rng.uniform(0.05, 0.5))
    for _ in range(rng.poisson(duration_s / log_uniform(rng, 6, 60))):
        at, width = rng.uniform(0, duration_s), log_uniform(rng, 0.8, 8)
        level += rng.exponential(0.7) / (1 + ((t - at) / width) ** 2)
    return level


def hum(rng, site, bed, out):
    """Mains on the cables: the same phase on all, with different strength."""
    mains = rng.choice([50, 60])
    period = np.arange(site.rate // 10) / site.rate
    for channel, row in zip(site.channels, out):
        wave = sum(rng.exponential(1 / k) * np.sin(2 * np.pi * mains * k * period + k)
                   for k in range(1, 8))
        gain = channel.self_noise * 10 ** ((bed.level_db + rng.normal(0, 4)) / 20)
        row += np.resize((gain * wave / wave.std()).astype(np.float32), len(row))


def add(bed, site, paths, makers, library, out):
    """Adds one bed to out (channels x frames)."""
    rng = site.rng("bed", bed.number)
    if bed.cause == "hum":
        return hum(rng, site, bed, out)
    if bed.cause == "ambient":
        self_and_ambient(rng, site, bed, out)
        return shared_ambient(rng, site, paths, bed, out)
    course = through_points(site.frames, site.rate, *bed.points, step_s=0.05)
    if bed.cause == "rain":
        return rain(rng, site, paths, bed, out, course)
    if bed.cause == "wind":
        return wind(rng, site, bed, out, course)
    if bed.cause == "traffic":
        source = traffic(rng, site, course)
    elif bed.cause == "crowd":
        source = crowd(rng, site, makers, library) * course
    else:
        source = unit_power(machine(rng, site, makers, library, bed.cause), site.rate) * course
    return add_from(out, site, paths, source.astype(np.float32), bed.position_m, bed.level_db,
                    rng.normal(0, 4))
