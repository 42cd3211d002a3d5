#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reference values for tests/detect/hail_chance_test.cpp: exact Poisson intervals by SciPy's chi-square
quantiles (Garwood 1936), and a permutation test by counting shift after shift. Prints them."""
import scipy
from scipy import stats

LISTENED_S, STEP_S = 200.0, 0.5
WINDOWS = [(22.0, 37.0), (61.0, 76.0), (133.0, 148.0)]
EVENTS = [25.0, 68.0, 69.0, 100.0, 140.0, 171.0]


def p_value(events):
    shifts = int(LISTENED_S / STEP_S) - 1

    def count(shift):
        return sum(0.0 <= (event - begin - shift) % LISTENED_S < end - begin
                   for begin, end in WINDOWS for event in events)

    heard = count(0.0)
    as_many = sum(count(LISTENED_S * k / (shifts + 1)) >= heard for k in range(1, shifts + 1))
    return (1 + as_many) / (1 + shifts)


if __name__ == "__main__":
    print("SciPy", scipy.__version__)
    for n in (0, 1, 4, 10, 250):
        print(n, stats.chi2.ppf(0.025, 2 * n) / 2 if n else 0.0, stats.chi2.ppf(0.975, 2 * n + 2) / 2)
    print("p", p_value(EVENTS), "smallest", p_value([(a + b) / 2 for a, b in WINDOWS]))
