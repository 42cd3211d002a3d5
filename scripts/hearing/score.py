# SPDX-License-Identifier: GPL-3.0-or-later
"""How hearing is counted: the one place for the bench, its tests and audibility.

A true sound is found by a find of its kind that overlaps it, with 0.15 s of grace; of a group of knocks
at one of its taps. A false find overlaps no true sound of its kind; what overlaps the team's own calls,
knocks and speech counts as neither. The share of other time that finds mark stands beside every figure.
"""
import bisect

import numpy as np
from scipy import stats

from finds import KINDS

GRACE_S = 0.15
COUNTED = 0.5            # confidence from which a find counts in headlines
FALSE_PER_HOUR = (1, 3, 10)
TAP_S = 0.1              # of a tap in the truth, from its onset


def spans_of(sound):
    """Stretches at which a true sound can be found."""
    if sound["kind"] == "tapping" and sound.get("taps"):
        return [(tap, tap + TAP_S) for tap in sound["taps"]]
    return [(sound["onset_s"], sound["end_s"])]


class Spans:
    """Stretches of time, asked for overlap."""

    def __init__(self, spans):
        self.spans = sorted(spans)
        self.starts = [a for a, _ in self.spans]
        self.longest = max((b - a for a, b in self.spans), default=0.0)

    def overlap(self, a, b, grace=GRACE_S):
        first = bisect.bisect_left(self.starts, a - self.longest - grace)
        last = bisect.bisect_right(self.starts, b + grace)
        return any(end + grace >= a for _, end in self.spans[first:last])

    def overlap_any(self, marks):
        return any(self.overlap(a, b) for a, b in marks)


def merged(spans):
    """Sorted spans without overlaps."""
    out = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1]:
            out[-1][1] = max(out[-1][1], b)
        else:
            out.append([a, b])
    return out


def length_outside(marks, spans):
    """Seconds of the marks that lie outside the (merged) spans."""
    total = 0.0
    for a, b in merged(marks):
        total += b - a - sum(max(0.0, min(b, d) - max(a, c)) for c, d in spans)
    return total


def cause_of(find, truth):
    """What a false find came from: the loudest confuser that it overlaps, else a sound of another kind,
    else the bed."""
    over = [c for c in truth["confusers"]
            if Spans(confuser_spans(c)).overlap_any(find.marks)]
    if over:
        return max(over, key=lambda c: c["snr_db"] if c["snr_db"] is not None else -99.0)["cause"]
    for sound in truth["sounds"]:
        if Spans([(sound["onset_s"], sound["end_s"])]).overlap_any(find.marks):
            return {"tapping": "knocks", "voice-like": "calls"}.get(sound["kind"], sound["kind"])
    beds = [b["cause"] for b in truth["beds"]
            if Spans([(b["from_s"], b["to_s"])]).overlap_any(find.marks)]
    return beds[0] if beds else "self-noise"


def confuser_spans(confuser):
    """Single blows of a confuser where it lists them, else its whole time."""
    times = confuser.get("times")
    return [(t, t + 0.3) for t in times] if times else [(confuser["from_s"], confuser["to_s"])]


def judge(truth, finds, channels=None, names=None):
    """A scene's finds against its truth: plain values, ready for JSON.

    channels: names of those that were analysed (None: all); a sound's strongest channel and SNR are then
    those of the loudest analysed one. names: the channel's name in the finds by the truth's name."""
    heard = [c["name"] for c in truth["channels"] if channels is None or c["name"] in channels]
    rows, false = [], []
    for sound in truth["sounds"]:
        by = {c: sound["by_channel"][c] for c in heard if c in sound["by_channel"]}
        strongest = max(by, key=lambda c: by[c]["snr_db"]) if by else None
        spans = Spans(spans_of(sound))
        mine = [f for f in finds if f.kind == sound["kind"] and spans.overlap_any(f.marks)]
        best = max(mine, key=lambda f: f.confidence, default=None)
        first = min((a for f in mine for a, _ in f.marks), key=lambda a: abs(a - sound["onset_s"]),
                    default=None)
        rows.append({
            "group": sound["group"], "kind": sound["kind"], "of": sound["of"], "snr_db": sound["target_snr_db"],
            "heard_snr_db": by[strongest]["snr_db"] if strongest else None,
            "taps": len(sound.get("taps") or []), "interval_s": sound.get("interval_s"),
            "state": sound["state"], "confidence": best.confidence if best else 0.0,
            "channel_right": (best.channel == strongest) if best else None,
            "onset_error_s": first - sound["onset_s"] if first is not None else None})
    duration = truth["duration_s"]
    marked = {}
    for kind in KINDS:
        true = Spans([s for sound in truth["sounds"] if sound["kind"] == kind for s in spans_of(sound)])
        whole = [(s["onset_s"], s["end_s"]) for s in truth["sounds"] if s["kind"] == kind]
        neither = Spans([(h["from_s"], h["to_s"]) for h in truth["hails"] if h["kind"] == kind] +
                        [s for c in truth["confusers"] if kind in c["neither_for"]
                         for s in confuser_spans(c)])
        spans = merged(whole + neither.spans)
        other_s = duration - sum(b - a for a, b in spans)
        marked[kind] = {"other_s": other_s, "marks": []}
        for find in finds:
            if find.kind != kind:
                continue
            marked[kind]["marks"].append([find.confidence, length_outside(find.marks, spans)])
            is_true = true.overlap_any(find.marks)
            neutral = not is_true and neither.overlap_any(find.marks)
            if neutral:
                continue
            false.append({"kind": kind, "confidence": find.confidence, "true": is_true,
                          "marks": len(find.marks), "from_s": find.marks[0][0],
                          "cause": None if is_true else cause_of(find, truth)})
    return {"side": truth["side"], "ground": truth["ground"], "seed": truth["seed"],
            "rate_hz": truth["rate_hz"], "channels": len(heard), "duration_s": duration,
            "sounds": rows, "finds": false, "marked": marked}


def threshold_at(scenes, kind, per_hour):
    """Smallest confidence at which the scenes hold at most so many false finds an hour."""
    hours = sum(s["duration_s"] for s in scenes) / 3600
    confidences = sorted((f["confidence"] for s in scenes for f in s["finds"]
                          if f["kind"] == kind and not f["true"]), reverse=True)
    most = int(per_hour * hours)
    return np.nextafter(confidences[most], 2) if len(confidences) > most else 0.0


def recall(scenes, kind, threshold, pick=lambda s, row: True):
    """(found, of how many) of the sounds of a kind that pick accepts."""
    rows = [r for s in scenes for r in s["sounds"] if r["kind"] == kind and pick(s, r)]
    return sum(r["confidence"] > 0 and r["confidence"] >= threshold for r in rows), len(rows)


def false_per_hour(scenes, kind, threshold):
    hours = sum(s["duration_s"] for s in scenes) / 3600
    return sum(f["kind"] == kind and not f["true"] and f["confidence"] >= threshold
               for s in scenes for f in s["finds"]) / hours


def share_marked(scenes, kind, threshold):
    """Share of the time without sounds of a kind that finds of it claim."""
    other = sum(s["marked"][kind]["other_s"] for s in scenes)
    return sum(length for s in scenes for confidence, length in s["marked"][kind]["marks"]
               if confidence >= threshold) / other


def resampled(scenes, statistic, times=200, seed=1):
    """95 % interval of a statistic by the bootstrap over scenes [Efron & Tibshirani 1993]."""
    generator = np.random.default_rng(seed)
    values = []
    for _ in range(times):
        value = statistic([scenes[k] for k in generator.integers(0, len(scenes), len(scenes))])
        if value is not None:
            values.append(value)
    return tuple(np.quantile(values, [0.025, 0.975])) if values else (0.0, 1.0)


def wilson(hits, n, z=1.959963984540054):
    """95 % interval of a proportion [Wilson 1927]."""
    if n == 0:
        return 0.0, 1.0
    p = hits / n
    mid, half = p + z * z / 2 / n, z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n)
    return (mid - half) / (1 + z * z / n), (mid + half) / (1 + z * z / n)


def upper_rate(count, hours):
    """Upper 95 % limit of a Poisson rate [Garwood 1936], an hour."""
    return 0.5 * stats.chi2.ppf(0.95, 2 * (count + 1)) / hours


def reliability(scenes, kind, bins=10):
    """Rows (mean confidence, share true, count) of the finds of a kind, and the calibration error: the
    mean of |share - confidence| over finds."""
    pairs = np.array([(f["confidence"], f["true"]) for s in scenes for f in s["finds"] if f["kind"] == kind],
                     float).reshape(-1, 2)
    rows, error = [], 0.0
    for k in range(bins):
        pick = (pairs[:, 0] >= k / bins) & ((pairs[:, 0] < (k + 1) / bins) | (k == bins - 1))
        if pick.any():
            mean, share = pairs[pick].mean(axis=0)
            rows.append((mean, share, int(pick.sum())))
            error += pick.sum() / len(pairs) * abs(mean - share)
    return rows, error
