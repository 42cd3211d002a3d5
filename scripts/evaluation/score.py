# SPDX-License-Identifier: GPL-3.0-or-later
"""What was heard against what was there: matching, intervals, reliability."""
import numpy as np
from scipy import stats

COLLAR_S, VOICE_COLLAR_S = 0.2, 1.0  # customary [Mesaros, Heittola & Virtanen 2016]
COUNTED = 0.5  # confidence of what counts


def wilson(hits, n, z=1.959963984540054):
    """95 % interval of a proportion [Wilson 1927]."""
    if n == 0:
        return 0.0, 1.0
    p = hits / n
    mid, half = p + z * z / 2 / n, z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n)
    return (mid - half) / (1 + z * z / n), (mid + half) / (1 + z * z / n)


def upper_rate(count, hours):
    """Upper 95 % limit of a Poisson rate: half the 0.95 quantile of chi-square with 2(n+1) degrees
    [Garwood 1936], an hour."""
    return 0.5 * stats.chi2.ppf(0.95, 2 * (count + 1)) / hours if hours > 0 else np.inf


def found(truth, events, kind, least=COUNTED):
    """The event of that kind and confidence that answers a row of the truth, or None."""
    best, nearest = None, VOICE_COLLAR_S if kind != "tapping" else COLLAR_S
    for event in events:
        if event["kind"] != kind or event["confidence"] < least:
            continue
        times = truth["taps"] or [truth["from_s"]]
        off = min(abs(event["onset_s"] - t) for t in times)
        # A lasting sound may be found in parts: any that lies inside it answers.
        if kind != "tapping" and truth["from_s"] <= event["onset_s"] <= truth["end_s"]:
            off = 0.0
        if off <= nearest:
            best, nearest = event, off
    return best


def is_true(event, truths):
    """Whether an event is what its kind says."""
    for truth in truths:
        if truth["kind"] != event["kind"]:
            continue
        if truth["taps"] and min(abs(event["onset_s"] - t) for t in truth["taps"]) <= COLLAR_S:
            return True
        if not truth["taps"] and event["onset_s"] <= truth["end_s"] + 0.2 \
                and event["end_s"] >= truth["from_s"] - 0.2:
            return True
    return False


def tap_counts(truths, events):
    """(true positives, false positives, misses) of single taps, one answer a tap, in order."""
    taps = sorted(t for truth in truths for t in truth["taps"])
    heard = sorted(e["onset_s"] for e in events
                   if e["kind"] == "tapping" and e["confidence"] >= COUNTED)
    hits = i = 0
    for t in taps:
        while i < len(heard) and heard[i] < t - COLLAR_S:
            i += 1
        if i < len(heard) and heard[i] <= t + COLLAR_S:
            hits, i = hits + 1, i + 1
    return hits, len(heard) - hits, len(taps) - hits


def voice_counts(truths, events):
    """(true positives, false positives, misses) of voices: one answer within a second of the onset, or
    inside it; more answers in one voice are neither true nor false."""
    voices = [t for t in truths if t["kind"] == "voice-like"]
    heard = [e for e in events if e["kind"] == "voice-like" and e["confidence"] >= COUNTED]
    hits = sum(found(t, events, "voice-like") is not None for t in voices)
    false = sum(not any(t["from_s"] - VOICE_COLLAR_S <= e["onset_s"] <= t["end_s"] for t in voices)
                for e in heard)
    return hits, false, len(voices) - hits


def reliability(pairs, bins=10):
    """Rows (mean confidence, share true, count) of (confidence, truth, weight) rows, and the expected
    calibration error: mean of |share - confidence| by weight."""
    rows, error = [], 0.0
    c, y, w = (np.array([p[k] for p in pairs], float) for k in range(3))
    for k in range(bins):
        pick = (c >= k / bins) & ((c < (k + 1) / bins) | (k == bins - 1))
        if pick.any():
            mean, share = (np.average(v[pick], weights=w[pick]) for v in (c, y))
            rows.append((mean, share, int(pick.sum())))
            error += w[pick].sum() / w.sum() * abs(mean - share)
    return rows, error
