# SPDX-License-Identifier: GPL-3.0-or-later
"""Arithmetic that all makers share: noise of a spectrum, slow gains, levels in the band.

Samples are float32, time along the last axis. Levels follow the project's definitions: the band is
60 Hz to the lower of 2000 Hz and 0.4 of the rate; a short sound's power is its largest mean over
50 ms, a lasting one's the mean of its louder half; the floor is a running median.
"""
import functools

import numpy as np
from scipy import fft, signal

SHORT_S = 0.05
FLOOR_REACH_S = 10.0


def log_uniform(rng, low, high):
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


@functools.lru_cache(maxsize=16)
def band_sections(rate):
    return signal.butter(4, [60.0, min(2000.0, 0.4 * rate)], "bandpass", fs=rate, output="sos")


@functools.lru_cache(maxsize=64)
def band_response(size, rate):
    """Complex response of the band's filter at the bins of a real transform of `size`."""
    w = 2 * np.pi * np.arange(size // 2 + 1) / size
    return signal.sosfreqz(band_sections(rate), worN=w)[1].astype(np.complex64)


def in_band(x, rate):
    return signal.sosfilt(band_sections(rate), x, axis=-1)


def short_power(band, rate):
    """Largest mean power over 50 ms; `band` is already in the band."""
    width = int(SHORT_S * rate)
    if band.shape[-1] <= width:
        return np.sum(band.astype(float) ** 2, axis=-1) / width
    total = np.cumsum(band.astype(float) ** 2, axis=-1)
    return np.maximum(total[..., width - 1],
                      (total[..., width:] - total[..., :-width]).max(axis=-1)) / width


def frame_powers(band, rate, frame_s=SHORT_S):
    """Mean power of each whole frame."""
    width = int(frame_s * rate)
    count = band.shape[-1] // width
    frames = band[..., :count * width].reshape(*band.shape[:-1], count, width)
    return np.einsum("...t,...t->...", frames, frames, dtype=np.float64) / width


def lasting_power(band, rate):
    """Mean power of the louder half of its 50 ms frames."""
    if band.shape[-1] < int(SHORT_S * rate):
        return np.mean(band.astype(float) ** 2, axis=-1)
    powers = np.sort(frame_powers(band, rate), axis=-1)
    return powers[..., powers.shape[-1] // 2:].mean(axis=-1)


def floor_track(x, rate):
    """Power in the band once a second: median over +-10 s of windows of 0.1 s. x: one channel."""
    width = int(0.1 * rate)
    window = np.hanning(width).astype(np.float32)
    frames = x[:len(x) // width * width].reshape(-1, width) * window
    weight = np.abs(signal.sosfreqz(band_sections(rate),
                                    worN=2 * np.pi * np.arange(width // 2 + 1) / width)[1]) ** 2
    weight[1:(width + 1) // 2] *= 2
    spectrum = fft.rfft(frames, axis=1)
    power = (np.abs(spectrum) ** 2) @ weight.astype(np.float32) / (width * np.sum(window ** 2))
    seconds = int(np.ceil(len(x) / rate))
    reach = int(FLOOR_REACH_S / 0.1)
    return np.array([np.median(power[max(0, 10 * s + 5 - reach):10 * s + 5 + reach])
                     for s in range(seconds)])


def coloured(rng, n, rate, power_of):
    """Noise whose power spectrum is power_of(frequency in Hz), scaled to unit power in the band.

    Made of independent blocks that cross over with constant power."""
    size, edge = (1 << 16, 1 << 12) if n > 1 << 17 else (fft.next_fast_len(n, real=True), 0)
    blocks = 1 if not edge else -(-(n - edge) // (size - edge))
    f = fft.rfftfreq(size, 1 / rate).astype(np.float32)
    shape = np.asarray(power_of(np.maximum(f, 1.0)), np.float32)
    inside = (f > 60) & (f < min(2000, 0.4 * rate))
    total = 2 * float(shape[inside].sum(dtype=np.float64))
    amplitude = np.sqrt(shape / max(1e-30, total)) * np.float32(size / np.sqrt(2))
    amplitude[0] = 0
    out = np.zeros(blocks * (size - edge) + edge, np.float32)
    ramp = np.sin(np.linspace(0, np.pi / 2, edge, dtype=np.float32))
    for k in range(blocks):
        spectrum = rng.standard_normal(2 * len(f), dtype=np.float32).view(np.complex64)
        block = fft.irfft(spectrum * amplitude, size, overwrite_x=True)
        if edge:
            block[:edge] *= ramp
            block[-edge:] *= ramp[::-1]
        out[k * (size - edge):k * (size - edge) + size] += block
    return out[:n]


def unit_power(x, rate):
    """x scaled to unit power in the band over its sounding part."""
    powers = frame_powers(in_band(x, rate), rate)
    sounding = powers[powers > powers.max(initial=0) * 1e-4]
    return x / np.float32(np.sqrt(sounding.mean() + 1e-30)) if len(sounding) else x


def through_points(n, rate, times, values, step_s=0.02):
    """Interpolates values at points of time to one a sample; linear over `step_s`."""
    width = max(1, int(step_s * rate))
    count = n // width + 2
    at = np.interp(np.arange(count) * width / rate, times, values).astype(np.float32)
    ramp = np.arange(width, dtype=np.float32) / width
    return (at[:-1, None] + np.diff(at)[:, None] * ramp).ravel()[:n]


def wander(rng, n, rate, period_s, depth):
    """A positive gain that varies over `period_s` by about a factor exp(depth)."""
    count = int(n / rate / period_s) + 4
    times = np.arange(count) * period_s
    return np.exp(through_points(n, rate, times, depth * rng.standard_normal(count),
                                 min(0.02, period_s / 8)))


def on_and_off(rng, duration_s, on_s, off_s, ramp_s):
    """Points (times, gains) of something that starts and stops; ranges in seconds."""
    times, gains = [0.0], [float(rng.random() < 0.6)]
    while times[-1] < duration_s:
        stay = log_uniform(rng, *(on_s if gains[-1] else off_s))
        times += [times[-1] + stay, times[-1] + stay + log_uniform(rng, 0.5 * ramp_s, 2 * ramp_s)]
        gains += [gains[-1], 1.0 - gains[-1]]
    return np.array(times), np.array(gains)


def faded(x, rate, edge_s=0.005):
    """A copy with faded ends."""
    width = min(len(x) // 2, max(1, int(edge_s * rate)))
    x = np.array(x, np.float32)
    ramp = np.linspace(0, 1, width, dtype=np.float32)
    x[:width] *= ramp
    x[-width:] *= ramp[::-1]
    return x


def arch(n):
    """Half a sine over n samples, never negative."""
    return np.sin(np.pi * (np.arange(n) + 0.5) / n)


def low_pass(x, rate, cut_hz, order=2):
    cut_hz = min(cut_hz, 0.45 * rate)
    return signal.sosfilt(signal.butter(order, cut_hz, fs=rate, output="sos"),
                          x).astype(np.float32)


def band_noise(rng, n, rate, low_hz, high_hz):
    high_hz = min(high_hz, 0.45 * rate)
    sections = signal.butter(2, [min(low_hz, 0.6 * high_hz), high_hz], "bandpass", fs=rate,
                             output="sos")
    return signal.sosfilt(sections, rng.standard_normal(n, dtype=np.float32)).astype(np.float32)


def through_body(rng, rate, wave):
    """Through a few sharp or broad resonances of what is touched, mixed with the direct wave."""
    out = rng.uniform(0, 0.6) * wave
    for _ in range(int(rng.integers(1, 8))):
        b, a = signal.iirpeak(min(log_uniform(rng, 80, 4500), 0.45 * rate), log_uniform(rng, 2, 60), fs=rate)
        out = out + rng.choice([-1, 1]) * rng.exponential(1) * signal.lfilter(b, a, wave)
    return out.astype(np.float32)
