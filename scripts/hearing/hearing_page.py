# SPDX-License-Identifier: GPL-3.0-or-later
"""data/hearing.md and its curves, from a run of the bench."""
import numpy as np

import hearing_report
import score

WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 640, 400, 60, 20, 20, 50
LEAST_RATE, MOST_RATE = 0.3, 300.0
INKS = ("#1b4f8a", "#b3541e", "#2f7d4f", "#7a3b8f", "#666666")


def curve_of(scenes, kind):
    """(false finds an hour, recall of 6 dB and more), for rising rates."""
    points = []
    for rate in np.geomspace(LEAST_RATE, MOST_RATE, 40):
        threshold = score.threshold_at(scenes, kind, rate)
        hits, n = score.recall(scenes, kind, threshold, lambda s, r: r["snr_db"] >= 6)
        if n:
            points.append((rate, hits / n))
    return points


def svg_of(curves, title):
    """Recall against false finds an hour, a line for each detector, told apart by ink and dashes."""
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
        ink, dash = INKS[k % len(INKS)], f"{8 - 2 * (k % 4)} {2 * (k % 4)}"
        path = "M" + "L".join(f"{x(r):.1f} {y(v):.1f}" for r, v in points)
        parts.append(f'<path d="{path}" fill="none" stroke="{ink}" stroke-width="2" stroke-dasharray="{dash}"/>'
                     f'<text x="{LEFT + 10}" y="{TOP + 16 + 16 * k}" fill="{ink}">{name}</text>')
    parts.append(f'<text x="{(LEFT + WIDTH - RIGHT) / 2}" y="{HEIGHT - 12}" text-anchor="middle">'
                 "false finds an hour</text></svg>")
    return "\n".join(parts) + "\n"


def markdown(table):
    lines = ["| " + " | ".join(row) + " |" for row in table]
    lines.insert(1, "|" + "---|" * len(table[0]))
    return "\n".join(lines)


def write(folder, rows, arguments):
    text = ["# What lull hears", "",
            "> **A recording in which nothing is found does not show that nobody is there. These figures support,",
            "> and never replace, the judgement of qualified search personnel under local procedures; never end a",
            "> search because of them.**", "",
            f"Written by `scripts/evaluate {arguments}`. Scenes are made: recorded sounds and made ones of the report",
            "side, to which nothing was fitted, on several channels with people about. A site of yours is another.",
            "A sound is found when a find of its kind overlaps it; what is false overlaps no true sound of its kind.",
            "In brackets: 95 % by the bootstrap over scenes.", ""]
    names = {"tapping": "knocks", "voice-like": "voices"}
    for kind, name in names.items():
        curves = {}
        for label in hearing_report.labels_of(rows):
            scenes = hearing_report.judged(rows, label)
            if label.endswith("/all") and any(f["kind"] == kind for s in scenes for f in s["finds"]):
                curves[label.removesuffix("/all")] = curve_of(scenes, kind)
        title = f"Share of {name} of 6 dB and more found, against false finds an hour"
        (folder / f"hearing-{name}.svg").write_text(svg_of(curves, title), encoding="utf-8")
        text += [f"![{title}](hearing-{name}.svg)", ""]
    for heading, table in hearing_report.sections_of(rows):
        text += [f"## {heading}", "", markdown(table), ""]
    (folder / "hearing.md").write_text("\n".join(text).rstrip() + "\n", encoding="utf-8")
