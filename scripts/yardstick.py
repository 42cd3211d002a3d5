#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The stages of lull-review, written plainly with SciPy: what a speed is measured against.

Band-pass (sosfilt), short-time spectra (stft), a percentile noise floor, onsets by short-over-long
averages [Allen 1978], and generalised cross-correlation [Knapp & Carter 1976] of the strongest.
Usage: yardstick.py RECORDING.wav [welch]   (PCM of 16, 24 or 32 bits; welch: mean spectra alone)
"""
import struct
import sys

import numpy as np
from scipy import signal

LOW_HZ, HIGH_HZ = 60.0, 2000.0
TAPS = 512           # of the short-time spectra
SHORT_S, LONG_S = 0.005, 0.5
RATIO = 6.0          # short over long average of an onset
APART_S = 0.1        # between onsets
STRONGEST = 50       # onsets whose delays are measured
DELAY_S = 0.05       # longest delay


def read_pcm(path):
    """Samples as float32 [channel][frame], full scale 1, and the rate."""
    with open(path, "rb") as file:
        data = file.read()
    if data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        sys.exit(f"yardstick.py: {path}: not a RIFF WAVE file")
    at, layout, body = 12, None, None
    while at + 8 <= len(data) and body is None:
        name, size = data[at:at + 4], struct.unpack_from("<I", data, at + 4)[0]
        if name == b"fmt ":
            layout = struct.unpack_from("<HHIIHH", data, at + 8)
        elif name == b"data":
            body = memoryview(data)[at + 8:at + 8 + size]
        at += 8 + size + size % 2
    _, channels, rate, _, _, bits = layout
    if bits == 24:
        usable = len(body) // 3 * 3
        bytes_ = np.frombuffer(body[:usable], np.uint8).reshape(-1, 3)
        wide = np.zeros((len(bytes_), 4), np.uint8)
        wide[:, 1:] = bytes_
        flat = wide.view("<i4").ravel().astype(np.float32) / np.float32(2.0 ** 31)
    else:
        kind = {16: "<i2", 32: "<i4"}[bits]
        flat = np.frombuffer(body, kind).astype(np.float32) / np.float32(2.0 ** (bits - 1))
    frames = len(flat) // channels
    return np.ascontiguousarray(flat[:frames * channels].reshape(frames, channels).T), rate


def moving_mean(power, length):
    sums = np.concatenate(([0.0], np.cumsum(power, dtype=np.float64)))
    return (sums[length:] - sums[:-length]) / length


def onsets(samples, rate):
    """Frames at which the short average rises over the long one, and how strongly."""
    short, long = int(SHORT_S * rate), int(LONG_S * rate)
    power = samples.astype(np.float64) ** 2
    fast, slow = moving_mean(power, short), moving_mean(power, long)
    # The short window begins where the long one ends.
    ratio = fast[long:] / np.maximum(slow[:len(fast) - long], 1e-20)
    peaks, found = signal.find_peaks(ratio, height=RATIO, distance=int(APART_S * rate))
    return peaks + long, found["peak_heights"]


def delay(a, b, rate):
    """Delay of b after a by the maximum of the phase transform, between samples by a parabola."""
    size = 2 * len(a)
    cross = np.conj(np.fft.rfft(a, size)) * np.fft.rfft(b, size)
    values = np.fft.irfft(cross / np.maximum(np.abs(cross), 1e-20), size)
    reach = int(DELAY_S * rate)
    values = np.concatenate((values[-reach:], values[:reach + 1]))
    k = int(np.argmax(values))
    shift = 0.0
    if 0 < k < len(values) - 1:
        left, top, right = values[k - 1:k + 2]
        bend = left - 2.0 * top + right
        shift = 0.5 * (left - right) / bend if bend != 0.0 else 0.0
    return (k - reach + shift) / rate


def main():
    samples, rate = read_pcm(sys.argv[1])
    if sys.argv[2:] == ["welch"]:
        for channel in samples:
            signal.welch(channel, rate, window="hann", nperseg=4096)
        return
    sections = signal.butter(4, [LOW_HZ, min(HIGH_HZ, 0.4 * rate)], "bandpass", fs=rate, output="sos")
    heard, floors = [], []
    for c in range(len(samples)):
        samples[c] = signal.sosfilt(sections, samples[c])
        _, _, spectra = signal.stft(samples[c], rate, window="hann", nperseg=TAPS, noverlap=TAPS // 2)
        floors.append(np.percentile(np.abs(spectra) ** 2, 10.0, axis=1))
        frames, strength = onsets(samples[c], rate)
        heard += [(float(s), int(f), c) for s, f in zip(strength, frames)]
    heard.sort(reverse=True)
    length = int(0.2 * rate)
    delays = 0
    for _, frame, c in heard[:STRONGEST]:
        first = max(0, frame - length // 4)
        for other in range(len(samples)):
            if other == c or first + length > samples.shape[1]:
                continue
            delay(samples[c, first:first + length], samples[other, first:first + length], rate)
            delays += 1
    print(f"{len(samples)} channels, {samples.shape[1] / rate:.1f} s: {len(heard)} onsets, {delays} delays, "
          f"mean floor {10.0 * np.log10(np.mean(floors)):.1f} dB")


if __name__ == "__main__":
    main()
