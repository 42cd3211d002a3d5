# SPDX-License-Identifier: GPL-3.0-or-later
"""Textbook detectors to hold detection against."""
import pathlib
import shutil
import subprocess

import numpy as np
from scipy import signal

HERE = pathlib.Path(__file__).resolve().parent


def short_over_long(x, rate, short_s=0.02, long_s=1.0):
    """Peaks (time, ratio) of the mean power of 20 ms over that of the second before it
    [Allen 1978], in 60-2000 Hz; peaks 0.1 s apart or more."""
    band = signal.butter(4, [60, min(2000, 0.4 * rate)], "bandpass", fs=rate, output="sos")
    total = np.concatenate([[0], np.cumsum(signal.sosfilt(band, x) ** 2)])
    short, long = int(short_s * rate), int(long_s * rate)
    at = np.arange(long, len(x) - short, short // 4)
    ratio = (total[at + short] - total[at]) / short / ((total[at] - total[at - long]) / long + 1e-20)
    peaks = []
    for i in np.nonzero(ratio > 2)[0]:
        if peaks and at[i] / rate - peaks[-1][0] < 0.1:
            if ratio[i] > peaks[-1][1]:
                peaks[-1] = (peaks[-1][0], ratio[i])
            continue
        peaks.append((at[i] / rate, ratio[i]))
    return [(round(float(t), 4), round(float(r), 3)) for t, r in peaks]


def build_voice_detector(folder):
    """Builds voice_baseline.cpp; None when libwebrtc-audio-processing-dev is not installed."""
    if not shutil.which("pkg-config"):
        return None
    flags = subprocess.run(["pkg-config", "--cflags", "--libs", "webrtc-audio-processing"],
                           capture_output=True, text=True)
    if flags.returncode != 0:
        return None
    binary = pathlib.Path(folder) / "voice_baseline"
    subprocess.run(["g++", "-std=c++17", "-O2", "-w", "-o", str(binary),
                    str(HERE / "voice_baseline.cpp"), *flags.stdout.split()], check=True)
    return str(binary)


def voice_frames(binary, wav):
    """Runs of 10 ms frames in which it hears a voice: (from_s, to_s), of a 16 kHz 16-bit WAV."""
    if not binary:
        return []
    said = subprocess.run([binary], input=wav.read_bytes()[44:], capture_output=True,
                          check=True).stdout
    heard = np.diff(np.concatenate([[0], np.frombuffer(said, np.uint8) - ord("0"), [0]]).astype(int))
    return [(a / 100, b / 100) for a, b in zip(np.nonzero(heard > 0)[0].tolist(),
                                               np.nonzero(heard < 0)[0].tolist())]
