# SPDX-License-Identifier: GPL-3.0-or-later
"""What the end-to-end tests share: running the real executables and making small recordings."""
import csv
import json
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest

try:
    import numpy as np
except ImportError:
    print("SKIPPED: numpy is not installed (python3-numpy)")
    sys.exit(77)

BIN = os.environ.get("LULL_BIN", "build")
SOURCE = os.environ.get("LULL_SOURCE", os.path.join(os.path.dirname(__file__), "..", ".."))
TIMEOUT_S = 300


def tool(name):
    return os.path.join(BIN, name)


def run(name, *arguments, stdin=None, timeout=TIMEOUT_S):
    """Runs a tool; returns the finished process with text output."""
    return subprocess.run([tool(name), *map(str, arguments)], capture_output=True, input=stdin,
                          timeout=timeout, text=stdin is None or isinstance(stdin, str))


def is_sanitized():
    """Whether the tools were built with a sanitizer, which needs memory of its own."""
    with open(tool("lull-review"), "rb") as file:
        data = file.read()
    return b"__asan_init" in data or b"__tsan_init" in data


def rows_of(text):
    return list(csv.DictReader(text.splitlines()))


def write_wav(path, samples, rate=16000, bits=16):
    """samples: frames x channels, full scale 1. PCM, little endian, canonical 44-byte header."""
    samples = np.atleast_2d(np.asarray(samples, dtype=float).T).T
    frames, channels = samples.shape
    scaled = np.clip(np.round(samples * 2 ** (bits - 1)), -2 ** (bits - 1), 2 ** (bits - 1) - 1)
    if bits == 16:
        data = scaled.astype("<i2").tobytes()
    elif bits == 24:
        data = scaled.astype("<i4").reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    else:
        raise ValueError(bits)
    write_raw_wav(path, data, channels, rate, bits)


def write_raw_wav(path, data, channels, rate, bits, form=1, promised=None):
    align = channels * bits // 8
    size = len(data) if promised is None else promised
    with open(path, "wb") as file:
        file.write(b"RIFF" + struct.pack("<I", min(36 + size, 0xFFFFFFFF)) + b"WAVEfmt "
                   + struct.pack("<IHHIIHH", 16, form, channels, rate, rate * align, align, bits)
                   + b"data" + struct.pack("<I", size) + data)


def write_float_wav(path, samples, rate=16000):
    samples = np.atleast_2d(np.asarray(samples, dtype="<f4").T).T
    write_raw_wav(path, samples.tobytes(), samples.shape[1], rate, 32, form=3)


def noise(seconds, channels, rate=16000, rms=0.003, seed=1):
    return np.random.default_rng(seed).normal(0.0, rms, (int(seconds * rate), channels))


def knock(rate, frequency=350.0, decay_s=0.03, length_s=0.25):
    """A decaying tone with a sharp start, unit peak."""
    t = np.arange(int(length_s * rate)) / rate
    return np.exp(-t / decay_s) * np.sin(2 * np.pi * frequency * t)


def add_at(samples, channel, time_s, shape, gain, rate=16000):
    first = int(round(time_s * rate))
    samples[first:first + len(shape), channel] += gain * shape


def write_json(path, value):
    with open(path, "w", encoding="utf-8") as file:
        json.dump(value, file)


class Folder(unittest.TestCase):
    """A test with an empty folder of its own."""

    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="lull-test-")
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)

    def path(self, *parts):
        return os.path.join(self.folder, *parts)

    def assert_refused(self, process, status, *words):
        """One line on standard error, the right status, and the words in it."""
        self.assertEqual(process.returncode, status, process.stderr)
        lines = [line for line in process.stderr.splitlines() if line]
        self.assertEqual(len(lines), 1, process.stderr)
        for word in words:
            self.assertIn(word, lines[0])


def main():
    result = unittest.main(module="__main__", exit=False, verbosity=1).result
    sys.exit(0 if result.wasSuccessful() else 1)
