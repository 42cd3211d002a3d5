#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reference values for tests/detect: the Akaike onset criterion by NumPy's own mean of squares."""
import json
import pathlib

import numpy as np

SEED = 20260
OUT = pathlib.Path(__file__).resolve().parents[2] / "tests" / "detect" / "data" / "onset.json"
LEAST_SIDE = 4


def criterion(x):
    """AIC(k) = k ln var(x[:k]) + (N-k-1) ln var(x[k:]), Maeda 1985; variance about zero."""
    n = len(x)
    values = np.full(n, np.inf)
    for k in range(LEAST_SIDE, n - LEAST_SIDE):
        values[k] = (k * np.log(np.mean(x[:k] ** 2)) + (n - k - 1) * np.log(np.mean(x[k:] ** 2)))
    return values


def main():
    rng = np.random.default_rng(SEED)
    cases = []
    for snr_db, at, n in [(20, 200, 300), (10, 150, 260), (6, 120, 240), (3, 180, 300), (30, 60, 128),
                          (0, 160, 320)]:
        t = np.arange(n - at)
        x = rng.standard_normal(n)
        x[at:] += np.sqrt(2 * 10 ** (snr_db / 10)) * np.exp(-t / 80) * np.sin(0.31 * t)
        x = np.round(0.05 * x, 6).astype(np.float32).astype(float)
        values = criterion(x)
        split = int(np.argmin(values))
        weight = np.exp(-0.5 * (values - values[split]))
        sigma = np.sqrt(np.sum(weight * (np.arange(n) - split) ** 2) / np.sum(weight) + 0.25)
        cases.append({"snr_db": snr_db, "true": at, "split": split, "sigma": float(sigma),
                      "waveform": [round(float(v), 7) for v in x]})
    OUT.parent.mkdir(parents=True, exist_ok=True)
    OUT.write_text(json.dumps({"script": "scripts/reference/detect_reference.py", "seed": SEED,
                               "numpy": np.__version__, "cases": cases}))


if __name__ == "__main__":
    main()
