# SPDX-License-Identifier: GPL-3.0-or-later
"""What is to be found: somebody who knocks, scratches, calls, cries, groans, coughs or whistles.

A person has one place, one thing to strike with and one to strike on, and strikes as hands do:
the spot wanders by centimetres, contact and level from blow to blow, the rhythm is kept or not.
"""
import numpy as np

from happening import Happening, Part
from people import varied
from shaping import faded, log_uniform, low_pass, unit_power

SNRS_DB = [-6, -3, 0, 3, 6, 10, 15, 20]
SNR_SHARES = [0.05, 0.07, 0.12, 0.17, 0.21, 0.19, 0.12, 0.07]
STRIKERS = ["hand", "stone", "metal", "heel"]
VOICES = {"call": 0.34, "cry": 0.2, "speech": 0.2, "groan": 0.12, "cough": 0.07, "whistle": 0.07}


class Person:
    """A person at one place, on the scene for its whole length."""

    def __init__(self, rng, site, makers, library):
        self.site, self.makers, self.library = site, makers, library
        inside = rng.uniform(-0.1, 1.1, 2) * site.extent_m
        self.place = np.array([*inside, -abs(rng.normal(1.0, 1.0))])
        self.of = str(rng.choice(STRIKERS))
        self.blows = makers.Blows(rng, site.rate, self.of)
        self.takes = library.blows(rng, site.rate)
        if self.takes is not None and rng.random() > library.recorded_share:
            self.takes = None
        self.wanders_m = log_uniform(rng, 0.005, 0.08)
        self.level_db = rng.uniform(0.8, 3.0)
        self.speaker = library.speaker(rng, "person")
        self.muffled_hz = log_uniform(rng, 400, 8000)  # cloth, dust, a cavity around the head

    def blow(self, rng):
        if self.takes is None:
            return self.blows.blow(rng)
        wave = varied(rng, self.takes.takes)
        return wave * np.float32(10 ** (self.level_db * rng.standard_normal() / 20))

    def spot(self, rng):
        return self.place + self.wanders_m * rng.standard_normal(3)


def interval_of(rng):
    at = rng.random()
    return log_uniform(rng, 0.13, 0.25) if at < 0.12 else log_uniform(
        rng, 0.25, 1.2) if at < 0.82 else log_uniform(rng, 1.2, 6.0)


def count_of(rng):
    at = rng.random()
    if at < 0.34:
        return int(rng.choice([1, 2, 3], p=[0.18, 0.3, 0.52]))
    return int(rng.integers(4, 7)) if at < 0.68 else int(
        rng.integers(7, 14)) if at < 0.88 else int(rng.integers(14, 61))


def rhythm(rng, count, interval_s, longest_s):
    """Times of blows from 0: regular or not, in small groups or not, with pauses when it is long."""
    jitter = log_uniform(rng, 0.015, 0.3)
    gaps = interval_s * np.maximum(0.35, 1 + jitter * rng.standard_normal(max(0, count - 1)))
    if count >= 4 and rng.random() < 0.2:  # for example in threes
        size = int(rng.integers(2, 5))
        gaps[size - 1::size] *= rng.uniform(1.6, 4)
    if count >= 4 and rng.random() < 0.15:  # slower with fatigue
        gaps *= np.linspace(1, rng.uniform(0.7, 1.8), len(gaps))
    if count >= 10 and rng.random() < 0.6:
        for k in rng.integers(0, len(gaps), int(rng.integers(1, 1 + count // 8))):
            gaps[k] += log_uniform(rng, 2, 15)
    times = np.concatenate([[0.0], np.cumsum(np.maximum(gaps, 0.11))])
    return times[times < longest_s]


def knocks(rng, person, at_s, snr_db, longest_s, keeps_on=False):
    """One group of knocks. keeps_on: somebody who knocks for minutes."""
    count = int(rng.integers(25, 61)) if keeps_on else count_of(rng)
    interval_s = log_uniform(rng, 0.4, 6.0) if keeps_on else interval_of(rng)
    times = rhythm(rng, count, interval_s, longest_s)
    parts = [Part(at_s + t, person.blow(rng), person.spot(rng)) for t in times]
    source = "made" if person.takes is None else person.takes.source
    of = person.of if person.takes is None else "recorded"
    return Happening("target", of, "tapping", snr_db, parts, source)


def scratching(rng, person, at_s, snr_db, longest_s):
    """Scratching or rubbing in a rhythm; each stroke is another noise of the same spectrum."""
    site, interval_s = person.site, rng.uniform(0.25, 1.2)
    times = rhythm(rng, int(rng.integers(4, 25)), interval_s, longest_s)
    low, high = log_uniform(rng, 60, 400), log_uniform(rng, 700, 4000)
    parts = [Part(at_s + t, person.makers.rub(rng, site.rate, interval_s * rng.uniform(0.25, 0.7), low,
                                              high), person.spot(rng)) for t in times]
    return Happening("target", "scratch", "tapping", snr_db, parts)


def voice(rng, person, at_s, snr_db, of=None):
    """One call, cry, groan, sentence, cough or whistle, from the person's place."""
    site = person.site
    of = of or str(rng.choice(list(VOICES), p=list(VOICES.values())))
    clip = person.library.voice(rng, of, site.rate, person.makers, person.speaker)
    wave = unit_power(low_pass(clip.samples, site.rate, person.muffled_hz, 1), site.rate)
    place = person.place + rng.normal(0, 0.1, 3)
    kind = "horn" if of == "whistle" else "voice-like"  # whistle blasts count as horns
    return Happening("target", of, kind, snr_db,
                     [Part(at_s, faded(wave, site.rate), place, "air")], clip.source, lasting=True)


def any_of(rng, person, at_s, longest_s):
    snr_db = float(rng.choice(SNRS_DB, p=SNR_SHARES))
    at = rng.random()
    if at < 0.52:
        return knocks(rng, person, at_s, snr_db, longest_s)
    if at < 0.58:
        return scratching(rng, person, at_s, snr_db, longest_s)
    return voice(rng, person, at_s, snr_db)


def end_of(happening, site):
    last = max(happening.parts, key=lambda part: part.at_s + len(part.wave) / site.rate)
    return last.at_s + len(last.wave) / site.rate


def plan(rng, site, makers, library, answers_at):
    """Everything to be found in a scene, in order of time, without overlaps within a kind."""
    people = [Person(rng, site, makers, library) for _ in range(int(rng.choice([1, 1, 2, 3])))]
    edge_s = min(6.0, 0.06 * site.duration_s)
    crowded = min(1.0, site.duration_s / 120)  # short scenes are denser
    found, from_s, end_s = [], edge_s, site.duration_s - edge_s
    if rng.random() < 0.2 and end_s > 60:  # somebody knocks for minutes
        person = people[0]
        start = rng.uniform(6, 0.3 * site.duration_s)
        snr_db = float(rng.choice(SNRS_DB, p=SNR_SHARES))
        group = knocks(rng, person, start, snr_db, end_s - start, keeps_on=True)
        found.append(group)
        at = start
        while at < end_of(group, site):  # calls in between are heard too
            at += log_uniform(rng, 15, 80)
            if at < end_s - 6:
                found.append(voice(rng, people[-1], at, float(rng.choice(SNRS_DB, p=SNR_SHARES))))
        from_s = end_of(group, site) + 5
    at = from_s + crowded * rng.uniform(0, 10)
    answers = sorted(t for t in answers_at if t > from_s)
    while at < end_s - 2:
        answers = [t for t in answers if t > at]
        if answers and answers[0] < at + 12:  # waits for the hail and answers it
            at = answers.pop(0) + rng.uniform(0.8, 5)
            if at > end_s - 2:
                break
        longest_s = max(0.1, min(end_s - at - 1, log_uniform(rng, 8, 120)))
        one = any_of(rng, people[rng.integers(len(people))], at, longest_s)
        if end_of(one, site) < site.duration_s - 0.5:
            found.append(one)
            at = end_of(one, site)
        at += crowded * log_uniform(rng, 4, 30)
    return found
