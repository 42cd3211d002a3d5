# SPDX-License-Identifier: GPL-3.0-or-later
"""What the voice network is shown: log powers in bands, a frame each 16 ms (lib/detect/internal/log_bands.hpp).

The library computes the same; tests/detect/voice_network_test.cpp holds the two against each other.
"""
import numpy as np

RATE_HZ = 8000
HOP = 128  # samples a frame
LONG, SHORT = 512, 128  # Hann windows: the long one has fine frequency resolution below 750 Hz, the short one fine time resolution above
LONG_BINS = 4 + 2 * np.arange(22)  # 62.5 to 718.75 Hz, each with halves of its neighbours
SHORT_EDGES = np.array([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 22, 25, 29, 33, 38, 44, 50, 57,
                        64])  # bins of 62.5 Hz
BANDS = len(LONG_BINS) + 2 * (len(SHORT_EDGES) - 1)
LEAST_POWER = 1e-12  # below the rounding of 24 bits
AROUND = 250  # frames before and after over which the mean is taken: 4 s
LOWEST, HIGHEST = -2.5, 5.0


def powers(samples, size, hop, first):
    """[windows, bins]: one-sided mean square of each bin; window k is centred at first + k * hop."""
    count = (samples.shape[-1] - 1 - first) // hop + 1
    padded = np.concatenate([np.zeros(size // 2, np.float32), samples, np.zeros(size, np.float32)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, size)[first:first + count * hop:hop]
    hann = np.hanning(size + 1)[:-1].astype(np.float32)
    return (2 / (size * np.sum(hann.astype(float) ** 2)) * np.abs(
        np.fft.rfft(windows * hann, axis=1)) ** 2).astype(np.float32)


def log_bands(samples):
    """[frames, BANDS] of one channel at 8 kHz: half the log of each band's power minus its running mean."""
    frames = len(samples) // HOP
    long = powers(samples, LONG, HOP, HOP // 2)[:frames]
    low = long[:, LONG_BINS] + 0.5 * (long[:, LONG_BINS - 1] + long[:, LONG_BINS + 1])
    short = powers(samples, SHORT, HOP // 2, HOP // 4)[:2 * frames]
    high = np.add.reduceat(short, SHORT_EDGES[:-1], axis=1)
    high[:, -1] -= short[:, SHORT_EDGES[-1]:].sum(axis=1)
    level = 0.5 * np.log(np.concatenate([low, high[0::2], high[1::2]], axis=1) + LEAST_POWER)
    sums = np.concatenate([np.zeros((1, BANDS)), np.cumsum(level, axis=0, dtype=float)])
    begin = np.maximum(0, np.arange(frames) - AROUND)
    end = np.minimum(frames, np.arange(frames) + AROUND + 1)
    mean = (sums[end] - sums[begin]) / (end - begin)[:, None]
    return np.clip(level - mean, LOWEST, HIGHEST).astype(np.float32)
