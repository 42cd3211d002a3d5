# SPDX-License-Identifier: GPL-3.0-or-later
"""Machines of the fit and tune sides: one cycle as a table, read at a speed that drifts and throbs.

Each maker gives mono samples of a source close by. The report side has code of its own.
"""
import numpy as np
from scipy import signal

from shaping import band_noise, log_uniform, low_pass, on_and_off, through_body, through_points, wander

TABLE = 2048


def cycle(rng, harmonics, tilt, uneven=0.6):
    """One cycle: harmonics whose amplitudes fall by `tilt` and scatter, random phases."""
    k = np.arange(1, harmonics + 1)
    amplitude = k ** -tilt * np.exp(uneven * rng.standard_normal(harmonics))
    # A resonance of the body amplifies some.
    middle, width = rng.uniform(1, harmonics), rng.uniform(1, 0.3 * harmonics + 2)
    amplitude *= 1 + 3 * np.exp(-0.5 * ((k - middle) / width) ** 2)
    spectrum = np.zeros(TABLE // 2 + 1, complex)
    spectrum[1:harmonics + 1] = amplitude * np.exp(2j * np.pi * rng.random(harmonics))
    table = np.fft.irfft(spectrum)
    return (table / table.std()).astype(np.float32)


def speed_line(rng, n, rate, base_hz, drift, load_s):
    """Revolutions a second: slow drift, and loads that lower it for a time."""
    seconds = n / rate
    times = np.sort(rng.uniform(0, seconds, max(2, int(seconds / load_s))))
    loads = 1 + 0.12 * drift / 0.03 * rng.standard_normal(len(times))
    line = through_points(n, rate, times, np.clip(loads, 0.5, 1.6))
    return base_hz * line * wander(rng, n, rate, 3.0, drift) * wander(rng, n, rate, 0.3, drift / 5)


def play(rng, rate, hz, harmonics, tilt, rough=0.1):
    """A table read at hz (per sample). Two tables cross-fade slowly, so cycles differ a little."""
    phase = np.cumsum(hz, dtype=np.float64) / rate
    harmonics = int(np.clip(min(harmonics, 0.45 * rate / hz.max()), 1, TABLE // 2 - 1))
    turns = phase.astype(np.int64)
    index = ((phase - turns) * TABLE).astype(np.int32)
    first, second = (cycle(rng, harmonics, tilt) for _ in range(2))
    mix = np.clip(0.5 * wander(rng, len(hz), rate, 4.0, 0.8), 0, 1)
    x = first[index] * (1 - mix) + second[index] * mix
    gains = 1 + rough * rng.standard_normal(int(turns[-1]) + 2, dtype=np.float32)
    return x * gains[turns], index


def throb(rng, x, rate):
    """A slow beat, like that of two cylinders or of a loose mounting."""
    if rng.random() < 0.5:
        return x
    t = np.arange(len(x), dtype=np.float32) / rate
    hz = np.float32(log_uniform(rng, 0.4, 6))
    return x * (1 + np.float32(rng.uniform(0.1, 0.6)) * np.sin(2 * np.float32(np.pi) * hz * t))


def with_noise(rng, x, index, rate, share, low_hz, high_hz):
    """Exhaust and intake: noise that rises once a revolution."""
    swell = cycle(rng, 4, 1.0)[index]
    noise = band_noise(rng, len(x), rate, low_hz, high_hz)
    noise *= np.float32(share / (noise.std() + 1e-9)) * (1 + 0.6 * swell)
    return x + noise


def engine(rng, n, rate):
    base = log_uniform(rng, 9, 45)
    hz = speed_line(rng, n, rate, base, log_uniform(rng, 0.004, 0.04), 25)
    x, index = play(rng, rate, hz, int(rng.integers(20, 90)), rng.uniform(0.3, 1.4), 0.15)
    return throb(rng, with_noise(rng, x, index, rate, rng.uniform(0.1, 0.8), 80, 1800), rate)


def generator(rng, n, rate):
    base = rng.choice([25.0, 30.0, 50.0, 60.0])
    hz = base * wander(rng, n, rate, 5.0, 0.003)
    x, index = play(rng, rate, hz, int(rng.integers(10, 50)), rng.uniform(0.4, 1.5), 0.05)
    return throb(rng, with_noise(rng, x, index, rate, rng.uniform(0.1, 0.5), 60, 1200), rate)


def pump(rng, n, rate):
    base = log_uniform(rng, 15, 60)
    hz = speed_line(rng, n, rate, base, 0.008, 60)
    x, index = play(rng, rate, hz, int(rng.integers(6, 30)), rng.uniform(0.6, 1.6), 0.05)
    return with_noise(rng, x, index, rate, rng.uniform(0.3, 2.0), 100, 3000)


def saw(rng, n, rate):
    """A saw idles, accelerates, cuts and slows down again."""
    seconds = n / rate
    idle, full = rng.uniform(35, 60), rng.uniform(110, 210)
    times, speeds = [0.0], [idle]
    while times[-1] < seconds:
        cutting = speeds[-1] < 0.6 * full
        times += [times[-1] + rng.uniform(0.15, 0.6)]
        speeds += [full * rng.uniform(0.65, 1.05) if cutting else idle]
        for _ in range(int(rng.integers(1, 6)) if cutting else 1):
            times += [times[-1] + rng.uniform(0.3, 3.0)]
            speeds += [full * rng.uniform(0.6, 1.05) if cutting else idle * rng.uniform(0.9, 1.1)]
    hz = through_points(n, rate, times, speeds) * wander(rng, n, rate, 0.2, 0.01)
    x, index = play(rng, rate, hz, 60, rng.uniform(0.2, 0.9), 0.25)
    x = with_noise(rng, x, index, rate, rng.uniform(0.3, 1.2), 300, 6000)
    return x * (hz / full) ** np.float32(rng.uniform(0.5, 1.5))


def hits(rng, n, rate, times, gains, rings):
    """A train of blows through one resonant response of the tool."""
    train = np.zeros(n, np.float32)
    frames = (np.asarray(times) * rate).astype(int)
    inside = (frames >= 0) & (frames < n)
    np.add.at(train, frames[inside], np.asarray(gains, np.float32)[inside])
    return signal.oaconvolve(train, rings)[:n].astype(np.float32)


def tool_ring(rng, rate, low_hz, high_hz, decay_s):
    t = np.arange(int(0.25 * rate)) / rate
    ring = sum(rng.uniform(0.2, 1) * np.exp(-t / log_uniform(rng, 0.2 * decay_s, decay_s))
               * np.sin(2 * np.pi * min(log_uniform(rng, low_hz, high_hz), 0.45 * rate) * t)
               for _ in range(int(rng.integers(3, 9))))
    return ring.astype(np.float32)


def breaker(rng, n, rate):
    """Bursts of 8 to 28 blows a second while the chisel cuts, with exhaust noise."""
    seconds, base = n / rate, rng.uniform(8, 28)
    points = on_and_off(rng, seconds, (1, 9), (0.5, 12), 0.05)
    times = np.cumsum(1 / (base * np.exp(0.02 * rng.standard_normal(int(1.2 * base * seconds)))))
    times = times + 2.0 / base * np.sin(times * rng.uniform(0.1, 1)) * 0.05
    times = times[times < seconds]
    gains = np.interp(times, *points) * np.exp(0.2 * rng.standard_normal(len(times)))
    x = hits(rng, n, rate, times, gains, tool_ring(rng, rate, 60, 3000, 0.05))
    hiss = band_noise(rng, n, rate, 200, 4000) * through_points(n, rate, *points)
    return x / (x.std() + 1e-9) + np.float32(rng.uniform(0.05, 0.5)) * hiss


def rotor(rng, n, rate):
    """Rotor blades, 9 to 28 beats a second; louder and a little higher as they pass over."""
    seconds, base = n / rate, rng.uniform(9, 28)
    over = through_points(n, rate, *passes(rng, seconds, 30, 120), step_s=0.1)
    nearing = np.gradient(over)
    hz = base * (1 + 0.03 * nearing / (np.abs(nearing).max() + 1e-9))
    hz = hz.astype(np.float32) * wander(rng, n, rate, 5.0, 0.004)
    x, index = play(rng, rate, hz, int(rng.integers(15, 60)), rng.uniform(0.3, 1.1), 0.1)
    x = with_noise(rng, x, index, rate, rng.uniform(0.5, 2.0), 100, 3000)
    return low_pass(x, rate, log_uniform(rng, 400, 3000), 1) * (0.1 + over)


def passes(rng, seconds, short_s, long_s):
    """Points (times, gains) of something that starts and stops repeatedly."""
    times, gains = [0.0], [rng.uniform(0, 0.3)]
    while times[-1] < seconds:
        stay = log_uniform(rng, short_s, long_s)
        times += [times[-1] + 0.5 * stay, times[-1] + stay]
        gains += [rng.uniform(0.4, 1.0), rng.uniform(0, 0.3)]
    return np.array(times), np.array(gains)


def housed(make):
    """The machine as it is, or through its housing and support."""
    def made(rng, n, rate):
        x = make(rng, n, rate)
        return through_body(rng, rate, x) if rng.random() < 0.5 else x
    return made


MACHINES = {make.__name__: housed(make) for make in (engine, generator, pump, saw, breaker, rotor)}
