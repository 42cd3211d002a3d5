# SPDX-License-Identifier: GPL-3.0-or-later
"""A scene's folder: the recording (24 bit), its session, the team's log and the truth."""
import csv
import json
import struct

import numpy as np


def write_wav(path, samples, rate):
    """channels x frames, full scale 1.0, as 24-bit PCM; RF64 is not needed under 4 GiB."""
    channels, frames = samples.shape
    size = frames * channels * 3
    with open(path, "wb") as file:
        file.write(b"RIFF" + struct.pack("<I", 36 + size + size % 2) + b"WAVEfmt " + struct.pack(
            "<IHHIIHH", 16, 1, channels, rate, rate * channels * 3, channels * 3, 24)
            + b"data" + struct.pack("<I", size))
        for first in range(0, frames, 1 << 18):
            block = samples[:, first:first + (1 << 18)].T
            whole = np.clip(np.rint(block * np.float32(2 ** 23)), -2 ** 23, 2 ** 23 - 1)
            file.write(np.ascontiguousarray(
                whole.astype("<i4").reshape(-1, 1).view(np.uint8)[:, :3]).tobytes())
        file.write(b"\0" * (size % 2))


def read_wav(path):
    """Reads a file of write_wav: float32, channels x frames."""
    with open(path, "rb") as file:
        header = file.read(44)
        channels, (size,) = struct.unpack_from("<H", header, 22)[0], struct.unpack_from("<I", header, 40)
        raw = np.frombuffer(file.read(size), np.uint8).reshape(-1, 3)
    whole = np.zeros((len(raw), 4), np.uint8)
    whole[:, 1:] = raw
    return (whole.view("<i4").reshape(-1, channels).T / np.float32(2 ** 31)).astype(np.float32)


def session_of(scene):
    channels = []
    for k, channel in enumerate(scene.site.channels, 1):
        row = {"name": channel.name, "kind": channel.kind, "track": k,
               "position_m": [round(float(v), 2) for v in channel.position_m],
               "position_sigma_m": 0.3}
        if channel.gain_db:
            row["gain_dB"] = channel.gain_db
        channels.append(row)
    return {"format": "lull-session", "version": 1,
            "label": f"made scene: {scene.side}, {scene.ground}, {scene.seed}",
            "recordings": [{"file": "recording.wav"}], "channels": channels}


def clock(at_s):
    return f"{int(at_s) // 60}:{int(at_s) % 60:02d}"


def write(folder, scene, samples, truth):
    folder.mkdir(parents=True, exist_ok=True)
    write_wav(folder / "recording.wav", samples, scene.site.rate)
    (folder / "session.json").write_text(json.dumps(session_of(scene), indent=2) + "\n")
    (folder / "truth.json").write_text(json.dumps(truth, indent=1) + "\n")
    (folder / "log.csv").unlink(missing_ok=True)
    if scene.log:
        with open(folder / "log.csv", "w", newline="") as file:
            out = csv.writer(file, lineterminator="\n")
            out.writerow(["time", "person", "action", "channels", "text"])
            out.writerows([clock(t), *more] for t, *more in scene.log)
