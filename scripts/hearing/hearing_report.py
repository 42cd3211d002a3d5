# SPDX-License-Identifier: GPL-3.0-or-later
"""Tables of a run of the bench: recall at fixed false rates by cell, false finds by cause, the ledger."""
from collections import Counter

import rates
import score
from finds import KINDS
from hearing_cells import CELLS, CROWDING, LOUD, NAMES, SNRS, TAP_CELLS, nearest_snr

OWN = ("lull", "last release")
MANY = 5  # scenes with so many channels also show what fewer would have heard


def judged(rows, label):
    return [row["judged"][label] for row in rows if label in row["judged"]]


def labels_of(rows):
    return list(dict.fromkeys(label for row in rows for label in row["judged"]))


def hours(scenes):
    return sum(s["duration_s"] for s in scenes) / 3600


def percent(hits, n):
    return f"{100 * hits / n:.0f}" if n else "-"


def cell(share, low, high, of):
    return f"{100 * share:.0f} [{100 * low:.0f}-{100 * high:.0f}] ({of})" if of else "-"


def is_own(label):
    return label.split("/")[0] in OWN


def hears(rows, kind):
    """Labels of the detectors for a kind, over all channels, with their tallies."""
    for label in labels_of(rows):
        scenes = judged(rows, label)
        if label.endswith("/all") and (is_own(label) or any(f["kind"] == kind for s in scenes
                                                            for f in s["finds"])):
            yield label.removesuffix("/all"), rates.Tally(scenes, kind)


def detectors_table(rows, kind):
    """Each detector at the same false rates: recall from 6 dB on."""
    table = [["detector", *[f"at {n} false an hour" for n in rates.FALSE_PER_HOUR], "hours of sound"]]
    for name, tally in hears(rows, kind):
        loud = tally.mask(LOUD)
        table.append([name, *[cell(*rates.recall_at(tally, n, loud)) for n in rates.FALSE_PER_HOUR],
                      f"{tally.hours.sum():.1f}"])
    return table


def counted_table(rows):
    """lull at the confidence from which headlines count finds."""
    table = [["build", "kind", *[f"{snr} dB" for snr in (6, 10, 15)], "6 dB and more", "false an hour",
              "false runs an hour", "other time marked"]]
    for kind in KINDS:
        for name, tally in hears(rows, kind):
            if not is_own(name):
                continue
            picks = [lambda s, r, snr=snr: nearest_snr(r["snr_db"]) == snr for snr in (6, 10, 15)] + [LOUD]
            cells = [cell(*rates.recall_from(tally, score.COUNTED, tally.mask(pick))) for pick in picks]
            runs = sum(f["kind"] == kind and not f["true"] and f["confidence"] >= score.COUNTED
                       and f["marks"] > 1 for s in tally.scenes for f in s["finds"])
            table.append([name, NAMES[kind], *cells, f"{tally.false_per_hour(score.COUNTED):.1f}",
                          f"{runs / hours(tally.scenes):.1f}" if kind == "tapping" else "",
                          f"{100 * tally.share_marked(score.COUNTED):.2f} %"])
    return table


def paired_table(rows, per_hour):
    """The build's gain over the last release."""
    table = [["kind", f"recall of 6 dB and more at {per_hour} false an hour, against the last release"]]
    for kind in KINDS:
        ours, last = (rates.Tally(judged(rows, f"{name}/all"), kind) for name in OWN)
        gain, low, high = rates.gained(ours, last, per_hour, LOUD)
        table.append([NAMES[kind], f"{100 * (gain or 0):+.0f} [{100 * low:+.0f} to {100 * high:+.0f}]"])
    return table


def snr_table(tally):
    """Recall by SNR, at each false rate and at the counted confidence."""
    table = [["SNR", *[f"at {n} an hour" for n in rates.FALSE_PER_HOUR], "at 0.5"]]
    for snr in SNRS:
        mask = tally.mask(lambda s, r, snr=snr: nearest_snr(r["snr_db"]) == snr)
        table.append([f"{snr} dB", *[cell(*rates.recall_at(tally, n, mask)) for n in rates.FALSE_PER_HOUR],
                      cell(*rates.recall_from(tally, score.COUNTED, mask))])
    return table


def cells_table(tally, cells, per_hour):
    """Recall of 6 dB and more by a sound's surroundings and kind."""
    table = [["sounds", f"at {per_hour} an hour", "at 0.5"]]
    for name, pick in cells.items():
        mask = tally.mask(lambda s, r, pick=pick: LOUD(s, r) and pick(s, r))
        if mask.any():
            table.append([name, cell(*rates.recall_at(tally, per_hour, mask)),
                          cell(*rates.recall_from(tally, score.COUNTED, mask))])
    return table


def channels_table(rows, label="lull"):
    """The same scenes with fewer channels; SNR on the best of those channels."""
    rows = [row for row in rows if row["judged"][f"{label}/all"]["channels"] >= MANY]
    table = [["channels", "kind", "heard at 6 dB", "at 10 dB", "at 15 dB", "false an hour"]]
    if not rows:
        return table
    for subset in ("1", "3", "all"):
        for kind in ("tapping", "voice-like"):
            tally = rates.Tally(judged(rows, f"{label}/{subset}"), kind)
            cells = [cell(*rates.recall_from(tally, score.COUNTED, tally.mask(
                lambda s, r, snr=snr: r["heard_snr_db"] is not None and nearest_snr(
                    r["heard_snr_db"]) == snr))) for snr in (6, 10, 15)]
            table.append([subset, NAMES[kind], *cells, f"{tally.false_per_hour(score.COUNTED):.1f}"])
    return table


def causes_table(scenes):
    """False finds an hour at 0.5, by cause."""
    table = [["cause", *[NAMES[kind] for kind in KINDS]]]
    counts = {kind: Counter(f["cause"] for s in scenes for f in s["finds"] if f["kind"] == kind
                            and not f["true"] and f["confidence"] >= score.COUNTED) for kind in KINDS}
    causes = sorted(set().union(*counts.values()), key=lambda c: (-sum(counts[k][c] for k in KINDS), c))
    return table + [[cause, *[f"{counts[k][cause] / hours(scenes):.1f}" for k in KINDS]]
                    for cause in causes]


def ledger_table(rows, label="lull"):
    lost = Counter((row["kind"], row["stage"]) for scene in rows for row in scene["ledger"].get(label, [])
                   if row["snr_db"] >= 3)
    of = Counter(r["kind"] for s in judged(rows, f"{label}/all") for r in s["sounds"] if r["snr_db"] >= 3)
    return [["kind", "stage that lost it", "sounds lost", "of all of the kind"]] + \
        [[NAMES[kind], stage, str(count), f"{percent(count, of[kind])} %"]
         for (kind, stage), count in lost.most_common()]


def more_table(scenes):
    """Single figures: strongest channel, onset, calibration by crowding and channels."""
    found = [(s, r) for s in scenes for r in s["sounds"] if r["confidence"] >= score.COUNTED]
    right = [r["channel_right"] for s, r in found if r["snr_db"] >= 6 and s["channels"] > 1]
    onset = sorted(abs(r["onset_error_s"]) for _, r in found if r["kind"] == "tapping")
    table = [["figure", "value"],
             ["strongest channel right, 6 dB and more", f"{percent(sum(right), len(right))} % of {len(right)}"],
             ["onset error of a group, median", f"{1e3 * onset[len(onset) // 2]:.1f} ms" if onset else "-"]]
    for kind in ("tapping", "voice-like"):
        for name, pick in CROWDING.items():
            some = [s for s in scenes if pick(s)]
            listed, error = rates.reliability(some, kind)
            if listed:
                table.append([f"calibration error, {NAMES[kind]}, {name}",
                              f"{error:.2f} of {sum(n for _, _, n in listed)} finds"])
    return table


def sections_of(rows):
    """(heading, table) of everything that a run shows."""
    scenes = judged(rows, "lull/all")
    yield f"{len(scenes)} scenes, {hours(scenes):.1f} h; at confidence 0.5", counted_table(rows)
    for kind in ("tapping", "voice-like"):
        yield f"{NAMES[kind].capitalize()} of 6 dB and more, each detector at the same false rates", \
            detectors_table(rows, kind)
    if "last release/all" in labels_of(rows):
        yield "Paired with the last release", paired_table(rows, 3)
    for kind, cells in (("tapping", {**CELLS, **TAP_CELLS}), ("voice-like", CELLS)):
        tally = rates.Tally(scenes, kind)
        yield f"{NAMES[kind].capitalize()} by SNR", snr_table(tally)
        yield f"{NAMES[kind].capitalize()} of 6 dB and more by what they were", cells_table(tally, cells, 3)
    yield f"With fewer channels, at 0.5, in scenes of {MANY} and more", channels_table(rows)
    yield "False finds an hour at 0.5, by cause", causes_table(scenes)
    yield "Where sounds of 3 dB and more were lost", ledger_table(rows)
    yield "More", more_table(scenes)


def plain(table):
    widths = [max(len(row[k]) for row in table) for k in range(len(table[0]))]
    return "\n".join("  ".join(value.ljust(width) for value, width in zip(row, widths)).rstrip()
                     for row in table)


def text_of(rows):
    return "\n\n".join(f"{heading}\n{plain(table)}" for heading, table in sections_of(rows))
