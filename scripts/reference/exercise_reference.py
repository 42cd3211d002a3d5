#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes tests/synthesis/data/band_level.json: the in-band power of known sounds through SciPy's
Butterworth band-pass, and their largest mean power over any 50 ms, for the SNR of exercises."""
import json
import os

import numpy
import scipy
from scipy import signal

RATE_HZ = 8000
SEED = 20261
PATH = os.path.join(os.path.dirname(__file__), "..", "..", "tests", "exercise", "data", "band_level.json")


def peak_energy(samples):
    window = round(0.05 * RATE_HZ)
    running = numpy.concatenate([[0.0], numpy.cumsum(samples ** 2)])
    return float(numpy.max(running[window:] - running[:-window]) / window)


def main():
    random = numpy.random.default_rng(SEED)
    sections = signal.butter(4, [60, 2000], "bandpass", fs=RATE_HZ, output="sos")
    time_s = numpy.arange(2 * RATE_HZ) / RATE_HZ
    cases = []
    for frequency_hz, decay_s in ((300.0, 0.05), (900.0, 0.2), (70.0, 0.3), (2500.0, 0.1)):
        start_s = float(random.uniform(0.4, 0.9))
        since = time_s - start_s
        knock = numpy.where(since >= 0, numpy.exp(-6.9078 * since.clip(0) / decay_s) * numpy.sin(2 * numpy.pi * frequency_hz * since), 0.0)
        banded = signal.sosfilt(sections, knock)
        cases.append({"frequency_hz": frequency_hz, "decay_s": decay_s, "start_s": start_s, "peak_energy_db": 10 * numpy.log10(peak_energy(banded))})
    with open(PATH, "w", encoding="utf-8") as file:
        json.dump({"made_by": "scripts/reference/exercise_reference.py", "scipy": scipy.__version__, "seed": SEED, "rate_hz": RATE_HZ, "cases": cases}, file, indent=1)
        file.write("\n")


if __name__ == "__main__":
    main()
