# SPDX-License-Identifier: GPL-3.0-or-later
"""Shared by the end-to-end tests: runs the real executables and makes small recordings."""
import csv
import ctypes
import json
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

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


class SoundInfo(ctypes.Structure):
    """libsndfile's SF_INFO."""
    _fields_ = [("frames", ctypes.c_int64), ("samplerate", ctypes.c_int), ("channels", ctypes.c_int),
                ("format", ctypes.c_int), ("sections", ctypes.c_int), ("seekable", ctypes.c_int)]


VORBIS, OPUS, FLAC, MP3 = 0x200060, 0x200064, 0x170002, 0x230082  # libsndfile's numbers


def write_sound(path, samples, form, rate):
    """samples: as in write_wav. libsndfile itself compresses them."""
    sndfile = ctypes.CDLL("libsndfile.so.1")
    sndfile.sf_open.restype = ctypes.c_void_p
    sndfile.sf_writef_float.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int64]
    sndfile.sf_close.argtypes = [ctypes.c_void_p]
    samples = np.ascontiguousarray(samples, dtype=np.float32)
    file = sndfile.sf_open(path.encode(), 0x20, ctypes.byref(SoundInfo(0, rate, samples.shape[1], form, 0, 0)))
    for first in range(0, len(samples), 1600):
        part = np.ascontiguousarray(samples[first:first + 1600])
        sndfile.sf_writef_float(file, part.ctypes.data, len(part))
    sndfile.sf_close(file)


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
    """A test with its own empty folder."""
    in_memory = False  # for many small runs, whose syncs then need not wait for a disk

    def setUp(self):
        memory = "/dev/shm" if self.in_memory and os.access("/dev/shm", os.W_OK | os.X_OK) else None
        self.folder = tempfile.mkdtemp(prefix="lull-test-", dir=memory)
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)

    def path(self, *parts):
        return os.path.join(self.folder, *parts)

    def assert_refused(self, process, status, *words):
        """Expects one line on standard error, the right status, and the words in the line."""
        self.assertEqual(process.returncode, status, process.stderr)
        lines = [line for line in process.stderr.splitlines() if line]
        self.assertEqual(len(lines), 1, process.stderr)
        for word in words:
            self.assertIn(word, lines[0])


class AtOnce(unittest.TextTestRunner):
    """Runs several tests at once, for tests that mostly wait for programs and share nothing."""

    def __init__(self, count):
        super().__init__()
        self.count = count

    def run(self, test):
        result = self._makeResult()

        def each(suite):
            for one in suite:
                yield from each(one) if isinstance(one, unittest.TestSuite) else [one]

        def run_one(one):
            own = unittest.TestResult()
            one.run(own)
            return own
        with ThreadPoolExecutor(self.count) as pool:
            for own in pool.map(run_one, each(test)):
                result.testsRun += own.testsRun
                for kind in ("errors", "failures", "skipped", "unexpectedSuccesses"):
                    getattr(result, kind).extend(getattr(own, kind))
        result.printErrors()
        print(f"Ran {result.testsRun} tests, {len(result.skipped)} skipped", *(why for _, why in result.skipped))
        return result


def main(at_once=1):
    """With several tests at once. Such tests may not have class fixtures."""
    runner = AtOnce(at_once) if at_once > 1 else None
    result = unittest.main(module="__main__", exit=False, verbosity=1, testRunner=runner).result
    sys.exit(0 if result.wasSuccessful() and result.testsRun > 0 else 1)
