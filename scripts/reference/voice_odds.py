#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes tests/detect/data/voice_odds.json: log bands by NumPy and log odds by PyTorch for two channels of
made sound, which the library's own must equal.

    scripts/reference/voice_odds.py voice.npz     (weights as scripts/train/voice_network.py fitted them)
"""
import json
import pathlib
import sys

import numpy as np
import torch

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts/train"))
import log_bands  # noqa: E402
import voice_network  # noqa: E402

FRAMES, SHOWN = 250, range(0, 250, 31)


def sounds():
    """Noise of Knuth's linear congruential generator [MMIX], and on the first channel a gliding call."""
    state, values = 1, []
    for _ in range(2 * FRAMES * log_bands.HOP):
        state = (state * 6364136223846793005 + 1442695040888963407) % 2 ** 64
        values.append((state >> 40) / 2 ** 24 - 0.5)
    noise = 0.02 * np.array(values).reshape(2, -1)
    t = np.arange(noise.shape[1]) / log_bands.RATE_HZ
    call = sum(np.sin(2 * np.pi * k * (220 * t + 12 * t ** 2)) / k for k in range(1, 9))
    noise[0] += 0.05 * call * ((t > 1.5) & (t < 2.6))
    return noise.astype(np.float32)


def main():
    bands = np.stack([log_bands.log_bands(row) for row in sounds()])
    net = voice_network.network()
    with np.load(sys.argv[1]) as file:
        net.load_state_dict({name: torch.from_numpy(file[name]) for name in file.files})
    net.eval()
    kinds = np.array([1.0, -1.0], np.float32)
    rows = np.concatenate([bands, np.broadcast_to(kinds[:, None, None], (*bands.shape[:2], 1))], 2)
    with torch.no_grad():
        own, every = net(torch.from_numpy(rows.transpose(0, 2, 1).copy())[None], torch.ones(1, 2, dtype=torch.bool))
    path = ROOT / "tests/detect/data/voice_odds.json"
    path.write_text(json.dumps({
        "frames": list(SHOWN), "bands": [[round(float(v), 5) for v in bands[c, t]] for c in (0, 1) for t in SHOWN],
        "own": [[round(float(v), 5) for v in own[c, 0][list(SHOWN)]] for c in (0, 1)],
        "all": [round(float(v), 5) for v in every[0, 0][list(SHOWN)]]}) + "\n")


if __name__ == "__main__":
    main()
