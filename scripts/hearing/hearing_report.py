# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures of a run of the bench: recall at fixed false rates by cell, false finds by cause, the ledger."""
from collections import Counter

import score
from finds import KINDS

SNRS = (-6, -3, 0, 3, 6, 10, 15, 20)
QUIET_GROUNDS = ("calm",)
CELLS = {
    "all": lambda s, r: True,
    "calm ground": lambda s, r: s["ground"] in QUIET_GROUNDS,
    "people about": lambda s, r: s["ground"] in ("walking", "handling", "digging", "people", "mixed"),
    "machines": lambda s, r: s["ground"] in ("engine", "generator", "pump", "saw", "breaker", "rotor"),
    "weather, traffic, crowd": lambda s, r: s["ground"] in ("rain", "wind", "traffic", "crowd"),
    "in ordered quiet": lambda s, r: r["state"] == "quiet",
    "during work": lambda s, r: r["state"] == "work",
    "1 and 2 channels": lambda s, r: s["channels"] <= 2,
    "3 channels and more": lambda s, r: s["channels"] >= 3,
}
TAP_CELLS = {
    "one blow": lambda s, r: r["taps"] == 1,
    "2 to 6 taps": lambda s, r: 2 <= r["taps"] <= 6,
    "7 to 20 taps": lambda s, r: 7 <= r["taps"] <= 20,
    "more than 20 taps": lambda s, r: r["taps"] > 20,
    "under 0.3 s apart": lambda s, r: r["interval_s"] is not None and r["interval_s"] < 0.3,
    "0.3 to 1 s apart": lambda s, r: r["interval_s"] is not None and 0.3 <= r["interval_s"] < 1,
    "1 to 6 s apart": lambda s, r: r["interval_s"] is not None and r["interval_s"] >= 1,
}


def judged(rows, label):
    return [row["judged"][label] for row in rows if label in row["judged"]]


def labels_of(rows):
    return list(dict.fromkeys(label for row in rows for label in row["judged"]))


def hours(scenes):
    return sum(s["duration_s"] for s in scenes) / 3600


def percent(hits, n):
    return f"{100 * hits / n:.0f}" if n else "-"


def by_snr(scenes, kind, threshold, pick):
    """Cells of recall in percent, one an SNR, with how many sounds stand behind it."""
    cells = []
    for snr in SNRS:
        hits, n = score.recall(scenes, kind, threshold, lambda s, r: r["snr_db"] == snr and pick(s, r))
        cells.append(f"{percent(hits, n)} ({n})" if n else "-")
    return cells


def recall_table(scenes, kind, threshold, cells):
    table = [["sounds", *[f"{snr} dB" for snr in SNRS]]]
    return table + [[name, *by_snr(scenes, kind, threshold, pick)] for name, pick in cells.items()]


def rates_table(rows, kind):
    """Each detector at the same false rates: recall from 6 dB on."""
    table = [["detector", *[f"at {n} false an hour" for n in score.FALSE_PER_HOUR],
              "false an hour at 0.5", "recall at 0.5", "other time marked at 0.5"]]
    loud = lambda s, r: r["snr_db"] >= 6  # noqa: E731
    for label in labels_of(rows):
        scenes = judged(rows, label)
        if not any(f["kind"] == kind for s in scenes for f in s["finds"]):
            continue
        cells = []
        for per_hour in score.FALSE_PER_HOUR:
            def statistic(some, per_hour=per_hour):
                hits, n = score.recall(some, kind, score.threshold_at(some, kind, per_hour), loud)
                return hits / n if n else None
            low, high = score.resampled(scenes, statistic)
            cells.append(f"{100 * (statistic(scenes) or 0):.0f} [{100 * low:.0f}-{100 * high:.0f}]")
        own = label.startswith(("lull/", "last release/"))
        hits, n = score.recall(scenes, kind, score.COUNTED, loud)
        table.append([label, *cells,
                      f"{score.false_per_hour(scenes, kind, score.COUNTED):.1f}" if own else "",
                      f"{percent(hits, n)} ({n})" if own else "",
                      f"{100 * score.share_marked(scenes, kind, score.COUNTED):.2f} %" if own else ""])
    return table


def causes_table(scenes):
    """False finds an hour at 0.5, by cause."""
    table = [["cause", *KINDS]]
    counts = {kind: Counter(f["cause"] for s in scenes for f in s["finds"] if f["kind"] == kind
                            and not f["true"] and f["confidence"] >= score.COUNTED) for kind in KINDS}
    causes = sorted(set().union(*counts.values()), key=lambda c: -sum(counts[k][c] for k in KINDS))
    return table + [[cause, *[f"{counts[k][cause] / hours(scenes):.1f}" for k in KINDS]]
                    for cause in causes]


def ledger_table(rows, label):
    lost = Counter((row["kind"], row["stage"]) for scene in rows for row in scene["ledger"].get(label, [])
                   if row["snr_db"] >= 3)
    return [["kind", "stage that lost it", "sounds of 3 dB and more"]] + \
        [[kind, stage, str(count)] for (kind, stage), count in lost.most_common()]


def more_of(scenes):
    """Single figures: strongest channel, onset."""
    right = [r["channel_right"] for s in scenes for r in s["sounds"]
             if r["channel_right"] is not None and r["confidence"] >= score.COUNTED and r["snr_db"] >= 6
             and s["channels"] > 1]
    onset = sorted(abs(r["onset_error_s"]) for s in scenes for r in s["sounds"]
                   if r["kind"] == "tapping" and r["confidence"] >= score.COUNTED
                   and r["onset_error_s"] is not None)
    table = [["figure", "value"],
             ["strongest channel right, 6 dB and more", f"{percent(sum(right), len(right))} % of {len(right)}"],
             ["onset error of a group, median", f"{1e3 * onset[len(onset) // 2]:.1f} ms" if onset else "-"]]
    for kind in KINDS:
        for name, low, high in (("one channel", 1, 1), ("2 to 4 channels", 2, 4), ("5 and more", 5, 99)):
            some = [s for s in scenes if low <= s["channels"] <= high]
            if some:
                _, error = score.reliability(some, kind)
                table.append([f"calibration error, {kind}, {name}", f"{error:.2f}"])
    return table


def sections_of(rows):
    """(heading, table) of everything a run shows."""
    label = "lull/all"
    scenes = judged(rows, label)
    yield (f"{len(scenes)} scenes, {hours(scenes):.1f} h; recall of 6 dB and more at equal false rates: knocks",
           rates_table(rows, "tapping"))
    yield "The same: calls, cries, speech", rates_table(rows, "voice-like")
    for kind, name, cells in (("tapping", "Groups of knocks", {**CELLS, **TAP_CELLS}),
                              ("voice-like", "Voices", CELLS)):
        for per_hour in score.FALSE_PER_HOUR:
            threshold = score.threshold_at(scenes, kind, per_hour)
            yield (f"{name}: found in percent (of how many) at {per_hour} false an hour "
                   f"(confidence {threshold:.2f} and more)", recall_table(scenes, kind, threshold, cells))
        yield f"{name}: at confidence 0.5", recall_table(scenes, kind, score.COUNTED, cells)
    yield "False finds an hour at 0.5, by cause", causes_table(scenes)
    yield "Where sounds of 3 dB and more were lost", ledger_table(rows, "lull")
    yield "More", more_of(scenes)


def plain(table):
    widths = [max(len(row[k]) for row in table) for k in range(len(table[0]))]
    return "\n".join("  ".join(cell.ljust(width) for cell, width in zip(row, widths)).rstrip()
                     for row in table)


def text_of(rows):
    return "\n\n".join(f"{heading}\n{plain(table)}" for heading, table in sections_of(rows))
