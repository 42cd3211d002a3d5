# SPDX-License-Identifier: GPL-3.0-or-later
"""Plain methods to locate a source, for comparison. Each gives delays or levels; a grid search over place and
one speed
with absolute (robust) misfits does the rest."""
import itertools

import numpy as np
from scipy.signal import butter, sosfiltfilt

SPEEDS = np.geomspace(150, 5000, 36)


def band(samples, rate, low, high):
    return sosfiltfilt(butter(3, [low, high], "bandpass", fs=rate, output="sos"), samples, axis=0)


def part_of(filtered, rate, time_s, before_s=0.06, after_s=0.25):
    return filtered[max(0, int((time_s - before_s) * rate)):int((time_s + after_s) * rate)]


def by_correlation(part, rate, weighting):
    """Delays of all pairs, arrival at b minus arrival at a: plain correlation, phase transform, or square root
    of both."""
    n = len(part)
    spectra = np.fft.rfft(part, 2 * n, axis=0)
    found = {}
    for a, b in itertools.combinations(range(part.shape[1]), 2):
        cross = spectra[:, b] * np.conj(spectra[:, a])
        size = np.abs(cross) + 1e-6 * np.max(np.abs(cross))
        cross = cross / {"plain": 1.0, "phase": size, "root": np.sqrt(size)}[weighting]
        series = np.fft.irfft(cross)
        lag = int(np.argmax(series))
        found[a, b] = (lag if lag < n else lag - 2 * n) / rate
    return found


def envelope_picks(part, rate, share, smooth_s=0.004):
    width = max(1, int(smooth_s * rate))
    power = np.apply_along_axis(lambda x: np.convolve(x ** 2, np.ones(width) / width, "same"), 0, part)
    envelope = np.sqrt(power)
    picks = []
    for c in range(part.shape[1]):
        peak = int(np.argmax(envelope[:, c]))
        picks.append(int(np.argmax(envelope[:peak + 1, c] >= share * envelope[peak, c])) / rate)
    return {(a, b): picks[b] - picks[a] for a, b in itertools.combinations(range(part.shape[1]), 2)}


def lattice(corner, size, points=41):
    x, y = np.meshgrid(*(corner[d] + np.linspace(0, size[d], points) for d in range(2)), indexing="ij")
    return np.stack([x.ravel(), y.ravel()], 1)


def place_by_delays(delays, sensors, places):
    r = np.hypot(*(places[:, None] - sensors[None]).transpose(2, 0, 1))
    pairs = list(delays)
    apart = np.stack([r[:, b] - r[:, a] for a, b in pairs], 1)
    measured = np.array([delays[p] for p in pairs])
    misfit = np.abs(apart[None] / SPEEDS[:, None, None] - measured).sum(2)
    speed, at = np.unravel_index(np.argmin(misfit), misfit.shape)
    return places[at], SPEEDS[speed]


def place_by_levels(part, sensors, places):
    db = 10 * np.log10(np.max(np.apply_along_axis(lambda x: np.convolve(x ** 2, np.ones(200) / 200, "valid"), 0, part), axis=0))
    r = np.maximum(0.3, np.hypot(*(places[:, None] - sensors[None]).transpose(2, 0, 1)))
    best = None
    for fall in (10.0, 15.0, 20.0, 30.0):
        rest = db + fall * np.log10(r)
        rest = np.abs(rest - np.median(rest, axis=1, keepdims=True)).sum(1)
        at = int(np.argmin(rest))
        if best is None or rest[at] < best[0]:
            best = (rest[at], places[at])
    return best[1]


METHODS = ("middle", "levels", "correlation plain", "correlation phase", "correlation root",
           "envelope 0.1, 20-300", "envelope 0.4, 20-300", "envelope 0.1, 20-100")


def plain_errors(scene, rate):
    """One error [m] an impact for each of METHODS."""
    errors = {name: [] for name in METHODS}
    speeds = []
    wide, low = band(scene.samples, rate, 20, 300), band(scene.samples, rate, 20, 100)
    places = lattice(scene.corner, scene.size)
    for time_s, source in scene.truth:
        part = part_of(wide, rate, time_s)
        found = {"middle": scene.corner + scene.size / 2, "levels": place_by_levels(part, scene.sensors, places)}
        for weighting in ("plain", "phase", "root"):
            found["correlation " + weighting] = place_by_delays(by_correlation(part, rate, weighting), scene.sensors, places)[0]
        for name, samples, share in (("0.1, 20-300", part, 0.1), ("0.4, 20-300", part, 0.4), ("0.1, 20-100", part_of(low, rate, time_s), 0.1)):
            found["envelope " + name], speed = place_by_delays(envelope_picks(samples, rate, share), scene.sensors, places)
            if name == "0.1, 20-300":
                speeds.append(speed)
        for name, place in found.items():
            errors[name].append(np.hypot(*(place - source)))
    return {name: np.array(values) for name, values in errors.items()}, np.array(speeds)
