# SPDX-License-Identifier: GPL-3.0-or-later
"""The loss ledger: which stage of detection lost each missed sound."""
from score import COUNTED, GRACE_S, Spans, length_outside, spans_of

STAGES = ("no candidate", "joined wrongly", "hidden by a lasting sound", "taken for the team's", "wrong kind",
          "not in a run", "run spoilt", "judged under 0.5")
MOSTLY = 0.5  # share of a run's taps that must belong to the sound
COVERED = 0.2  # share of a lasting sound that events must cover to be candidates for it


def near(spans, items, key="onset_s"):
    return [item for item in items if spans.overlap(item[key], item[key])]


def stage_of_loss(sound, heard):
    """The stage that lost a sound, or None when it was found. `heard`: finds.Heard."""
    spans = Spans(spans_of(sound))
    mine = [f for f in heard.finds if f.kind == sound["kind"] and spans.overlap_any(f.marks)]
    if any(f.confidence >= COUNTED for f in mine):
        return None
    return tapping_loss(sound, spans, heard) if sound["kind"] == "tapping" else lasting_loss(
        sound, spans, heard, mine)


def lasting_loss(sound, spans, heard, mine):
    over = [e for e in heard.events if spans.overlap(e["onset_s"], e["end_s"], grace=0.0)]
    length = sound["end_s"] - sound["onset_s"]
    whole = [(sound["onset_s"], sound["end_s"])]
    covered = length - length_outside(whole, [(e["onset_s"], e["end_s"]) for e in over])
    if covered < COVERED * length:
        return "no candidate"
    if any(e["hail"] and e["kind"] == sound["kind"] for e in over):
        return "taken for the team's"
    return "judged under 0.5" if mine else "wrong kind"


def tapping_loss(sound, spans, heard):
    at_taps = near(spans, heard.events)
    if not at_taps:
        if near(spans, heard.arrivals):
            return "joined wrongly"
        lasting = [e for e in heard.events if e["kind"] != "tapping" and e["onset_s"] < sound["end_s"]
                   and e["end_s"] > sound["onset_s"] + GRACE_S]
        return "hidden by a lasting sound" if lasting else "no candidate"
    taps = [e for e in at_taps if e["kind"] == "tapping"]
    if not taps:
        return "wrong kind"
    if any(e["hail"] for e in taps):
        return "taken for the team's"
    runs = {e["series"] for e in taps if e["series"] is not None}
    if not runs:
        return "not in a run" if len(sound["taps"]) > 1 else "judged under 0.5"
    for run in runs:
        members = [e for e in heard.events if e["series"] == run]
        if len(near(spans, members)) >= MOSTLY * len(members):
            return "judged under 0.5"
    return "run spoilt"


def ledger(truth, heard):
    """Rows (kind, of, target SNR, stage) of a scene's missed sounds."""
    return [{"kind": s["kind"], "of": s["of"], "snr_db": s["target_snr_db"], "stage": stage}
            for s in truth["sounds"] if (stage := stage_of_loss(s, heard))]
