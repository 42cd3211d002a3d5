# SPDX-License-Identifier: GPL-3.0-or-later
"""Textbook detectors and general voice detectors, to compare lull's hearing with at the same false rates.

Impulses: short over long average [Allen 1978], kurtosis [Saragiotis et al. 2002], spectral flux
[Masri 1996], each on every channel, joined by coincidence: heard within 50 ms on two channels, or on the
only one. Voices: detectors from Debian and npm, on the microphones.
"""
import pathlib
import shutil
import subprocess

import numpy as np
from scipy import ndimage, signal

from finds import Find

HERE = pathlib.Path(__file__).resolve().parent
NETWORK = HERE.parents[1] / "build" / "rnnoise"  # installed there by scripts/setup sounds
RATE_HZ = 8000  # enough for the band to 2000 Hz
HOP_S, SHORT_S, LONG_S, KURTOSIS_S, MEDIAN_S = 0.005, 0.02, 1.0, 0.1, 1.0
APART_S, TOGETHER_S = 0.1, 0.05
LEAST = {"short over long": 2.0, "kurtosis": 4.0, "spectral flux": 1.5}
VOICE_FRAME_S, VOICE_WINDOW, LOUDEST = 0.01, 50, 16000


def at_rate(x, rate, wanted):
    common = int(np.gcd(rate, wanted))
    return x if rate == wanted else signal.resample_poly(x, wanted // common, rate // common)


def banded(x, rate):
    band = signal.butter(4, [60, min(2000, 0.4 * rate)], "bandpass", fs=rate, output="sos")
    return signal.sosfilt(band, x)


def means(values, at, length):
    """Mean of `length` values from each index of `at` on."""
    total = np.concatenate([[0], np.cumsum(values)])
    return (total[at + length] - total[at]) / length


def short_over_long(x, rate):
    """Score every HOP_S: mean power of 20 ms over that of the second before."""
    short, long, power = int(SHORT_S * rate), int(LONG_S * rate), x * x
    at = np.arange(long, len(x) - short, int(HOP_S * rate))
    return at / rate, means(power, at, short) / (means(power, at - long, long) + 1e-20)


def kurtosis(x, rate):
    """Score every HOP_S: kurtosis of 100 ms, 3 for Gaussian noise."""
    window = int(KURTOSIS_S * rate)
    at = np.arange(0, len(x) - window, int(HOP_S * rate))
    second, fourth = means(x ** 2, at, window), means(x ** 4, at, window)
    return at / rate, fourth / (second ** 2 + 1e-30)


def spectral_flux(x, rate):
    """Score every HOP_S: sum of rises of the log spectrum over its running median."""
    hop = int(HOP_S * rate)
    _, at, z = signal.stft(x.astype(np.float32), rate, nperseg=4 * hop, noverlap=3 * hop, boundary=None)
    flux = np.maximum(np.diff(np.log(np.abs(z) + 1e-7), axis=1), 0).mean(axis=0)
    return at[1:], flux / (ndimage.median_filter(flux, int(MEDIAN_S / HOP_S)) + 1e-9)


IMPULSE_DETECTORS = {"short over long": short_over_long, "kurtosis": kurtosis, "spectral flux": spectral_flux}


def peaks_of(at, scores, least):
    """Largest scores over `least`, APART_S apart or more."""
    distance = max(1, int(APART_S / (at[1] - at[0])))
    where, _ = signal.find_peaks(scores, height=least, distance=distance)
    return list(zip(at[where], scores[where]))


def coincident(by_channel):
    """Peaks (time, score, channel) of all channels on which two agree; a single channel needs no other."""
    peaks = sorted((t, s, c) for c, found in by_channel.items() for t, s in found)
    if len(by_channel) == 1:
        return peaks
    kept, k = [], 0
    while k < len(peaks):
        end = k
        while end < len(peaks) and peaks[end][0] - peaks[k][0] <= TOGETHER_S:
            end += 1
        together = peaks[k:end]
        if len({c for _, _, c in together}) >= 2:
            second = sorted((s for _, s, _ in together), reverse=True)[1]
            best = max(together, key=lambda p: p[1])
            kept.append((best[0], second, best[2]))
        k = end
    return kept


def confidence_of(score):
    """Any increasing map to 0..1, since only the order counts."""
    return float(score / (1.0 + score))


def impulses(bands, detector):
    """Finds of one blow each. bands: samples by channel, at RATE_HZ."""
    by_channel = {name: peaks_of(*IMPULSE_DETECTORS[detector](x, RATE_HZ), LEAST[detector])
                  for name, x in bands.items()}
    return [Find("tapping", confidence_of(score), channel, [(t, t + SHORT_S)])
            for t, score, channel in coincident(by_channel)]


def build_voice_detectors(folder):
    """Name to (command, rate of its input in Hz), of the installed ones."""
    found = {}
    asked = shutil.which("pkg-config") and subprocess.run(
        ["pkg-config", "--cflags", "--libs", "webrtc-audio-processing"], capture_output=True, text=True)
    if asked and asked.returncode == 0:
        binary = pathlib.Path(folder) / "voice_detector"
        subprocess.run(["g++", "-std=c++17", "-O2", "-w", "-o", str(binary), str(HERE / "voice_detector.cpp"),
                        *asked.stdout.split()], check=True)
        found["webrtc voice detector"] = ([str(binary)], 16000)
    if NETWORK.is_dir() and shutil.which("node"):
        found["RNNoise"] = (["node", str(HERE / "voice_network.mjs"), str(NETWORK)], 48000)
    return found


def microphones_of(samples, truth):
    """The channels for a voice detector: the microphones, or the first channel where there is none."""
    heard = {c["name"]: x for c, x in zip(truth["channels"], samples) if c["kind"] == "air"}
    return heard or {truth["channels"][0]["name"]: samples[0]}


def voices(samples, truth, command, rate):
    """Finds of voice: stretches in which the detector hears one, on any microphone. The confidence is its
    largest mean over half a second. `rate`: of its input, 16-bit samples."""
    found = []
    for channel, x in microphones_of(samples, truth).items():
        x = at_rate(x, truth["rate_hz"], rate)
        loud = (x / (np.abs(x).max() + 1e-9) * LOUDEST).astype("<i2")
        said = subprocess.run(command, input=loud.tobytes(), capture_output=True, check=True).stdout
        heard = (np.frombuffer(said, np.uint8).astype(float) - ord("0")) / 9
        share = ndimage.uniform_filter1d(heard, VOICE_WINDOW, mode="constant")
        edges = np.diff(np.concatenate([[0], share > 0.1, [0]]).astype(int))
        for a, b in zip(np.nonzero(edges > 0)[0], np.nonzero(edges < 0)[0]):
            found.append(Find("voice-like", float(share[a:b].max()), channel,
                              [(a * VOICE_FRAME_S, b * VOICE_FRAME_S)]))
    return found


def all_of(samples, truth, voice_detectors):
    """Finds of every detector by its name."""
    rate, names = truth["rate_hz"], [channel["name"] for channel in truth["channels"]]
    bands = {name: banded(at_rate(x, rate, RATE_HZ).astype(np.float64), RATE_HZ)
             for name, x in zip(names, samples)}
    found = {name: impulses(bands, name) for name in IMPULSE_DETECTORS}
    return found | {name: voices(samples, truth, *how) for name, how in voice_detectors.items()}
