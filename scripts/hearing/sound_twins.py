#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Finds one recording that is on two sides under different names, since packages borrow from each other.

Prompts and words are left out, since nobody borrows those. Compares the levels of bands around each
clip's loudest moment, then whitened waveforms. A change of speed would hide a pair. Exit status 1
where a pair is found: take one of the two out of the manifest.
"""
import argparse
import sys

import numpy as np
from scipy import signal

import sounds

RATE_HZ = 8000
LONGEST = 2 * RATE_HZ
LIKE = 0.9       # cosine of the band levels below which waveforms are not compared
SAME = 0.5       # from which they may be one recording: copies filtered apart reach 0.75, two takes
                 # of one drum 0.5, most different things 0.25, a few short dull thuds 0.7
LOWEST_HZ = 60.0  # rumble below this is similar in many recordings


def loudest(samples):
    """Two seconds around the loudest moment, above LOWEST_HZ, with energy 1."""
    middle = int(np.argmax(np.convolve(samples ** 2, np.ones(400), "same")))
    first = max(0, min(middle - LONGEST // 4, len(samples) - LONGEST))
    high_pass = signal.butter(2, LOWEST_HZ, "highpass", fs=RATE_HZ, output="sos")
    part = signal.sosfilt(high_pass, samples[first:first + LONGEST].astype(np.float64))
    return part / max(1e-9, np.sqrt(np.sum(part ** 2)))


def band_levels(part):
    """Levels of 16 bands in 8 frames after the loudest moment's start, without their mean, length 1."""
    start = max(0, int(np.argmax(np.abs(part))) - 256)
    frames = np.zeros(2048)
    piece = part[start:start + 2048]
    frames[:len(piece)] = piece
    power = np.abs(np.fft.rfft(frames.reshape(8, 256) * np.hanning(256))) ** 2
    levels = np.log(power[:, 1:129].reshape(8, 16, 8).sum(axis=2) + 1e-9).ravel()
    levels -= levels.mean()
    return levels / max(1e-9, np.linalg.norm(levels))


def whitened(part):
    """Spectrum divided by its envelope, so that a shared resonance does not count as similarity."""
    spectrum = np.fft.rfft(part, 2 * LONGEST)
    envelope = np.convolve(np.abs(spectrum), np.ones(65) / 65, "same")
    spectrum /= envelope + 1e-3 * envelope.max()
    return (spectrum / np.sqrt(np.sum(np.abs(spectrum) ** 2))).astype(np.complex64)


def likeness(a, b):
    """Largest correlation over all lags of two whitened sounds, 1 for a sound with itself."""
    return float(np.abs(np.fft.irfft(a * np.conj(b))).max()) * LONGEST


def twins(sides):
    """(similarity, clip, clip) for each pair of one recording on two sides."""
    clips = [clip for side in sides for kind in side.kinds() for clip in side.clips(kind)
             if clip.subkind != "speech"]
    parts = [loudest(clip.load(RATE_HZ)) for clip in clips]
    levels = np.array([band_levels(part) for part in parts])
    spectra = [whitened(part) for part in parts]
    names = np.array([clip.side for clip in clips])
    for i, clip in enumerate(clips):
        near = np.nonzero((levels @ levels[i] > LIKE) & (names != clip.side))[0]
        for j in near[near > i]:
            same = likeness(spectra[i], spectra[j])
            if same > SAME:
                yield same, clip, clips[j]


def main():
    argparse.ArgumentParser(description=__doc__).parse_args()
    found = list(twins([sounds.Sounds(side) for side in sounds.SIDES]))
    for same, a, b in found:
        print(f"sound_twins.py: {same:.2f} {a.side} {a.package} {a.file} = {b.side} {b.package} {b.file}",
              file=sys.stderr)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
