#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Places by SciPy's least squares from the same delays: tests/locate/data/least_squares.txt.

Speed is known, noise small: the place of lull-locate must then be that of least squares over the
arrivals. Columns: number of sensors, speed, then x y of each sensor, the delay of each after the first,
and x y by SciPy.
"""
import pathlib
import sys

import numpy as np
import scipy
from scipy.optimize import least_squares

OUT = pathlib.Path(__file__).resolve().parents[2] / "tests" / "locate" / "data" / "least_squares.txt"
SEED = 61


def main():
    random = np.random.default_rng(SEED)
    lines = [f"# SciPy {scipy.__version__}, NumPy {np.__version__}, seed {SEED}"]
    while len(lines) < 13:
        count = int(random.integers(4, 7))
        sensors = random.uniform(0, 20, (count, 2)).round(3)
        source, speed = random.uniform(4, 16, 2), round(random.uniform(400, 2000), 1)
        arrivals = np.hypot(*(sensors - source).T) / speed + random.normal(0, 20e-6, count)
        delays = (arrivals - arrivals[0]).round(7)

        def rest(unknown):
            return (np.hypot(*(sensors - unknown[:2]).T) / speed + unknown[2] - delays) / 20e-6

        best = least_squares(rest, [*source, -arrivals[0]], xtol=1e-14, ftol=1e-14)
        if np.linalg.cond(best.jac) > 2e6:
            continue
        lines.append(" ".join(map(str, [count, speed, *sensors.ravel(), *delays[1:], *best.x[:2].round(4)])))
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    sys.exit(main())
