# SPDX-License-Identifier: GPL-3.0-or-later
"""Alternating work and ordered quiet: horn signals, the team's hails in the quiet, and its log."""
import numpy as np

from happening import Happening, Part
from people import near, somewhere
from shaping import log_uniform, unit_power


def draw_periods(rng, duration_s):
    """Periods in order that cover everything. A third of the scenes has only work or only quiet."""
    at = rng.random()
    if at < 0.35:
        state = "quiet" if at < 0.2 else "work"
        return [{"state": state, "from_s": 0.0, "to_s": duration_s}]
    periods, start, state = [], 0.0, str(rng.choice(["work", "quiet"]))
    while start < duration_s:
        stay = log_uniform(rng, 30, 150) if state == "quiet" else log_uniform(rng, 20, 120)
        end = round(min(duration_s, start + stay), 1)
        if duration_s - end < 15:
            end = duration_s
        periods.append({"state": state, "from_s": start, "to_s": end})
        start, state = end, "work" if state == "quiet" else "quiet"
    return periods


def horn_signals(rng, site, makers, periods):
    """One long blast before quiet, one long and one short before work."""
    place, found = somewhere(rng, site, 25), []
    snr_db = float(round(rng.uniform(10, 30), 1))
    for period in periods:
        at = period["from_s"] + 0.5
        long = makers.horn(rng, site.rate, rng.uniform(2.2, 6.0))
        blasts = [(at, long)]
        if period["state"] == "work":
            blasts.append((at + len(long) / site.rate + rng.uniform(0.3, 1.0),
                           makers.horn(rng, site.rate, rng.uniform(0.7, 1.2))))
        last, wave = blasts[-1]
        if period["from_s"] > 0 and last + len(wave) / site.rate < site.duration_s - 1:
            parts = [Part(t, w, place, "air") for t, w in blasts]
            found.append(Happening("target", "horn-signal", "horn", snr_db, parts, lasting=True))
    return found


def hails(rng, site, makers, library, period, logged):
    """The team calls, or knocks on the structure, in a quiet period, once or a few times."""
    place = near(rng, site, 1.5)
    speaker, found = library.speaker(rng, "team"), []
    blows = makers.Blows(rng, site.rate, "hammer")
    snr_db = rng.uniform(15, 35)
    at = period["from_s"] + rng.uniform(8, 15)
    for _ in range(int(rng.integers(1, 4))):
        if at > period["to_s"] - 15:
            break
        if rng.random() < 0.55:
            clip = library.voice(rng, "call", site.rate, makers, speaker)
            one = Happening("hail", "team-call", "voice-like", snr_db,
                            [Part(at, unit_power(clip.samples, site.rate), place, "air")],
                            clip.source, lasting=True, logged=logged)
        else:
            pace = rng.uniform(0.5, 1.2)
            one = Happening("hail", "team-knock", "tapping", snr_db,
                            [Part(at + k * pace * (1 + 0.04 * rng.standard_normal()),
                                  blows.blow(rng), place + rng.normal(0, 0.02, 3))
                             for k in range(int(rng.integers(3, 6)))], logged=logged)
        found.append(one)
        at = max(p.at_s + len(p.wave) / site.rate for p in one.parts) + rng.uniform(12, 30)
    return found


def log_rows(site, periods, calls):
    """time, person, action, channels, text. A person's watch is a second or two off."""
    rows = [(p["from_s"] + 1, "operator A", "quiet ordered", "", "")
            for p in periods if p["state"] == "quiet" and p["from_s"] > 0]
    for one in calls:
        text = "called down" if one.kind == "voice-like" else "knocked on the structure"
        rows.append((one.from_s, "operator A", "call-out", "", text))
    return sorted(rows)


def draw(rng, site, makers, library):
    """(periods, happenings, rows of the log or None)."""
    periods = draw_periods(rng, site.duration_s)
    happenings, logged = [], rng.random() < 0.5
    if len(periods) > 1 and rng.random() < 0.4:
        happenings += horn_signals(rng, site, makers, periods)
    calls = []
    if rng.random() < 0.5:
        for period in periods:
            if period["state"] == "quiet" and period["to_s"] - period["from_s"] > 40:
                calls += hails(rng, site, makers, library, period, logged)
    log = log_rows(site, periods, calls) if logged and len(periods) + len(calls) > 1 else []
    return periods, happenings + calls, [(max(0.0, t + float(np.round(rng.normal(0, 0.7)))), *more)
                                         for t, *more in log]
