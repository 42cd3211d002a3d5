# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures of judged scenes (score.judge): recall at so many false finds an hour, intervals, calibration."""
import numpy as np
from scipy import stats

FALSE_PER_HOUR = (1, 3, 10)
MOST_MARKED = 0.01  # of other time: a find that covers a whole file would find every sound
TIMES, SEED = 300, 1  # of the bootstrap
LISTED = 0.1  # an event of this confidence is listed by default


class Tally:
    """Sounds and finds of one kind in many scenes, as arrays. `weights` is how often each scene counts:
    the bootstrap draws scenes, not sounds."""

    def __init__(self, scenes, kind):
        self.scenes, self.kind = scenes, kind
        self.ones = np.ones(len(scenes))
        self.hours = np.array([s["duration_s"] for s in scenes]) / 3600
        self.other_s = np.array([s["marked"][kind]["other_s"] for s in scenes])
        self.rows = [(k, row) for k, s in enumerate(scenes) for row in s["sounds"] if row["kind"] == kind]
        self.of_scene = np.array([k for k, _ in self.rows], int)
        self.sure = np.array([row["confidence"] for _, row in self.rows])
        self.false = descending((f["confidence"], k, 1.0) for k, s in enumerate(scenes)
                                for f in s["finds"] if f["kind"] == kind and not f["true"])
        self.marks = descending((sure, k, length) for k, s in enumerate(scenes)
                                for sure, length in s["marked"][kind]["marks"])

    def mask(self, pick):
        return np.array([pick(self.scenes[k], row) for k, row in self.rows], bool)

    def threshold(self, per_hour, weights=None):
        """Smallest confidence at which there are at most so many false finds an hour, and at most
        MOST_MARKED of the other time is marked."""
        weights = self.ones if weights is None else weights
        return max(above(self.false, weights, per_hour * (self.hours @ weights)),
                   above(self.marks, weights, MOST_MARKED * (self.other_s @ weights)))

    def recall(self, threshold, mask=None, weights=None):
        """(found, total). A sound that no find overlaps is not found at any threshold."""
        counts = (self.ones if weights is None else weights)[self.of_scene]
        if mask is not None:
            counts = counts * mask
        return float(counts @ ((self.sure > 0) & (self.sure >= threshold))), float(counts.sum())

    def false_per_hour(self, threshold, weights=None):
        weights = self.ones if weights is None else weights
        return sums(self.false, threshold, weights) / (self.hours @ weights)

    def share_marked(self, threshold):
        return sums(self.marks, threshold, self.ones) / self.other_s.sum()


def descending(rows):
    """Rows (confidence, scene, amount) as three arrays, the highest confidence first."""
    table = np.array(sorted(rows, key=lambda row: -row[0]), float).reshape(-1, 3)
    return table[:, 0], table[:, 1].astype(int), table[:, 2]


def above(table, weights, most):
    """Smallest confidence from which the amounts add up to at most `most`."""
    sure, of_scene, amounts = table
    total = np.cumsum(amounts * weights[of_scene])
    first = int(np.searchsorted(total, most * (1 + 1e-9), side="right"))
    return np.nextafter(sure[first], 2) if first < len(sure) else 0.0


def sums(table, threshold, weights):
    sure, of_scene, amounts = table
    return float((amounts * weights[of_scene])[sure >= threshold].sum())


def draws(count):
    """Weights of `count` scenes, TIMES over, as the bootstrap draws them [Efron & Tibshirani 1993]."""
    generator = np.random.default_rng(SEED)
    for _ in range(TIMES):
        yield np.bincount(generator.integers(0, count, count), minlength=count).astype(float)


def interval(count, statistic):
    """95 % interval of a statistic of weights of `count` scenes. It may be None where nothing was drawn."""
    values = [value for weights in draws(count) if (value := statistic(weights)) is not None]
    return tuple(np.quantile(values, [0.025, 0.975])) if values else (0.0, 1.0)


def share(hits, of):
    return hits / of if of else None


def recall_at(tally, per_hour, mask=None):
    """(recall, low, high, total) at so many false finds an hour. The threshold is drawn with the scenes."""
    def statistic(weights):
        return share(*tally.recall(tally.threshold(per_hour, weights), mask, weights))
    hits, of = tally.recall(tally.threshold(per_hour), mask)
    return (share(hits, of), *interval(len(tally.scenes), statistic), int(of))


def recall_from(tally, threshold, mask=None):
    """The same at a fixed confidence."""
    hits, of = tally.recall(threshold, mask)
    return (share(hits, of), *interval(len(tally.scenes), lambda weights: share(
        *tally.recall(threshold, mask, weights))), int(of))


def gained(tally, other, per_hour, pick):
    """(difference, low, high) of recall of one detector minus another's, over the same scenes."""
    masks = tally.mask(pick), other.mask(pick)

    def statistic(weights):
        shares = [share(*one.recall(one.threshold(per_hour, weights), mask, weights))
                  for one, mask in zip((tally, other), masks)]
        return None if None in shares else shares[0] - shares[1]
    return (statistic(tally.ones), *interval(len(tally.scenes), statistic))


def wilson(hits, n, z=1.959963984540054):
    """95 % interval of a proportion [Wilson 1927]."""
    if n == 0:
        return 0.0, 1.0
    p = hits / n
    mid, half = p + z * z / 2 / n, z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n)
    return (mid - half) / (1 + z * z / n), (mid + half) / (1 + z * z / n)


def upper_rate(count, hours):
    """Upper 95 % limit of a Poisson rate [Garwood 1936], an hour."""
    return 0.5 * stats.chi2.ppf(0.95, 2 * (count + 1)) / hours if hours > 0 else np.inf


def reliability(scenes, kind, bins=10):
    """Rows (mean confidence, share true, count) of the listed finds of a kind, and the calibration error:
    the mean of |share - confidence| over them."""
    pairs = np.array([(f["confidence"], f["true"]) for s in scenes for f in s["finds"]
                      if f["kind"] == kind and f["confidence"] >= LISTED], float).reshape(-1, 2)
    rows, error = [], 0.0
    for k in range(bins):
        pick = (pairs[:, 0] >= k / bins) & ((pairs[:, 0] < (k + 1) / bins) | (k == bins - 1))
        if pick.any():
            mean, true = pairs[pick].mean(axis=0)
            rows.append((mean, true, int(pick.sum())))
            error += pick.sum() / len(pairs) * abs(mean - true)
    return rows, error
