# SPDX-License-Identifier: GPL-3.0-or-later
"""Textbook detectors and general voice detectors, to hold lull's hearing against at the same false rates.

Impulses: short over long average [Allen 1978], kurtosis [Saragiotis et al. 2002], spectral flux
[Masri 1996], each on every channel of a kind, joined by coincidence: heard within 50 ms on two channels,
or on one where there is but one. Voices: the detector in webrtc-audio-processing, on each channel.
"""
import pathlib
import shutil
import subprocess

import numpy as np
from scipy import signal

from finds import Find

HERE = pathlib.Path(__file__).resolve().parent
HOP_S, SHORT_S, LONG_S = 0.005, 0.02, 1.0
APART_S, TOGETHER_S = 0.1, 0.05
LEAST = {"short over long": 2.0, "kurtosis": 4.0, "spectral flux": 1.5}
VOICE_RATE_HZ = 16000


def banded(x, rate):
    band = signal.butter(4, [60, min(2000, 0.4 * rate)], "bandpass", fs=rate, output="sos")
    return signal.sosfilt(band, x)


def moving(power, length):
    total = np.concatenate([[0], np.cumsum(power)])
    return (total[length:] - total[:-length]) / length


def short_over_long(x, rate):
    """Score every HOP_S: mean power of 20 ms over that of the second before."""
    power, short, long, hop = x * x, int(SHORT_S * rate), int(LONG_S * rate), int(HOP_S * rate)
    at = np.arange(long, len(x) - short, hop)
    total = np.concatenate([[0], np.cumsum(power)])
    return at / rate, ((total[at + short] - total[at]) / short) / (
        (total[at] - total[at - long]) / long + 1e-20)


def kurtosis(x, rate):
    """Score every HOP_S: kurtosis of 100 ms, 3 for Gaussian noise."""
    window, hop = int(0.1 * rate), int(HOP_S * rate)
    second, fourth = moving(x ** 2, window)[::hop], moving(x ** 4, window)[::hop]
    return np.arange(len(second)) * hop / rate, fourth / (second ** 2 + 1e-30)


def spectral_flux(x, rate):
    """Score every HOP_S: sum of rises of the log spectrum over its running median."""
    hop = int(HOP_S * rate)
    _, at, z = signal.stft(x, rate, nperseg=4 * hop, noverlap=3 * hop, boundary=None)
    flux = np.maximum(np.diff(np.log(np.abs(z) + 1e-7), axis=1), 0).mean(axis=0)
    return at[1:], flux / (signal.medfilt(flux, 201) + 1e-9)


IMPULSE_DETECTORS = {"short over long": short_over_long, "kurtosis": kurtosis, "spectral flux": spectral_flux}


def peaks_of(at, scores, least):
    """Largest scores over `least`, APART_S apart or more."""
    distance = max(1, int(APART_S / (at[1] - at[0])))
    where, _ = signal.find_peaks(scores, height=least, distance=distance)
    return list(zip(at[where], scores[where]))


def coincident(by_channel):
    """Peaks (time, score, channel) of all channels that two agree on; a lone channel agrees with itself."""
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
    """Any rising map to 0..1: only the order counts."""
    return float(score / (1.0 + score))


def impulses(samples, truth, detector):
    rate = truth["rate_hz"]
    by_channel = {}
    for x, channel in zip(samples, truth["channels"]):
        at, scores = IMPULSE_DETECTORS[detector](banded(x.astype(np.float64), rate), rate)
        by_channel[channel["name"]] = peaks_of(at, scores, LEAST[detector])
    return [Find("tapping", confidence_of(score), channel, [(t, t + 0.05)])
            for t, score, channel in coincident(by_channel)]


def build_voice_detector(folder):
    """Builds voice_detector.cpp; None when libwebrtc-audio-processing-dev is not installed."""
    flags = shutil.which("pkg-config") and subprocess.run(
        ["pkg-config", "--cflags", "--libs", "webrtc-audio-processing"], capture_output=True, text=True)
    if not flags or flags.returncode != 0:
        return None
    binary = pathlib.Path(folder) / "voice_detector"
    subprocess.run(["g++", "-std=c++17", "-O2", "-w", "-o", str(binary), str(HERE / "voice_detector.cpp"),
                    *flags.stdout.split()], check=True)
    return str(binary)


def voices(samples, truth, binary):
    """Finds of voice: stretches of 0.3 s and more in which the detector hears one, on any channel; the
    share of frames with a voice in them is how sure it is."""
    rate, found = truth["rate_hz"], []
    for x, channel in zip(samples, truth["channels"]):
        if channel["kind"] != "air":
            continue
        at_rate = signal.resample_poly(x, VOICE_RATE_HZ, rate) if rate != VOICE_RATE_HZ else x
        loud = at_rate / (np.abs(at_rate).max() + 1e-9) * 0.5
        said = subprocess.run([binary], input=(loud * 32767).astype("<i2").tobytes(),
                              capture_output=True, check=True).stdout
        heard = np.frombuffer(said, np.uint8).astype(float) - ord("0")
        share = np.convolve(heard, np.ones(50) / 50, "same")
        edges = np.diff(np.concatenate([[0], share > 0.1, [0]]).astype(int))
        for a, b in zip(np.nonzero(edges > 0)[0], np.nonzero(edges < 0)[0]):
            found.append(Find("voice-like", float(share[a:b].max()), channel["name"], [(a / 100, b / 100)]))
    return found


def all_of(samples, truth, folder):
    """Finds of every detector that can be built here, by its name."""
    found = {name: impulses(samples, truth, name) for name in IMPULSE_DETECTORS}
    binary = build_voice_detector(folder)
    if binary:
        found["webrtc voice detector"] = voices(samples, truth, binary)
    return found
