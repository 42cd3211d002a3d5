# SPDX-License-Identifier: GPL-3.0-or-later
"""What people do nearby that is not to be found: walking, handling, work, the team's speech.

Each maker gives happenings within from_s .. to_s. `neither_for` names the kinds that a sound truly
is although nobody looks for it: a hammer at work taps, the team's own speech is a voice.
"""
import numpy as np
from scipy import signal

from happening import Happening, Part
from shaping import band_noise, faded, log_uniform, unit_power


def somewhere(rng, site, beside_m=3.0):
    return np.array([*rng.uniform(-beside_m, site.extent_m + beside_m, 2), rng.normal(0, 0.5)])


def near(rng, site, way_m):
    """A place about way_m from one of the sensors."""
    channel = site.channels[rng.integers(len(site.channels))]
    return channel.position_m + way_m * rng.standard_normal(3) * np.array([1, 1, 0.2])


def bouts(rng, from_s, to_s, busy_s, idle_s):
    """Alternating times of activity and rest; ranges in seconds."""
    at = from_s + rng.uniform(0, min(idle_s[1], 0.5 * (to_s - from_s) + 0.1))
    while at < to_s - 1:
        until = min(to_s, at + log_uniform(rng, *busy_s))
        yield at, until
        at = until + log_uniform(rng, *idle_s)


def walking(rng, site, makers, library, from_s, to_s):
    """People who walk over the site. Each step is at another place; they stop, turn and hurry."""
    walks = []
    for _ in range(int(rng.choice([1, 1, 1, 2, 3]))):
        steps, place = makers.Steps(rng, site.rate), somewhere(rng, site)
        takes = library.steps(rng, site.rate) if rng.random() < 0.3 else None
        snr_db = rng.uniform(4, 26)
        for start, until in bouts(rng, from_s, to_s, (2, 25), (1, 30)):
            goal, pace = somewhere(rng, site), log_uniform(rng, 0.42, 0.85)
            uneven, stride = log_uniform(rng, 0.03, 0.25), rng.uniform(0.4, 0.8)
            parts, at, side = [], start, 1
            while at < until:
                heading = goal - place
                left = np.linalg.norm(heading) + 1e-9
                if left < stride:
                    goal = somewhere(rng, site)
                    heading, left = goal - place, np.linalg.norm(goal - place) + 1e-9
                place = place + stride * heading / left
                side = -side
                across = 0.12 * side * np.array([-heading[1], heading[0], 0]) / left
                wave = steps.step(rng) if takes is None else varied(rng, takes.takes)
                wave = wave * np.float32(10 ** (rng.normal(0, 2) / 20))
                parts.append(Part(at, wave, place + across))
                at += pace * max(0.5, 1 + uneven * rng.standard_normal())
            if parts:
                walks.append(Happening("confuser", "walking", "", snr_db + rng.normal(0, 2), parts))
    return walks


def varied(rng, takes):
    """One of several takes, played a little faster or slower, brighter or duller."""
    wave = takes[rng.integers(len(takes))]
    speed = np.exp(rng.normal(0, 0.02))
    index = np.arange(0, len(wave) - 1, speed)
    wave = np.interp(index, np.arange(len(wave)), wave)
    duller = np.clip(rng.normal(0, 0.25), -0.6, 0.6)
    return signal.lfilter([1, duller], [1], wave).astype(np.float32)


def handling(rng, site, makers, library, from_s, to_s):
    """Somebody handles a sensor: knocks and rubbing on that channel, little elsewhere."""
    found = []
    for start, until in bouts(rng, from_s, to_s, (1, 12), (5, 60)):
        c = int(rng.integers(len(site.channels)))
        blows = makers.Blows(rng, site.rate, str(rng.choice(["hand", "heel", "stone", "metal"])))
        leaks = 10 ** (rng.uniform(-34, -12) / 20)
        parts, at = [], start
        while at < until:
            if rng.random() < 0.7:
                wave = blows.blow(rng) * np.float32(10 ** (rng.normal(0, 5) / 20))
            else:
                wave = makers.rub(rng, site.rate, rng.uniform(0.1, 0.8), 30, rng.uniform(200, 1500))
                wave = wave / (np.abs(wave).max() + 1e-9) * np.float32(0.5)
            parts.append(Part(at, wave, site.channels[c].position_m, "sensor", c))
            parts.append(Part(at, wave * np.float32(leaks), site.channels[c].position_m + 0.1))
            at += log_uniform(rng, 0.12, 1.5)
        found.append(Happening("confuser", "handling", "", rng.uniform(10, 40), parts))
    return found


def cable_rub(rng, site, makers, library, from_s, to_s):
    found = []
    for start, until in bouts(rng, from_s, to_s, (1, 8), (8, 60)):
        c = int(rng.integers(len(site.channels)))
        parts, at = [], start
        while at < until:
            wave = makers.rub(rng, site.rate, log_uniform(rng, 0.1, 1.5), 20, rng.uniform(120, 900))
            parts.append(Part(at, wave / (np.abs(wave).max() + 1e-9), site.channels[c].position_m,
                              "sensor", c))
            at += log_uniform(rng, 0.2, 2.5)
        found.append(Happening("confuser", "cable-rub", "", rng.uniform(5, 28), parts))
    return found


def dragging(rng, site, makers, library, from_s, to_s):
    found = []
    for start, until in bouts(rng, from_s, to_s, (2, 10), (8, 60)):
        place, way = somewhere(rng, site), rng.normal(0, 0.5, 3) * [1, 1, 0]
        parts, at = [], start
        while at < until:
            seconds = log_uniform(rng, 0.3, 2.5)
            wave = makers.rub(rng, site.rate, seconds, rng.uniform(40, 150), rng.uniform(300, 2500))
            parts.append(Part(at, wave / (np.abs(wave).max() + 1e-9), place))
            place = place + way
            at += seconds + rng.exponential(0.3)
        found.append(Happening("confuser", "dragging", "", rng.uniform(3, 22), parts))
    return found


def digging(rng, site, makers, library, from_s, to_s):
    """A shovel: it cuts, scrapes, throws; sometimes it hits something."""
    found, place = [], somewhere(rng, site)
    thud, clang = makers.Blows(rng, site.rate, "heel"), makers.Blows(rng, site.rate, "metal")
    pace = rng.uniform(1.6, 4)
    for start, until in bouts(rng, from_s, to_s, (8, 60), (5, 40)):
        parts, at = [], start
        while at < until:
            spot = place + rng.normal(0, 0.25, 3) * [1, 1, 0.3]
            scrape = makers.rub(rng, site.rate, rng.uniform(0.2, 0.6), 150, rng.uniform(800, 5000))
            bite = thud.blow(rng)
            size = np.abs(bite).max() + 1e-9
            parts += [Part(at, bite, spot), Part(at + 0.03, scrape / (np.abs(scrape).max() + 1e-9)
                                                 * np.float32(size * rng.uniform(0.2, 1.2)), spot)]
            if rng.random() < 0.15:
                parts.append(Part(at + rng.uniform(0, 0.2), clang.blow(rng), spot))
            if rng.random() < 0.7:
                thrown = place + rng.normal(0, 1.5, 3) * [1, 1, 0.2]
                scale = size * 10 ** (rng.normal(-10, 4) / 20)
                parts += [Part(at + rng.uniform(0.8, 1.2) + later, w / np.float32(
                    np.abs(w).max() + 1e-9) * np.float32(scale * rng.uniform(0.1, 1)), thrown)
                    for later, w in makers.debris(rng, site.rate)[:8]]
            at += pace * max(0.4, 1 + 0.15 * rng.standard_normal())
        found.append(Happening("confuser", "digging", "", rng.uniform(4, 24), parts))
    return found


def hammering(rng, site, makers, library, from_s, to_s):
    """Work with a hammer taps. Nobody searches for it, but listing it is not wrong."""
    found = []
    for start, until in bouts(rng, from_s, to_s, (2, 20), (6, 60)):
        blows, place = makers.Blows(rng, site.rate, "hammer"), somewhere(rng, site)
        pace, at, parts = rng.uniform(0.35, 1.1), start, []
        while at < until:
            parts.append(Part(at, blows.blow(rng), place + rng.normal(0, 0.03, 3)))
            at += pace * max(0.4, 1 + 0.08 * rng.standard_normal())
        found.append(Happening("confuser", "hammering", "", rng.uniform(5, 28), parts,
                               neither_for=("tapping",)))
    return found


def hand_saw(rng, site, makers, library, from_s, to_s):
    found = []
    for start, until in bouts(rng, from_s, to_s, (4, 25), (8, 60)):
        place, stroke, parts, at = somewhere(rng, site), rng.uniform(0.25, 0.6), [], start
        low, high = rng.uniform(80, 400), rng.uniform(1000, 5000)
        while at < until:
            for gain, longer in ((1.0, 1.0), (rng.uniform(0.2, 0.8), 0.9)):
                wave = makers.rub(rng, site.rate, stroke * longer * rng.uniform(0.85, 1.1), low, high)
                parts.append(Part(at, gain * wave / (np.abs(wave).max() + 1e-9), place))
                at += stroke
        found.append(Happening("confuser", "hand-saw", "", rng.uniform(3, 20), parts))
    return found


def dropped(rng, site, makers, library, from_s, to_s):
    """Things put down or dropped: one clank, a bounce or two."""
    found = []
    for start, _ in bouts(rng, from_s, to_s, (1, 3), (5, 60)):
        blows = makers.Blows(rng, site.rate, str(rng.choice(["metal", "stone", "heel"])))
        place, at, gap, parts = somewhere(rng, site), start, rng.uniform(0.05, 0.35), []
        clank = library.thing(rng, "metal", site.rate, longest_s=1.5)
        for k in range(int(rng.integers(1, 5))):
            wave = blows.blow(rng) if clank is None else varied(rng, [clank.samples])
            parts.append(Part(at, wave * np.float32(0.6 ** k), place + rng.normal(0, 0.1, 3)))
            at += gap
            gap *= rng.uniform(0.5, 0.9)
        found.append(Happening("confuser", "dropped", "", rng.uniform(4, 28), parts))
    return found


def radio(rng, site, makers, library, from_s, to_s):
    """A radio near a sensor: hiss, clipped narrow speech, a beep at the end."""
    found, place = [], near(rng, site, rng.uniform(1, 6))
    speaker = library.speaker(rng, "team")
    for start, _ in bouts(rng, from_s, to_s, (1, 3), (4, 50)):
        clip = library.voice(rng, "speech", site.rate, makers, speaker)
        n = len(clip.samples) + int(0.4 * site.rate)
        hiss = band_noise(rng, n, site.rate, 300, 3400)
        wave = np.float32(rng.uniform(0.05, 0.4)) * hiss / hiss.std()
        words = unit_power(clip.samples, site.rate)
        words = signal.lfilter(*signal.butter(2, [300, min(3400, 0.45 * site.rate)], "bandpass",
                                              fs=site.rate), words)
        at = int(0.2 * site.rate)
        wave[at:at + len(words)] += np.tanh(words * rng.uniform(0.5, 3)).astype(np.float32)
        if rng.random() < 0.6:
            beep = makers.alarm(rng, site.rate)[:int(0.2 * site.rate)]
            wave = np.concatenate([wave, faded(beep, site.rate)])
        found.append(Happening("confuser", "radio", "", rng.uniform(0, 20),
                               [Part(start, faded(wave, site.rate), place, "air")],
                               clip.source, ("voice-like",), lasting=True))
    return found


def team_speech(rng, site, makers, library, from_s, to_s):
    found, places = [], [near(rng, site, 3) for _ in range(2)]
    speakers = [library.speaker(rng, "team") for _ in range(2)]
    for start, until in bouts(rng, from_s, to_s, (2, 15), (4, 40)):
        at = start
        while at < until:
            who = int(rng.integers(2))
            clip = library.voice(rng, "speech", site.rate, makers, speakers[who])
            wave = unit_power(clip.samples, site.rate)
            found.append(Happening("confuser", "team-speech", "", rng.uniform(-2, 22),
                                   [Part(at, wave, places[who], "air")], clip.source,
                                   ("voice-like",), lasting=True))
            at += len(wave) / site.rate + rng.exponential(0.8)
    return found


WORK = [walking, handling, dragging, hammering, hand_saw, dropped, radio, team_speech, cable_rub]
