# SPDX-License-Identifier: GPL-3.0-or-later
"""Seeded scenes for training and judging detection: site noise, knocks, voices and look-alikes.

Everything is varied: structures by their modes, contact, reverberation and low-pass; knocks by
number, interval, jitter and strength; real speech from Debian's packages (never copied), scaled
to an SNR as the design defines it: largest mean power over 50 ms in the band (speech: mean power
of the louder half) over the mean power of the noise in the band.
"""
import glob

import numpy as np
from scipy import fft, signal
from scipy.io import wavfile

RATE = 16000
BAND = signal.butter(4, [60, 2000], "bandpass", fs=RATE, output="sos")
SPEECH = sorted(glob.glob("/usr/share/asterisk/sounds/en/*.wav")
                + glob.glob("/usr/share/sounds/alsa/*_*.wav"))
SITES = ["white", "pink", "brown", "generator", "traffic", "rain", "wind", "drips", "clock",
         "footsteps", "hand-tools", "breaker", "radio", "debris", "alarm", "doors", "machine",
         "handling"]


def coloured(rng, n, slope):
    """Noise whose power falls with frequency to the power `slope`, unit rms."""
    spectrum = fft.rfft(rng.standard_normal(n).astype(np.float32))
    f = np.maximum(fft.rfftfreq(n, 1 / RATE), 5.0).astype(np.float32)
    x = fft.irfft(spectrum * f ** np.float32(-slope / 2), n).astype(float)
    return x / x.std()


def slow(rng, n, period_s, depth):
    """A positive gain that varies over `period_s` by about a factor exp(depth)."""
    points = max(4, int(n / RATE / period_s) + 4)
    grid = np.linspace(0, n - 1, points)
    return np.exp(depth * np.interp(np.arange(n), grid, rng.standard_normal(points)))


def structure(rng):
    """Impulse response to a knock: modes, diffuse tail, loss of high frequencies. Through rubble that
    scatters, the energy rises before it decays."""
    low, high = {"concrete": (80, 900), "steel": (250, 3500), "pipe": (150, 2500),
                 "timber": (70, 600), "wall": (100, 1500)}[
        rng.choice(["concrete", "steel", "pipe", "timber", "wall"])]
    n = int(1.2 * RATE)
    t = np.arange(n) / RATE
    h = np.zeros(n)
    longest = 0.06 if rng.random() < 0.65 else 0.3  # freely hanging objects ring longer
    for _ in range(rng.integers(2, 8)):
        f = np.exp(rng.uniform(np.log(low), np.log(high)))
        tau = np.exp(rng.uniform(np.log(0.006), np.log(longest)))
        h += rng.uniform(0.2, 1) * np.exp(-t / tau) * np.sin(2 * np.pi * f * t + rng.uniform(0, 6.28))
    tail = rng.standard_normal(n) * np.exp(-t / np.exp(rng.uniform(np.log(0.01), np.log(0.08))))
    h += rng.uniform(0, 0.25) * np.abs(h).max() * tail
    if rng.random() < 0.3:
        swell = np.exp(rng.uniform(np.log(0.002), np.log(0.01)))
        scatter = rng.standard_normal(n // 8) * (t / swell * np.exp(-t / swell))[:n // 8]
        h = signal.fftconvolve(h, scatter / np.sqrt(np.sum(scatter ** 2)))[:n]
    cut = np.exp(rng.uniform(np.log(500), np.log(7000)))
    return signal.sosfilt(signal.butter(2, cut, fs=RATE, output="sos"), h)


def strike(rng):
    """How one source strikes: half-sine contact of 0.3-8 ms that varies from blow to blow, a spot
    that moves, sometimes a bounce."""
    return {"width_s": np.exp(rng.uniform(np.log(0.0003), np.log(0.008))),
            "scatter": np.exp(rng.uniform(np.log(0.03), np.log(0.35))),
            "bounce": (rng.uniform(0.012, 0.035), rng.uniform(0.2, 0.6)) if rng.random() < 0.15 else None,
            "grain": None}


def touch(rng):
    """Like strike; every fourth is soft (a heel, a fist through cloth: 8-30 ms) or grinds (a noise that
    rises for 2-30 ms, partly the same from blow to blow)."""
    by, kind = strike(rng), rng.random()
    if kind < 0.13:
        by["width_s"] = np.exp(rng.uniform(np.log(0.008), np.log(0.03)))
    elif kind < 0.25:
        by["width_s"] = np.exp(rng.uniform(np.log(0.002), np.log(0.03)))
        by["grain"] = rng.standard_normal(int(0.3 * RATE))
    return by


def knock(rng, h, by):
    """One blow of a source on a structure."""
    width = max(2, int(RATE * by["width_s"] * np.exp(by["scatter"] * rng.standard_normal())))
    if by["grain"] is not None:
        t = np.arange(len(by["grain"])) / width
        own = min(1.0, 3 * by["scatter"])
        noise = np.sqrt(1 - own ** 2) * by["grain"] + own * rng.standard_normal(len(t))
        return signal.fftconvolve(noise * t * np.exp(-t), h)
    pulse = np.zeros(int(0.05 * RATE) + width)
    blow = np.sin(np.pi * np.arange(width) / width)
    pulse[:width] = blow
    # Another spot and another angle excite the modes slightly differently.
    late = int(rng.integers(1, 24))
    pulse[late:late + width] += by["scatter"] * rng.standard_normal() * blow
    if by["bounce"]:
        at = int(by["bounce"][0] * RATE * (1 + 0.1 * rng.standard_normal()))
        pulse[at:at + width] += by["bounce"][1] * blow[:len(pulse) - at]
    return signal.fftconvolve(pulse, h)


def in_band(x):
    return signal.sosfilt(BAND, x)


def peak_energy(x):
    total = np.cumsum(in_band(np.concatenate([x, np.zeros(800)])) ** 2)
    return max(total[799], (total[800:] - total[:-800]).max(initial=0.0)) / 800


def louder_half(x):
    y = in_band(x) ** 2
    pieces = np.sort(y[:len(y) // 800 * 800].reshape(-1, 800).mean(axis=1))
    return pieces[len(pieces) // 2:].mean()


def speech(rng, files):
    """A prompt at 16 kHz, cut to its loud part, through a room or a gap, or raised to a shout."""
    rate, data = wavfile.read(files[rng.integers(len(files))])
    x = signal.resample_poly(data.astype(float), RATE, rate)
    if rng.random() < 0.3:
        x = signal.resample_poly(x, 100, int(rng.integers(75, 125)))
    power = np.convolve(x ** 2, np.ones(160) / 160, mode="same")
    loud = np.nonzero(power > power.max() * 1e-3)[0]
    x = x[loud[0]:loud[-1] + 1][:int(rng.uniform(1.0, 5.0) * RATE)]
    if rng.random() < 0.6:
        n = int(0.3 * RATE)
        h = rng.standard_normal(n) * np.exp(-np.arange(n) / RATE / rng.uniform(0.02, 0.12))
        h[0] += rng.uniform(2, 12)
        x = signal.fftconvolve(x, h)
    cut = np.exp(rng.uniform(np.log(600), np.log(7000)))
    return signal.sosfilt(signal.butter(2, cut, fs=RATE, output="sos"), x)


def cry(rng):
    """A cry or scream: harmonics of 250-900 Hz with glides and vibrato."""
    n = int(rng.uniform(0.4, 2.0) * RATE)
    t = np.arange(n) / RATE
    f0 = np.exp(rng.uniform(np.log(250), np.log(900)))
    glide = np.interp(t, np.linspace(0, t[-1], 4), np.exp(0.18 * rng.standard_normal(4)))
    f = f0 * glide * (1 + rng.uniform(0, 0.03) * np.sin(2 * np.pi * rng.uniform(4, 8) * t))
    phase = 2 * np.pi * np.cumsum(f) / RATE
    x = sum(k ** -rng.uniform(0.6, 1.6) * np.sin(k * phase) for k in range(1, 1 + int(4000 / f.max())))
    x = x + rng.uniform(0, 0.3) * rng.standard_normal(n)
    edge = rng.uniform(0.03, 0.15)
    return x * np.clip(np.minimum(t, t[-1] - t) / edge, 0, 1)


def groan(rng):
    """A low moan or hum of a person: 70-200 Hz, slow."""
    n = int(rng.uniform(0.5, 2.5) * RATE)
    t = np.arange(n) / RATE
    f0 = np.exp(rng.uniform(np.log(75), np.log(200)))
    f = f0 * np.interp(t, np.linspace(0, t[-1], 5), np.exp(0.1 * rng.standard_normal(5)))
    phase = 2 * np.pi * np.cumsum(f) / RATE
    x = sum(rng.uniform(0.2, 1) * k ** -1.0 * np.sin(k * phase) for k in range(1, 12))
    return x * np.sqrt(np.maximum(0.0, np.sin(np.pi * t / t[-1])))


def horn(rng):
    n = int(rng.choice([1.0, 3.0, 0.6]) * rng.uniform(0.8, 1.2) * RATE)
    t = np.arange(n) / RATE
    f0 = rng.uniform(180, 900)
    x = sum(k ** -rng.uniform(0.3, 1) * np.sin(2 * np.pi * f0 * k * t + k) for k in range(1, 6))
    return x * np.clip(np.minimum(t, t[-1] - t) / 0.03, 0, 1)


def put(x, sound, at_s, gain):
    first = int(round(at_s * RATE))
    sound = sound[:max(0, len(x) - first)]
    x[first:first + len(sound)] += gain * sound


def place_impulses(rng, x, times, h, level, spread_db, by=None):
    """Blows of one source. `h` may be a list of structures, of which each blow hits a random one."""
    by = by or strike(rng)
    for at in times:
        k = knock(rng, h[rng.integers(len(h))] if isinstance(h, list) else h, by)
        gain = np.sqrt(level / peak_energy(k)) * 10 ** (rng.normal(0, spread_db) / 20)
        put(x, k, at, gain)


def regular(rng, from_s, to_s, interval, jitter):
    times, t = [], from_s + rng.uniform(0, interval)
    while t < to_s:
        times.append(t)
        t += interval * (1 + jitter * rng.standard_normal())
    return times


def site(rng, kind, seconds):
    """At least a minute of a site's own noise; background near rms 0.01, and (time, name) of what
    resembles knocks or voices in it."""
    n = int(seconds * RATE)
    slope = {"white": 0.0, "pink": 1.0, "brown": 2.0}.get(kind, rng.uniform(0.0, 1.8))
    x = coloured(rng, n, slope)
    alike = []
    level = np.mean(in_band(x) ** 2) * 10 ** (rng.uniform(0, 22) / 10)
    t = np.arange(n) / RATE
    h, by = structure(rng), strike(rng)
    if kind == "generator":
        f0 = rng.uniform(20, 60)
        phase = 2 * np.pi * np.cumsum(f0 * slow(rng, n, 8, 0.01)) / RATE
        hum = sum(rng.uniform(0.1, 1) * np.sin(k * phase + k) for k in range(1, 25))
        x += rng.uniform(0.5, 4) * hum / hum.std() * slow(rng, n, 5, 0.1)
    elif kind == "traffic":
        rumble = signal.sosfilt(signal.butter(2, rng.uniform(60, 300), fs=RATE, output="sos"),
                                rng.standard_normal(n))
        x += rng.uniform(1, 5) * rumble / rumble.std() * slow(rng, n, rng.uniform(3, 10), 0.7)
    elif kind == "wind":
        gust = coloured(rng, n, rng.uniform(1.5, 2.5))
        x += rng.uniform(1, 4) * gust * slow(rng, n, rng.uniform(0.6, 3), 0.7)
    elif kind == "rain":
        times = np.cumsum(rng.exponential(1 / np.exp(rng.uniform(np.log(2), np.log(30))), 4000))
        falls_on = [structure(rng) for _ in range(int(rng.choice([1, 3, 12, 40])))]
        place_impulses(rng, x, times[times < seconds - 1][:1500], falls_on, level * 0.3, 5)
    elif kind == "drips":
        alike = regular(rng, 0, seconds - 1, rng.uniform(0.4, 4), rng.uniform(0.005, 0.1))
        place_impulses(rng, x, alike, h, level, 1.5, by)
    elif kind == "clock":
        alike = regular(rng, 0, seconds - 1, rng.choice([0.5, 1.0, 0.4]), 0.004)
        place_impulses(rng, x, alike, h, level, 0.8, {**by, "scatter": 0.03})
    elif kind == "footsteps":
        at, by = rng.uniform(0, 4), touch(rng)
        low = signal.butter(2, np.exp(rng.uniform(np.log(120), np.log(900))), fs=RATE, output="sos")
        while at < seconds - 12:
            steps = regular(rng, at, at + rng.uniform(3, 9), rng.uniform(0.42, 0.75), 0.05)
            # Left and right, each step on another place; louder as they approach, weaker as they leave.
            sides = [signal.sosfilt(low, g) for g in (h, h + rng.uniform(0, 1) * structure(rng))]
            nearest = rng.uniform(-0.2, 1.2) * len(steps)
            for k, s in enumerate(steps):
                fade = np.exp(-0.5 * ((k - nearest) / (len(steps) / rng.uniform(2.5, 3.5))) ** 2)
                place_impulses(rng, x, [s], sides[k % 2], level * fade ** 2, 2, by)
                if by["bounce"]:  # heel and toe
                    place_impulses(rng, x, [s + rng.uniform(0.05, 0.14)], sides[k % 2],
                                   0.3 * level * fade ** 2, 3, by)
            alike += steps
            at = steps[-1] + rng.uniform(4, 25) if steps else at + 5
    elif kind == "hand-tools":
        at, by = rng.uniform(0, 4), touch(rng)
        while at < seconds - 12:
            blows = regular(rng, at, at + rng.uniform(4, 14), rng.uniform(0.35, 1.0), 0.06)
            place_impulses(rng, x, blows, h, level, 2, by)
            alike += blows
            at = blows[-1] + rng.uniform(3, 15) if blows else at + 5
    elif kind == "breaker":
        at = rng.uniform(0, 6)
        while at < seconds - 12:
            blows = regular(rng, at, at + rng.uniform(2, 8), 1 / rng.uniform(8, 22), 0.01)
            place_impulses(rng, x, blows, h, level * 0.5, 0.6, by)
            alike += blows
            at = blows[-1] + rng.uniform(2, 10) if blows else at + 5
    elif kind == "radio":
        for at in np.arange(rng.uniform(0, 5), seconds - 3, rng.uniform(4, 12)):
            f0 = rng.uniform(600, 2500)
            m = int(rng.uniform(0.05, 0.4) * RATE)
            beep = np.sin(2 * np.pi * f0 * np.arange(m) / RATE)
            put(x, beep, at, np.sqrt(2 * level) * rng.uniform(0.3, 1))
            hiss = signal.sosfilt(signal.butter(2, [300, 3400], "bandpass", fs=RATE, output="sos"),
                                  rng.standard_normal(int(rng.uniform(0.2, 1.5) * RATE)))
            put(x, hiss / hiss.std(), at + m / RATE, np.sqrt(level) * rng.uniform(0.2, 0.8))
    elif kind == "debris":
        at = rng.uniform(0, 5)
        while at < seconds - 6:
            count = rng.integers(1, 25)
            times = at + np.sort(rng.exponential(rng.uniform(0.1, 1.2), count))
            for s in times[times < seconds - 1]:
                place_impulses(rng, x, [s], structure(rng) if rng.random() < 0.7 else h,
                               level * 10 ** (rng.normal(-6, 6) / 10), 0, touch(rng))
            alike += list(times)
            at = times[-1] + rng.exponential(12)
    elif kind == "doors":
        at = rng.exponential(10)
        while at < seconds - 3:
            # Sometimes a latch, then a slam with a rattle after it.
            times = [at] if rng.random() < 0.6 else [at - rng.uniform(0.15, 0.6), at]
            times += list(at + np.cumsum(rng.exponential(0.08, rng.integers(0, 4))))
            for k, s in enumerate(t for t in times if t > 0):
                place_impulses(rng, x, [s], structure(rng) if rng.random() < 0.5 else h,
                               level * 10 ** (rng.normal(-6 if k else 0, 4) / 10), 0, touch(rng))
            alike += [t for t in times if t > 0]
            at += rng.uniform(4, 30)
    elif kind == "machine":
        # Thumps of a rotating machine, in pairs or threes a turn, on and off.
        at = rng.uniform(0, 6)
        while at < seconds - 12:
            turn, count = rng.uniform(0.3, 2.5), int(rng.integers(1, 4))
            beats = regular(rng, at, at + rng.uniform(6, 60), turn, 0.01)
            for k in range(count):
                place_impulses(rng, x, [b + k * turn * rng.uniform(0.2, 0.3) for b in beats], structure(rng),
                               level * rng.uniform(0.2, 1), 0.8, touch(rng))
            alike += beats
            at = (beats[-1] if beats else at) + rng.uniform(4, 30)
    elif kind == "handling":
        # People at work: several things are put down, pushed and dropped, some in a hurry.
        at = rng.uniform(0, 4)
        while at < seconds - 12:
            until, pace = at + rng.uniform(2, 10), np.exp(rng.uniform(np.log(0.08), np.log(0.8)))
            things = [(structure(rng), touch(rng)) for _ in range(int(rng.integers(3, 10)))]
            while at < until:
                sounds, how = things[rng.integers(len(things))]
                place_impulses(rng, x, [at], sounds, level * 10 ** (rng.normal(-3, 4) / 10), 0, how)
                alike.append(at)
                at += 0.05 + rng.exponential(pace)
            at += rng.uniform(3, 20)
    elif kind == "alarm":
        f0 = rng.uniform(400, 1500)
        period = rng.uniform(0.4, 2)
        on = signal.square(2 * np.pi * t / period, rng.uniform(0.2, 0.7)) > 0
        on = np.convolve(on, np.ones(160) / 160, mode="same")
        x += np.sqrt(level) * on * np.sin(2 * np.pi * f0 * t)
    return 0.01 * x, alike


def scene(seed, kind, seconds, what="knocks", snr_db=None, files=None, with_alike=False,
          one_source=False):
    """One channel with `what` ("knocks", "voices", "horns", "nothing") added about every 12 s. With
    one_source, all knocks are one person's at one place. Returns samples and truth rows (from_s,
    to_s, name, snr_db, taps), and the times of the site's own impulses when asked for."""
    rng = np.random.default_rng(seed)
    x, alike = site(rng, kind, seconds)
    noise = in_band(x)
    files = SPEECH if files is None else files
    truth, source = [], None
    at = 8.0 + rng.uniform(0, 4)
    while what != "nothing" and at < seconds - 9:
        snr = rng.uniform(-3, 22) if snr_db is None else snr_db
        floor = np.median(np.mean(
            noise[int((at - 2) * RATE):int((at + 4) * RATE)][:96000 // 800 * 800].reshape(-1, 800) ** 2,
            axis=1))
        goal = floor * 10 ** (snr / 10)
        if what == "knocks":
            taps = int(rng.integers(2, 7))
            interval = np.exp(rng.uniform(np.log(0.13), np.log(1.2)))
            # Intervals of tapping vary by some 4 % at best [Wing & Kristofferson 1973, from memory]; with cold
            # and weak hands by more.
            scatter = np.exp(rng.uniform(np.log(0.015), np.log(0.2)))
            steps = interval * (1 + scatter * rng.standard_normal(taps - 1)
                                + rng.normal(0, 0.1) * np.linspace(-1, 1, taps - 1))
            if taps > 3 and rng.random() < 0.2:  # two and three, or a rhythm of long and short
                steps[rng.integers(taps - 1)] *= rng.uniform(1.5, 2.2)
            times = at + np.concatenate([[0], np.cumsum(np.maximum(steps, 0.11))])
            if source is None or not one_source:
                source = structure(rng), touch(rng)
            place_impulses(rng, x, times, source[0], goal, rng.uniform(0.5, 4.0), source[1])
            truth.append((at, float(times[-1]), "tapping", snr, [float(s) for s in times]))
            at = times[-1]
        else:
            if what == "horns":
                sound, name = horn(rng), "horn"
                gain = np.sqrt(goal / peak_energy(sound))
            else:
                make = rng.choice(["speech", "speech", "speech", "cry", "groan"])
                sound = speech(rng, files) if make == "speech" else cry(rng) if make == "cry" else groan(rng)
                name = "voice-like"
                gain = np.sqrt(goal / louder_half(sound))
            put(x, sound, at, gain)
            truth.append((at, at + len(sound) / RATE, name, snr, []))
            at += len(sound) / RATE
        at += rng.uniform(5, 14)
    x = x.astype(np.float32)
    return (x, truth, alike) if with_alike else (x, truth)
