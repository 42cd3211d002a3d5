# SPDX-License-Identifier: GPL-3.0-or-later
"""data/hearing.md and its curves, from a run of the bench."""
import numpy as np

import hearing_report
import rates
from hearing_cells import LOUD, NAMES

WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 640, 400, 60, 20, 20, 50
LEAST_RATE, MOST_RATE = 0.5, 300.0
INKS = ("#1b4f8a", "#b3541e", "#2f7d4f", "#7a3b8f", "#666666", "#a08000")
CAUTION = """> **A recording in which nothing is found does not show that nobody is there. These figures support,
> and never replace, the judgement of qualified search personnel under local procedures; never end a
> search because of them.**"""


def curve_of(tally):
    """(false finds an hour, recall of 6 dB and more), in order of rate."""
    loud, points = tally.mask(LOUD), []
    for rate in np.geomspace(LEAST_RATE, MOST_RATE, 60):
        hits, n = tally.recall(tally.threshold(rate), loud)
        if n:
            points.append((rate, hits / n))
    return points


def svg_of(curves, title):
    """Recall against false finds an hour, one line a detector, distinguished by shade and dashes."""
    def x(rate):
        span = np.log(MOST_RATE / LEAST_RATE)
        return LEFT + (WIDTH - LEFT - RIGHT) * np.log(rate / LEAST_RATE) / span

    def y(share):
        return TOP + (HEIGHT - TOP - BOTTOM) * (1 - share)

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
             f'aria-label="{title}" font-family="sans-serif" font-size="12">',
             f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>']
    for rate in (1, 3, 10, 30, 100):
        parts.append(f'<path d="M{x(rate):.1f} {TOP}V{HEIGHT - BOTTOM}" stroke="#ddd"/>'
                     f'<text x="{x(rate):.1f}" y="{HEIGHT - BOTTOM + 16}" text-anchor="middle">{rate}</text>')
    for share in (0, 0.25, 0.5, 0.75, 1):
        parts.append(f'<path d="M{LEFT} {y(share):.1f}H{WIDTH - RIGHT}" stroke="#ddd"/>'
                     f'<text x="{LEFT - 8}" y="{y(share) + 4:.1f}" text-anchor="end">{100 * share:.0f} %</text>')
    for k, (name, points) in enumerate(curves.items()):
        ink, dash = INKS[k % len(INKS)], "none" if k == 0 else f"{10 - 2 * (k % 4)} {1 + k % 4}"
        path = "M" + "L".join(f"{x(r):.1f} {y(v):.1f}" for r, v in points)
        at = TOP + 16 + 16 * k
        parts.append(f'<path d="{path}M{LEFT + 10} {at - 4}h28" fill="none" stroke="{ink}" stroke-width="2" '
                     f'stroke-dasharray="{dash}"/><text x="{LEFT + 44}" y="{at}" fill="{ink}">{name}</text>')
    parts.append(f'<text x="{(LEFT + WIDTH - RIGHT) / 2}" y="{HEIGHT - 12}" text-anchor="middle">'
                 "false finds an hour</text></svg>")
    return "\n".join(parts) + "\n"


def markdown(table):
    lines = ["| " + " | ".join(row) + " |" for row in table]
    lines.insert(1, "|" + "---|" * len(table[0]))
    return "\n".join(lines)


def write(folder, rows, arguments):
    most = max(scene["channels"] for scene in hearing_report.judged(rows, "lull/all"))
    text = ["# What lull hears", "", CAUTION, "",
            f"Written by `scripts/evaluate {arguments}`.",
            "Scenes are made: sounds that Debian packages carry and sounds made by code, of a side to which nothing",
            f"was fitted, on 1 to {most} channels with noise and people about. A site of yours is another. SNR is",
            "a sound's on its best channel, as the tables of lull have it.",
            "A sound is found when a find of its kind overlaps it; what is false overlaps no true sound of its kind;",
            "the team's own calls, knocks and speech are neither. At every false rate at most 1 % of other time is",
            "marked. Recall is in percent, in square brackets its 95 % by the bootstrap over scenes, in round ones of",
            "how many. The finds of the general detectors are single blows or stretches.", ""]
    for kind in ("tapping", "voice-like"):
        curves = {name: curve_of(tally) for name, tally in hearing_report.hears(rows, kind)}
        title = f"Share of {NAMES[kind]} of 6 dB and more found, against false finds an hour"
        (folder / f"hearing-{NAMES[kind]}.svg").write_text(svg_of(curves, title), encoding="utf-8")
        text += [f"![{title}](hearing-{NAMES[kind]}.svg)", ""]
    for heading, table in hearing_report.sections_of(rows):
        text += [f"## {heading}", "", markdown(table), ""]
    (folder / "hearing.md").write_text("\n".join(text).rstrip() + "\n", encoding="utf-8")
