# SPDX-License-Identifier: GPL-3.0-or-later
"""Prints what an evaluation found."""
import numpy as np

import detect_weights
import score

KINDS = ("tapping", "voice-like", "horn")
STEADY = ("white", "pink", "brown", "generator", "quiet")
LOOK_ALIKES = ("drips", "clock", "footsteps", "hand-tools", "breaker", "doors", "machine")


def sure(rows, kind=None, least=score.COUNTED):
    return [r for r in rows if r["confidence"] >= least and kind in (None, r["kind"])]


def false_counts(rows, least=score.COUNTED):
    """{kind: count} over scenes with nothing in them, series too."""
    counts = {k: sum(len(sure(r["events"], k, least)) for r in rows) for k in KINDS}
    counts["series"] = sum(s["confidence"] >= least for r in rows for s in r["series"])
    return counts


def hours_of(rows):
    return sum(r["job"]["seconds"] for r in rows) / 3600


def false_table(rows):
    """Prints a line a site type; returns the tapping events an hour, averaged over site types."""
    print("false an hour [upper 95 % limit]:   tapping        series       voice-like    horn")
    nothing = [r for r in rows if r["job"]["what"] == "nothing"]
    sites = list(dict.fromkeys(r["job"]["site"] for r in nothing))
    for site in sites + ["all"]:
        mine = [r for r in nothing if site in ("all", r["job"]["site"])]
        hours, counts = hours_of(mine), false_counts(mine)
        cells = [f"{counts[k] / hours:6.1f} [{score.upper_rate(counts[k], hours):5.1f}]"
                 for k in ("tapping", "series", "voice-like", "horn")]
        print(f"  {site:12s} {hours:6.2f} h   " + "  ".join(cells))
    marked = sum(min(e["end_s"], r["job"]["seconds"]) - e["onset_s"]
                 for r in nothing for e in sure(r["events"], "voice-like"))
    print(f"  of time without voices marked voice-like: {marked / 36 / hours_of(nothing):.2f} %")
    return nothing


def textbook_threshold(nothing, count):
    ratios = sorted((r for row in nothing for _, r in row["textbook"]), reverse=True)
    return ratios[min(count, len(ratios) - 1)] if ratios else np.inf


def curve(rows, what, kind, snrs, threshold):
    print(f"{what}: share found against SNR [95 % interval], calm sites apart"
          + ("; textbook detector at equal false alarms" if kind == "tapping" else ""))
    for snr in snrs:
        mine = [(t, r) for r in rows for t in r["truth"]
                if r["job"]["what"] == what and r["job"]["snr"] == snr]
        if not mine:
            continue
        line = f"  {snr:3d} dB "
        for pick in (mine, [m for m in mine if m[1]["job"]["site"] in STEADY]):
            hits = sum(score.found(t, r["events"], kind) is not None for t, r in pick)
            low, high = score.wilson(hits, len(pick))
            line += f"  {hits}/{len(pick)} = {hits / max(1, len(pick)):.3f} [{low:.3f}-{high:.3f}]"
        if kind == "tapping":
            base = sum(any(v > threshold and min(abs(at - s) for s in t["taps"]) <= score.COLLAR_S
                           for at, v in r["textbook"]) for t, r in mine)
            line += f"  textbook {base / len(mine):.3f}"
        print(line)


def trade(rows):
    """What is found against what is false, when counting begins at other confidences."""
    print("counted from: false an hour; share found")
    nothing = [r for r in rows if r["job"]["what"] == "nothing"]
    for least in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        line = f"  {least:.1f} "
        counts = false_counts(nothing, least)
        for kind in ("tapping", "series", "voice-like"):
            line += f"  {kind} {counts[kind] / hours_of(nothing):.1f}"
        for what, kind, snr in (("knocks", "tapping", 10), ("knocks", "tapping", 6),
                                ("knocks", "tapping", 3), ("voices", "voice-like", 5)):
            hits = [score.found(t, r["events"], kind, least) is not None for r in rows
                    if r["job"]["what"] == what and r["job"]["snr"] == snr for t in r["truth"]]
            line += f"  {what} {snr} dB {np.mean(hits):.2f}" if hits else ""
        print(line)


def voice_time(rows, snrs):
    """Share of voice time, and of other time, that each of the two marks."""
    def covered(spans, from_s, to_s):
        return sum(max(0.0, min(b, to_s) - max(a, from_s)) for a, b in spans)

    def ours(r):
        return [(e["onset_s"], e["end_s"]) for e in sure(r["events"], "voice-like")]

    nothing = [r for r in rows if r["job"]["what"] == "nothing"]
    total = max(1e-9, sum(r["job"]["seconds"] for r in nothing))
    both = (("lull", ours), ("general voice detector", lambda r: r.get("voice_marked", [])))
    for name, spans in both:
        line = f"voice time marked by {name}:"
        for snr in snrs:
            mine = [(t, r) for r in rows for t in r["truth"]
                    if r["job"]["what"] == "voices" and r["job"]["snr"] == snr]
            time = sum(t["end_s"] - t["from_s"] for t, _ in mine)
            if time:
                share = sum(covered(spans(r), t["from_s"], t["end_s"]) for t, r in mine) / time
                line += f"  {snr} dB {100 * share:.0f} %"
        false = sum(covered(spans(r), 0, r["job"]["seconds"]) for r in nothing) / total
        print(line + f"; of other time {100 * false:.1f} %")


def by_site(rows, what, kind, snrs):
    print(f"{what} at {'/'.join(map(str, snrs))} dB by site type:")
    for site in dict.fromkeys(r["job"]["site"] for r in rows):
        mine = [(t, r) for r in rows for t in r["truth"] if r["job"]["what"] == what
                and r["job"]["snr"] in snrs and r["job"]["site"] == site]
        hits = sum(score.found(t, r["events"], kind) is not None for t, r in mine)
        if mine:
            print(f"  {site:12s} {hits}/{len(mine)} = {hits / len(mine):.2f}")


def onsets(rows):
    errors = []
    for r in rows:
        for t in r["truth"]:
            for tap in t["taps"]:
                near = [abs(e["onset_s"] - tap) for e in sure(r["events"], "tapping")
                        if abs(e["onset_s"] - tap) < 0.05]
                errors += [min(near)] if near else []
    if errors:
        print(f"onset of knocks: median error {1e3 * np.median(errors):.2f} ms, 90 % within "
              f"{1e3 * np.quantile(errors, 0.9):.1f} ms, of {len(errors)}")


def f_scores(rows, snrs, what, count):
    print(f"{what}: precision, recall, F against SNR")
    for snr in snrs:
        mine = [count(r["truth"], r["events"]) for r in rows
                if r["job"]["what"] == what.split()[0].rstrip(",") and r["job"]["snr"] == snr]
        hits, false, missed = (sum(c) for c in zip(*mine)) if mine else (0, 0, 0)
        if hits + missed:
            print(f"  {snr:3d} dB  {hits / max(1, hits + false):.3f}  {hits / (hits + missed):.3f}  "
                  f"{2 * hits / (2 * hits + false + missed):.3f}")


def confusion(rows):
    """Of each true event at 5 dB and more: what the strongest sure event in it was called."""
    print("called (rows: true kind, 5 dB and more):  " + "  ".join(KINDS) + "  other  nothing")
    for kind in ("tapping", "voice-like"):
        calls = dict.fromkeys((*KINDS, "other", "nothing"), 0)
        for r in rows:
            for t in r["truth"]:
                if t["kind"] != kind or (t["snr"] or 0) < 5:
                    continue
                inside = [e for e in sure(r["events"])
                          if t["from_s"] - 0.2 <= e["onset_s"] <= t["end_s"] + 0.2]
                best = max(inside, key=lambda e: e["confidence"], default=None)
                calls[best["kind"] if best else "nothing"] += 1
        total = max(1, sum(calls.values()))
        print(f"  {kind:12s} " + "  ".join(f"{v / total:.3f}" for v in calls.values()))
    for site in LOOK_ALIKES:
        pairs = [(t, r) for r in rows for t in r["alike"]
                 if r["job"]["site"] == site and r["job"]["what"] == "nothing"]
        called = sum(any(abs(e["onset_s"] - t) < 0.1 for e in sure(r["events"], "tapping"))
                     for t, r in pairs)
        if pairs:
            print(f"  {site:12s} called tapping: {called}/{len(pairs)} = {called / len(pairs):.3f}")


def rarity(rows, kind):
    """How much more of the fit's time than of these scenes' goes by without such sounds, against
    time with them: scenes of one kind come oftener here than there."""
    what = {"tapping": "knocks", "voice-like": "voices"}[kind]
    fit = detect_weights.WHAT
    fit_odds = (len(fit) - fit.count(what)) / fit.count(what)
    mine = hours_of([r for r in rows if r["job"]["what"] == what])
    return fit_odds / ((hours_of(rows) - mine) / mine) if 0 < mine < hours_of(rows) else 1.0


def calibration(rows):
    """Under the prior of the fit: other scenes are as frequent as there."""
    for kind in ("tapping", "voice-like"):
        pairs, others = [], rarity(rows, kind)
        for r in rows:
            own = r["job"]["what"] == {"tapping": "knocks", "voice-like": "voices"}[kind]
            for e in r["events"]:
                if e["kind"] != kind:
                    continue
                true = score.is_true(e, r["truth"])
                pairs.append((e["confidence"], true, 1.0 if true or own else others))
        if not pairs:
            continue
        table, error = score.reliability(pairs)
        as_made = score.reliability([(c, y, 1.0) for c, y, _ in pairs])[1]
        print(f"reliability of {kind} (confidence: share true, events), other scenes as "
              f"frequent as in the fit; calibration error {error:.3f}, as the scenes are {as_made:.3f}\n  "
              + "  ".join(f"{c:.2f}: {s:.2f} ({n})" for c, s, n in table))


def everything(rows, snrs):
    for made in dict.fromkeys(r["job"]["set"] for r in rows):
        mine = [r for r in rows if r["job"]["set"] == made]
        print(f"=== {made} scenes: {len(mine)}, {hours_of(mine):.1f} h")
        nothing = false_table(mine)
        threshold = textbook_threshold(nothing, false_counts(nothing)["tapping"])
        curve(mine, "knocks", "tapping", snrs, threshold)
        by_site(mine, "knocks", "tapping", (6, 10))
        f_scores(mine, snrs, "knocks one by one, collar 200 ms", score.tap_counts)
        onsets(mine)
        curve(mine, "voices", "voice-like", snrs, threshold)
        if made != "real":
            f_scores(mine, snrs, "voices, collar 1 s", score.voice_counts)
            by_site(mine, "voices", "voice-like", (5, 6))
            voice_time(mine, snrs)
        trade(mine)
        confusion(mine)
        calibration(mine)
