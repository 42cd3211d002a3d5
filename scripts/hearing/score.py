# SPDX-License-Identifier: GPL-3.0-or-later
"""How hearing is counted: the one place for the bench, its tests and audibility.

A true sound is found by a find of its kind that overlaps it, with 0.15 s of grace; of a group of knocks
at one of its taps. A false find overlaps no true sound of its kind; what overlaps the team's own calls,
knocks and speech counts as neither. The share of other time that finds mark stands beside every figure.
"""
import bisect

from finds import KINDS

GRACE_S = 0.15
COUNTED = 0.5            # confidence from which a find counts in headlines
BEDS_OF_A_KIND = {"crowd": "voice-like"}  # bystanders are rightly heard as voices: neither found nor false
TAP_S = 0.1              # length of a tap in the truth, from its onset


def spans_of(sound):
    """The times at which a true sound can be found."""
    if sound["kind"] == "tapping" and sound.get("taps"):
        return [(tap, tap + TAP_S) for tap in sound["taps"]]
    return [(sound["onset_s"], sound["end_s"])]


class Spans:
    """Spans of time that can be searched for overlaps."""

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
    """Seconds of the marks that lie outside the spans."""
    total, spans = 0.0, merged(spans)
    for a, b in merged(marks):
        total += b - a - sum(max(0.0, min(b, d) - max(a, c)) for c, d in spans)
    return total


def cause_of(find, truth):
    """The cause of a false find: the loudest confuser that it overlaps, else a sound of another kind,
    else the loudest bed."""
    over = [c for c in truth["confusers"]
            if Spans(confuser_spans(c)).overlap_any(find.marks)]
    if over:
        return max(over, key=lambda c: c["snr_db"] if c["snr_db"] is not None else -99.0)["cause"]
    for sound in truth["sounds"]:
        if Spans(spans_of(sound)).overlap_any(find.marks):
            return {"tapping": "knocks", "voice-like": "calls"}.get(sound["kind"], sound["kind"])
    beds = [b for b in truth["beds"] if Spans([(b["from_s"], b["to_s"])]).overlap_any(find.marks)]
    return max(beds, key=lambda b: b["over_self_noise_db"])["cause"] if beds else "self-noise"


def confuser_spans(confuser):
    """Each part of a confuser: a step, a blow, a sentence."""
    return list(zip(confuser["times"], confuser["ends"]))


def loudest(sound, channels):
    """(name, its row) of the loudest channel that hears a sound, or (None, None)."""
    by = {name: row for name, row in sound["by_channel"].items() if name in channels}
    best = max(by, key=lambda name: by[name]["snr_db"], default=None)
    return best, by.get(best)


def judged_sound(sound, finds, channels, microphones):
    """Confidence of the best find of a sound (0 without one), with its channel and time."""
    strongest, heard = loudest(sound, channels)
    spans = Spans(spans_of(sound))
    mine = [f for f in finds if f.kind == sound["kind"] and spans.overlap_any(f.marks)]
    best = max(mine, key=lambda f: f.confidence, default=None)
    first = min((a for f in mine for a, _ in f.marks), key=lambda a: abs(a - sound["onset_s"]), default=None)
    return {"group": sound["group"], "kind": sound["kind"], "of": sound["of"],
            "recorded": sound["source"].startswith("clip:"), "by_air": strongest in microphones,
            "snr_db": sound["target_snr_db"],
            "heard_snr_db": heard["snr_db"] if heard else None,
            "taps": len(sound.get("taps") or []), "interval_s": sound.get("interval_s"),
            "state": sound["state"], "confidence": best.confidence if best else 0.0,
            "channel_right": (best.channel == strongest) if best else None,
            "onset_error_s": first - sound["onset_s"] if first is not None else None}


def judged_finds(truth, finds, kind):
    """Rows of the finds of a kind that are true or false, and how much other time each of all marks."""
    sounds = [sound for sound in truth["sounds"] if sound["kind"] == kind]
    true = Spans([span for sound in sounds for span in spans_of(sound)])
    neither = Spans([(h["from_s"], h["to_s"]) for h in truth["hails"] if h["kind"] == kind] +
                    [span for c in truth["confusers"] if kind in c["neither_for"]
                     for span in confuser_spans(c)] +
                    [(b["from_s"], b["to_s"]) for b in truth["beds"] if kind == BEDS_OF_A_KIND.get(b["cause"])])
    taken = merged([(s["onset_s"], s["end_s"]) for s in sounds] + neither.spans)
    rows, marks = [], []
    for find in (f for f in finds if f.kind == kind):
        marks.append([find.confidence, length_outside(find.marks, taken)])
        is_true = true.overlap_any(find.marks)
        if is_true or not neither.overlap_any(find.marks):
            rows.append({"kind": kind, "confidence": find.confidence, "true": is_true,
                         "marks": len(find.marks), "from_s": find.marks[0][0],
                         "cause": None if is_true else cause_of(find, truth)})
    return rows, {"other_s": truth["duration_s"] - sum(b - a for a, b in taken), "marks": marks}


def judge(truth, finds, channels=None):
    """A scene's finds against its truth: plain values, ready for JSON.

    channels: names of those that were analysed (None: all); a sound's strongest channel and the SNR it is
    heard with are then those of the loudest analysed one."""
    heard = [c["name"] for c in truth["channels"] if channels is None or c["name"] in channels]
    microphones = {c["name"] for c in truth["channels"] if c["kind"] == "air"}
    rows, marked = [], {}
    for kind in KINDS:
        of_kind, marked[kind] = judged_finds(truth, finds, kind)
        rows += of_kind
    return {"side": truth["side"], "ground": truth["ground"], "seed": truth["seed"],
            "rate_hz": truth["rate_hz"], "structure": truth["structure"], "channels": len(heard),
            "duration_s": truth["duration_s"],
            "happenings": len(truth["sounds"]) + len(truth["confusers"]),
            "sounds": [judged_sound(sound, finds, heard, microphones) for sound in truth["sounds"]],
            "finds": rows, "marked": marked}
