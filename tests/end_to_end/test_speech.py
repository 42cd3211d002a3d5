#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job on real speech: spoken words that Debian carries, laid at known times into noise.

Source of the sound: the packages alsa-utils and asterisk-core-sounds-en-wav; nothing of it is in
the repository. What is expected (design: found, onset within 0.2 s, ranked rightly) is ours."""
import glob
import sys
import unittest

from harness import Folder, main, noise, np, rows_of, run, write_json, write_wav

try:
    from scipy.io import wavfile
    from scipy.signal import resample_poly
except ImportError:
    print("SKIPPED: scipy is not installed (python3-scipy)")
    sys.exit(77)

RATE = 16000
ONSET_TOLERANCE_S = 0.2
WORDS = sorted(glob.glob("/usr/share/sounds/alsa/*_*.wav"))
PROMPTS = sorted(glob.glob("/usr/share/asterisk/sounds/en/*.wav"))


def spoken(path):
    """A word at 16 kHz, unit rms over its loud part, without its leading silence (-30 dB)."""
    rate, data = wavfile.read(path)
    samples = resample_poly(data.astype(float), RATE, rate)
    power = np.convolve(samples ** 2, np.ones(160) / 160, mode="same")
    loud = np.nonzero(power > power.max() * 1e-3)[0]
    samples = samples[loud[0]:loud[-1] + 1]
    return samples / np.sqrt(np.mean(samples ** 2))


class Speech(Folder):
    def scene(self, files, snr_db):
        """A word every 6 s on two microphones, the second 6 dB weaker; with the given SNR in the band."""
        samples = noise(6 * len(files) + 20, 2, rms=0.004, seed=11)
        in_band = 0.004 * np.sqrt(1940 / 8000)  # share of white noise in 60-2000 Hz
        starts = []
        for k, path in enumerate(files):
            word = spoken(path)[:RATE * 4]
            start = 10.0 + 6.0 * k
            first = int(start * RATE)
            gain = in_band * 10 ** (snr_db / 20)
            samples[first:first + len(word), 0] += gain * word
            samples[first + 40:first + 40 + len(word), 1] += 0.5 * gain * word
            starts.append(start)
        write_wav(self.path("a.wav"), samples)
        write_json(self.path("s.json"), {
            "format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
            "channels": [{"name": "void-near", "kind": "air", "track": 1}, {"name": "void-far", "kind": "air", "track": 2}]})
        return starts

    def check(self, files, snr_db, least_share):
        starts = self.scene(files, snr_db)
        result = run("lull-detect", self.path("s.json"))
        self.assertEqual(result.returncode, 0, result.stderr)
        events = [row for row in rows_of(result.stdout) if row["kind"] == "voice-like"]
        found = [event for start in starts for event in events
                 if abs(float(event["onset_s"]) - start) <= ONSET_TOLERANCE_S][:len(starts)]
        self.assertGreaterEqual(len(found), least_share * len(starts),
                                f"{len(found)} of {len(starts)} at {snr_db} dB:\n{result.stdout}")
        strongest = sum(event["channel"] == "void-near" for event in found)
        self.assertGreaterEqual(strongest, 0.9 * len(found))

    @unittest.skipUnless(WORDS, "alsa-utils is not installed")
    def test_words(self):
        self.check(WORDS[:8], 20.0, 0.75)  # one of eight is only partly heard, one late

    @unittest.skipUnless(PROMPTS, "asterisk-core-sounds-en-wav is not installed")
    def test_prompts(self):
        self.check(PROMPTS[3:240:12], 15.0, 0.9)


if __name__ == "__main__":
    main()
