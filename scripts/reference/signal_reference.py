#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reference values for tests/signal, by SciPy: filter responses, filtered noise, densities, envelopes."""
import json
import pathlib

import numpy as np
import scipy
from scipy import signal

SEED = 20260
OUT = pathlib.Path(__file__).resolve().parents[2] / "tests" / "signal" / "data"
ABOUT = {"script": "scripts/reference/signal_reference.py", "seed": SEED,
         "scipy": scipy.__version__, "numpy": np.__version__}
# Kind, edges in Hz, rate in Hz: corners from 1 Hz at 48 kHz up to 0.45 of the rate.
DESIGNS = [("bandpass", [60.0, 2000.0], 16000.0), ("bandpass", [1.0, 20.0], 48000.0),
           ("bandpass", [1.0, 21600.0], 48000.0), ("bandpass", [10.0, 14.0], 8000.0),
           ("bandpass", [1800.0, 3600.0], 8000.0), ("lowpass", [1.0], 48000.0),
           ("lowpass", [1000.0], 16000.0), ("lowpass", [21600.0], 48000.0),
           ("highpass", [1.0], 48000.0), ("highpass", [60.0], 16000.0),
           ("highpass", [21600.0], 48000.0)]
LONGEST = 24000


def filters():
    """Response from zeros and poles (without polynomials, for accuracy at 1 Hz), and a few samples of the
    impulse response."""
    cases = []
    for kind, edges, rate in DESIGNS:
        low, high = max(edges[0] / 3, 0.3), min(edges[-1] * 3, 0.49 * rate)
        frequencies = np.unique(np.append(np.geomspace(low, high, 8).round(4), edges))
        at = np.unique(np.geomspace(1, LONGEST, 28).astype(int)) - 1
        for order in range(1, 9):
            corner = edges if kind == "bandpass" else edges[0]
            zeros, poles, gain = signal.butter(order, corner, kind, fs=rate, output="zpk")
            _, response = signal.freqz_zpk(zeros, poles, gain, frequencies, fs=rate)
            impulse = np.zeros(LONGEST)
            impulse[0] = 1.0
            sections = signal.butter(order, corner, kind, fs=rate, output="sos")
            heard = signal.sosfilt(sections, impulse)
            cases.append({"kind": kind, "edges": edges, "rate": rate, "order": order,
                          "frequency": frequencies.tolist(),
                          "real": [float(f"{v:.10g}") for v in response.real],
                          "imag": [float(f"{v:.10g}") for v in response.imag],
                          "at": [int(n) for n in at],
                          "impulse": [float(f"{v:.8g}") for v in heard[at]],
                          "peak": float(np.max(np.abs(heard)))})
    return {**ABOUT, "cases": cases}


def noise(count):
    """Noise on a constant, so that a filter without initial state would show a jump."""
    rng = np.random.default_rng(SEED)
    x = 0.3 + 0.1 * rng.standard_normal(count) + 0.05 * np.sin(0.11 * np.arange(count))
    return np.round(x, 6).astype(np.float32).astype(float)


def default_padding(sections):
    zeros = min((sections[:, 2] == 0).sum(), (sections[:, 5] == 0).sum())
    return int(3 * (2 * len(sections) + 1 - zeros))


def rounded(values):
    return [float(f"{v:.8g}") for v in values]


def streams():
    x = noise(1200)
    filtered = []
    for order, kind, corner in [(4, "bandpass", [60.0, 2000.0]), (3, "highpass", 40.0),
                                (5, "lowpass", 900.0)]:
        sections = signal.butter(order, corner, kind, fs=8000.0, output="sos")
        start = signal.sosfilt_zi(sections) * x[0]
        filtered.append({"order": order, "kind": kind, "edges": np.atleast_1d(corner).tolist(),
                         "forward": rounded(signal.sosfilt(sections, x, zi=start)[0]),
                         "padding": default_padding(sections),
                         "both": rounded(signal.sosfiltfilt(sections, x))})
    densities = []
    for segment, window in [(256, "hann"), (125, "hamming"), (200, "blackman")]:
        _, density = signal.welch(x, 8000.0, window=window, nperseg=segment)
        densities.append({"segment": segment, "window": window, "density": rounded(density)})
    envelopes = [{"count": n, "envelope": rounded(np.abs(signal.hilbert(x[:n] - 0.3)))}
                 for n in (300, 301)]
    _, _, frames = signal.stft(x, 1.0, window="hann", nperseg=64, noverlap=40, boundary=None,
                               padded=False, scaling="spectrum")
    frames = frames * np.sum(signal.get_window("hann", 64))
    spectra = {"window": 64, "hop": 24, "frames": frames.shape[1],
               "real": rounded(frames[:, 5].real), "imag": rounded(frames[:, 5].imag)}
    return {**ABOUT, "rate": 8000.0, "samples": rounded(x), "filtered": filtered,
            "densities": densities, "envelopes": envelopes, "spectra": spectra}


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    (OUT / "filters.json").write_text(json.dumps(filters(), separators=(",", ":")) + "\n")
    (OUT / "streams.json").write_text(json.dumps(streams(), separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
