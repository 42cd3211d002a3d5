#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reference values for grading, from SciPy: assignment, intervals, hearing curves, kappa.

Writes tests/grading/data/grade_reference.json. Run: /usr/bin/python3 scripts/reference/grade_reference.py
"""
import json
import os

import numpy as np
import scipy
from scipy import optimize, stats

SEED = 20260314
HERE = os.path.dirname(os.path.abspath(__file__))
OUT = os.path.join(HERE, "..", "..", "tests", "exercise", "data", "grade_reference.json")


def assignments(rng):
    """Random costs and tied ones (whole numbers from few), square and rectangular. Only totals are kept,
    since ties have several solutions."""
    cases = []
    for rows, columns in [(1, 1), (2, 5), (5, 2), (6, 6), (9, 4), (12, 12), (7, 20)]:
        for tied in (False, True):
            costs = (rng.integers(0, 4, (rows, columns)).astype(float) if tied
                     else np.round(rng.uniform(0, 10, (rows, columns)), 4))
            r, c = optimize.linear_sum_assignment(costs)
            cases.append({"rows": rows, "columns": columns, "tied": tied,
                          "costs": costs.ravel().tolist(), "total": float(costs[r, c].sum())})
    return cases


def matchings(rng):
    """Sparse pairs: as many as possible, then the least cost. SciPy: forbidden pairs cost more than all
    others together and are then dropped."""
    cases = []
    for answers, truths, share in [(4, 4, .5), (8, 6, .3), (10, 15, .2), (15, 15, .15), (20, 12, .25)]:
        for tied in (False, True):
            allowed = rng.uniform(size=(answers, truths)) < share
            costs = (rng.integers(0, 3, (answers, truths)).astype(float) if tied
                     else np.round(rng.uniform(0, 3, (answers, truths)), 4))
            big = np.where(allowed, costs, 0).sum() + 1
            r, c = optimize.linear_sum_assignment(np.where(allowed, costs, big))
            keep = allowed[r, c]
            cases.append({
                "candidates": [[int(a), int(t), float(costs[a, t])] for a, t in np.argwhere(allowed)],
                "pairs": int(keep.sum()), "total": float(costs[r, c][keep].sum())})
    return cases


def fieller(snr, listeners, guess, lapse, threshold, spread):
    """95 % limits of the threshold: where the line intercept + slope * SNR is z standard errors from
    zero, by root search (Fieller 1954). Expected information with numeric derivatives."""
    def chance(line):
        return guess + (1 - guess - lapse) / (1 + np.exp(-(line[0] + line[1] * snr)))

    line = np.array([-threshold / spread, 1 / spread])
    steps = 1e-6 * np.eye(2)
    slopes = np.array([(chance(line + h) - chance(line - h)) / 2e-6 for h in steps])
    p = chance(line)
    covariance = np.linalg.inv((slopes * listeners / (p * (1 - p))) @ slopes.T)

    def excess(x):
        at = np.array([1, x])
        return (line @ at) ** 2 - stats.norm.ppf(.975) ** 2 * (at @ covariance @ at)

    return (float(optimize.brentq(excess, threshold - 15 * spread, threshold)),
            float(optimize.brentq(excess, threshold, threshold + 15 * spread)))


def newcombe():
    """Method 10 of Newcombe 1998 from SciPy's Wilson limits: the difference of two shares. Table II of
    that paper has these pairs, (a) to (f)."""
    cases = []
    for a, m, b, n in [(56, 70, 48, 80), (9, 10, 3, 10), (6, 7, 2, 7), (5, 56, 0, 29), (0, 10, 0, 20),
                       (10, 10, 0, 20)]:
        first, second = (stats.binomtest(k, t).proportion_ci(method="wilson") for k, t in ((b, n), (a, m)))
        p, q = b / n, a / m
        cases.append({"first": [b, n], "second": [a, m],
                      "low": q - p - np.hypot(q - second.low, first.high - p),
                      "high": q - p + np.hypot(second.high - q, p - first.low)})
    return cases


def curves(rng):
    """Maximum likelihood by Nelder-Mead, threshold and log spread free; restarted from its end."""
    cases = []
    for guess, lapse, threshold, spread, listeners in [(0, .02, 6, 2, 12), (0, 0, 9, 1.5, 20),
                                                       (.1, .02, 4, 3, 30), (0, .05, 12, 2.5, 8)]:
        snr = np.arange(-3.0, 22.0, 2.5)
        p = guess + (1 - guess - lapse) / (1 + np.exp(-(snr - threshold) / spread))
        heard = rng.binomial(listeners, p)

        def loss(x):
            q = guess + (1 - guess - lapse) / (1 + np.exp(-(snr - x[0]) / np.exp(x[1])))
            q = np.clip(q, 1e-15, 1 - 1e-15)
            return -(heard * np.log(q) + (listeners - heard) * np.log1p(-q)).sum()

        x = np.array([8.0, 1.0])
        for _ in range(4):
            found = optimize.minimize(loss, x, method="Nelder-Mead",
                                      options={"xatol": 1e-10, "fatol": 1e-12, "maxiter": 8000})
            x = found.x
        low, high = fieller(snr, listeners, guess, lapse, x[0], np.exp(x[1]))
        cases.append({"guess": guess, "lapse": lapse, "listeners": listeners, "snr_db": snr.tolist(),
                      "heard": heard.tolist(), "threshold_db": float(x[0]),
                      "threshold_low_db": low, "threshold_high_db": high,
                      "spread_db": float(np.exp(x[1])), "log_likelihood": float(-found.fun)})
    return cases


def kappas():
    """Kappa's standard error a second way: the delta method with numeric derivatives."""
    def kappa(p):
        return (np.trace(p) - p.sum(1) @ p.sum(0)) / (1 - p.sum(1) @ p.sum(0))

    cases = []
    for counts in ([[75, 1, 4], [5, 4, 1], [0, 0, 10]], [[20, 5], [10, 15]], [[3, 9], [2, 40]]):
        n = np.sum(counts)
        p = np.array(counts) / n
        gradient = np.zeros(p.size)
        for i in range(p.size):
            step = np.zeros(p.size)
            step[i] = 1e-6
            step = step.reshape(p.shape)
            gradient[i] = (kappa(p + step) - kappa(p - step)) / 2e-6
        q = p.ravel()
        variance = (gradient ** 2 @ q - (gradient @ q) ** 2) / n
        cases.append({"counts": np.ravel(counts).tolist(), "kappa": float(kappa(p)),
                      "standard_error": float(np.sqrt(variance))})
    return cases


def proportions():
    return [{"part": k, "total": n, "low": ci.low, "high": ci.high}
            for k, n in [(8, 10), (0, 10), (10, 10), (1, 3), (250, 1000)]
            for ci in [stats.binomtest(k, n).proportion_ci(method="wilson")]]


def medians(rng):
    """Ranks from the binomial quantile: the widest tails that together stay under 5 %."""
    cases = []
    for n in (5, 6, 9, 10, 25):
        values = np.sort(np.round(rng.normal(size=n), 3))
        k = int(stats.binom.ppf(0.025, n, 0.5))
        while k > 0 and stats.binom.cdf(k - 1, n, 0.5) > 0.025:
            k -= 1
        cases.append({"values": values.tolist(), "median": float(np.median(values)),
                      "low": float(values[k - 1]) if k else None,
                      "high": float(values[n - k]) if k else None})
    return cases


def main():
    rng = np.random.default_rng(SEED)
    quantiles = [[p, float(stats.norm.ppf(p))] for p in (1e-9, 1e-4, .025, .2, .5, .8, .9, .975, .999999)]
    result = {"made_by": "scripts/reference/grade_reference.py", "scipy": scipy.__version__,
              "numpy": np.__version__, "seed": SEED, "assignments": assignments(rng),
              "matchings": matchings(rng), "curves": curves(rng), "kappas": kappas(),
              "changes": newcombe(),
              "proportions": proportions(), "medians": medians(rng), "quantiles": quantiles}
    with open(OUT, "w", encoding="utf-8") as file:
        json.dump(result, file, indent=0, allow_nan=False)
        file.write("\n")


if __name__ == "__main__":
    main()
