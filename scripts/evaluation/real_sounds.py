# SPDX-License-Identifier: GPL-3.0-or-later
"""Scenes of recorded impulses that Debian packages carry (never copied into the project): objects
struck, placed and dug, drums, footsteps, keys. For judging only: nothing is fitted to them.

LULL_REAL_SOUNDS names the folder under which the packages minetest-data, lmms-common and
bucklespring-data were unpacked (default /usr/share).
"""
import ctypes
import functools
import glob
import os
import re

import numpy as np
from scipy import signal

import scenes

ROOT = os.environ.get("LULL_REAL_SOUNDS", "/usr/share")
STRUCK = re.compile(r"(default_(place_node|dug_node|dug_metal|dig_choppy|dig_cracky|dig_metal|"
                    r"hard_footstep|wood_footstep|metal_footstep)|drums/(wood|rim|tom|kick_soft|"
                    r"kick0|snare_rim|snare_acoustic|clap)|misc/hit|latin/)")
STEPS = re.compile(r"default_(gravel|dirt|grass|sand|snow|wood|hard|metal)_footstep")
SITES = ["quiet", "typing", "walking", "working"]


@functools.lru_cache(maxsize=None)
def files():
    return tuple(f for f in sorted(glob.glob(ROOT + "/**/minetest/**/sounds/*.ogg", recursive=True)
                        + glob.glob(ROOT + "/**/lmms/samples/**/*.ogg", recursive=True)
                        + glob.glob(ROOT + "/**/buckle/wav/*.wav", recursive=True))
                 if open(f, "rb").read(4) == (b"RIFF" if f.endswith("wav") else b"OggS"))


class Info(ctypes.Structure):
    """SF_INFO of libsndfile, which reads what these packages hold."""
    _fields_ = [("frames", ctypes.c_int64)] + [(name, ctypes.c_int) for name in (
        "rate", "channels", "format", "sections", "seekable")]


@functools.lru_cache(maxsize=None)
def load(path):
    library = ctypes.CDLL("libsndfile.so.1")
    library.sf_open.restype = ctypes.c_void_p
    library.sf_readf_float.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int64]
    library.sf_close.argtypes = [ctypes.c_void_p]
    info = Info()
    file = library.sf_open(path.encode(), 0x10, ctypes.byref(info))
    raw = np.zeros((info.frames, info.channels), np.float32)
    library.sf_readf_float(file, raw.ctypes.data, info.frames)
    library.sf_close(file)
    x = signal.resample_poly(raw.mean(axis=1).astype(float), scenes.RATE, info.rate)
    x = x[:int(0.8 * scenes.RATE)]
    loud = np.nonzero(np.abs(x) > 0.02 * np.abs(x).max())[0]
    return x[max(0, loud[0] - 16):loud[-1] + 1] if len(loud) else x


def pick(pattern):
    return [f for f in files() if pattern.search(f)]


def lay(x, sound, at, power):
    scenes.put(x, sound, at, np.sqrt(power / max(1e-12, scenes.peak_energy(sound))))


def scene(seed, site, seconds, snr_db, what):
    """As scenes.scene: samples and truth rows; knocks are groups of 2-6 of one recorded sound."""
    rng = np.random.default_rng(seed)
    n = int(seconds * scenes.RATE)
    x = 0.01 * scenes.coloured(rng, n, rng.uniform(0, 2)) * scenes.slow(rng, n, 5, 0.15)
    noise = scenes.in_band(x)
    floor = np.median(np.mean(noise[:n // 800 * 800].reshape(-1, 800) ** 2, axis=1))
    level = floor * 10 ** (rng.uniform(5, 20) / 10)
    keys = [f for f in files() if "/buckle/" in f]
    at = rng.uniform(1, 6)
    while at < seconds - 12 and site != "quiet":
        until = at + rng.uniform(3, 10)
        if site == "typing":
            while at < until:
                lay(x, load(keys[rng.integers(len(keys))]), at, level * 10 ** (rng.normal(0, 3) / 10))
                at += rng.exponential(0.15) + 0.06
        elif site == "walking":
            steps = [f for f in pick(STEPS)]
            kind = STEPS.search(steps[rng.integers(len(steps))]).group(1)
            own = [f for f in steps if f"_{kind}_" in f]
            pace = rng.uniform(0.42, 0.7)
            while at < until:
                lay(x, load(own[rng.integers(len(own))]), at, level * 10 ** (rng.normal(0, 2) / 10))
                at += pace * (1 + 0.05 * rng.standard_normal())
        else:  # hammering: a run of blows too long for a group
            own = pick(STRUCK)
            blow, pace = own[rng.integers(len(own))], rng.uniform(0.3, 0.9)
            until += 4
            while at < until:
                lay(x, load(blow), at, level * 10 ** (rng.normal(0, 1.5) / 10))
                at += pace * (1 + 0.06 * rng.standard_normal())
        at += rng.uniform(3, 15)
    truth, at = [], rng.uniform(7, 12)
    struck = pick(STRUCK)
    while what == "knocks" and at < seconds - 9:
        sound, taps, pace = load(struck[rng.integers(len(struck))]), rng.integers(2, 7), np.exp(
            rng.uniform(np.log(0.15), np.log(1.0)))
        times = []
        for _ in range(taps):
            times.append(float(at))
            lay(x, sound, at, floor * 10 ** ((snr_db + rng.normal(0, 1.5)) / 10))
            at += max(0.1, pace * (1 + 0.08 * rng.standard_normal()))
        truth.append((times[0], times[-1], "tapping", snr_db, times))
        at += rng.uniform(6, 14)
    return x.astype(np.float32), truth
