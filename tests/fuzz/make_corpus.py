#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the first files of the fuzz corpus: small ones of every kind that readers take.

Usage: make_corpus.py BUILD   (a build folder with the tools; needs sox)
Files that fuzzing found are added beside them by hand, named after what they broke.
"""
import json
import os
import struct
import subprocess
import sys
import tempfile

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "end_to_end"))
from harness import FLAC, MP3, OPUS, VORBIS, write_sound  # noqa: E402
SOURCE = os.path.join(HERE, "..", "..")
RATE = 8000
SAMPLES = (3000 * np.sin(np.arange(160) * 0.4)).astype("<i2")


def put(target, name, data):
    folder = os.path.join(HERE, "corpus", target)
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, name), "wb") as file:
        file.write(data if isinstance(data, bytes) else data.encode())


def chunk(name, body):
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def form(tag, channels, bits):
    align = channels * bits // 8
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, RATE, RATE * align, align, bits))


def wave(*chunks):
    body = b"WAVE" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def broadcast():
    texts = (b"two knocks".ljust(256, b"\0") + b"recorder".ljust(32, b"\0") + b"1".ljust(32, b"\0")
             + b"2026-03-14" + b"02:10:00")
    return chunk(b"bext", texts + struct.pack("<QH", 7800 * RATE, 1) + bytes(254))


def rf64():
    data = SAMPLES.tobytes()
    sizes = chunk(b"ds64", struct.pack("<QQQI", 80 + len(data), len(data), len(data) // 2, 0))
    return (b"RF64" + b"\xff" * 4 + b"WAVE" + sizes + form(1, 1, 16) + b"data" + b"\xff" * 4 + data)


def audio():
    data = SAMPLES.tobytes()
    put("audio_fuzz", "plain.wav", wave(form(1, 1, 16), chunk(b"data", data)))
    put("audio_fuzz", "broadcast.wav", wave(broadcast(), form(1, 2, 16), chunk(b"data", data)))
    put("audio_fuzz", "24-bit.wav", wave(form(1, 1, 24), chunk(b"data", data + data[:160])))
    put("audio_fuzz", "float.wav", wave(form(3, 1, 32), chunk(b"data", SAMPLES.astype("<f4").tobytes())))
    put("audio_fuzz", "cut-off.wav", wave(form(1, 1, 16), chunk(b"data", data))[:201])
    put("audio_fuzz", "size-0.wav", wave(form(1, 1, 16)) + b"data\0\0\0\0" + data)
    put("audio_fuzz", "size-all-ones.wav", wave(form(1, 1, 16)) + b"data\xff\xff\xff\xff" + data)
    put("audio_fuzz", "no-data.wav", wave(form(1, 1, 16)))
    put("audio_fuzz", "long.rf64", rf64())
    with tempfile.TemporaryDirectory() as folder:
        source = os.path.join(folder, "source.wav")
        with open(source, "wb") as file:
            file.write(wave(form(1, 1, 16), chunk(b"data", data)))
        for kind in ("aiff", "au", "caf", "flac", "w64", "ogg", "paf", "voc"):
            made = os.path.join(folder, "made." + kind)
            if subprocess.run(["sox", source, made], capture_output=True).returncode == 0:
                with open(made, "rb") as file:
                    put("audio_fuzz", "made." + kind, file.read())


def damaged():
    """Compressed sound with a hole, with a bad word, and without its end."""
    sound = np.random.default_rng(2).normal(0, 0.1, (RATE * 2, 1))
    for form, seconds, name in ((VORBIS, 2, "vorbis.ogg"), (OPUS, 2, "opus.ogg"), (FLAC, 0.8, "flac"), (MP3, 0.8, "mp3")):
        with tempfile.TemporaryDirectory() as folder:
            write_sound(os.path.join(folder, "whole"), sound[:int(seconds * RATE)], form, RATE)
            with open(os.path.join(folder, "whole"), "rb") as file:
                whole = file.read()
        middle = len(whole) * 6 // 10
        put("audio_fuzz", "whole." + name, whole)
        put("audio_fuzz", "hole." + name, whole[:middle] + whole[middle + 400:])
        put("audio_fuzz", "bad-word." + name, whole[:middle] + b"\x55" * 4 + whole[middle + 4:])
        put("audio_fuzz", "cut-end." + name, whole[:middle])


def miniseed(build):
    """Two channels of each encoding, and one with a hole, a bad word and without its end."""
    counts = (3000 * np.sin(np.arange(600) * 0.4)).astype("<i4").tobytes()
    for name, encoding, size in (("steim-1", 10, 256), ("steim-2", 11, 256), ("16-bit", 1, 512), ("32-bit", 3, 1024)):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "a")
            for station, start in (("A", 1773446400000000), ("B", 1773446400010000), ("A", 1773446400200000)):
                subprocess.run([os.path.join(build, "tests", "miniseed_writer"), path, station, "HHZ", str(RATE),
                                str(start), str(encoding), str(size)], input=counts, check=True)
            with open(path, "rb") as file:
                whole = file.read()
        put("audio_fuzz", f"{name}.mseed", whole)
        if encoding == 11:
            put("audio_fuzz", "hole.mseed", whole[:700] + whole[900:])
            put("audio_fuzz", "bad-word.mseed", whole[:600] + b"\x55" * 4 + whole[604:])
            put("audio_fuzz", "cut-end.mseed", whole[:-100])
            put("audio_fuzz", "bad-start.mseed", b"\xff" * 48 + whole[48:])


def shortened(path, rows):
    with open(path, encoding="utf-8") as file:
        return "".join(file.readlines()[:rows])


def texts(build):
    demo = os.path.join(SOURCE, "data", "demo")
    with open(os.path.join(demo, "session.json"), "rb") as file:
        put("session_fuzz", "demo.json", file.read())
    put("session_fuzz", "night.json", json.dumps({
        "format": "lull-session", "version": 1, "start": "2026-03-28T23:00:00", "time_zone": "Europe/Berlin",
        "recordings": [{"file": "1.wav"}, {"file": "2.wav", "start": "2026-03-29T03:30:00",
                                          "clock_checks": [{"recorder": "03:30:01", "reference": "03:30:00"}]}],
        "channels": [{"name": "a", "kind": "air", "track": 1, "recording": 2,
                      "sensitivity": {"value": 0.05, "unit": "V/Pa"}, "full_scale_V": 1.0, "gain_dB": 20}],
        "changes": [{"from": "2026-03-29T03:40:00", "channel": "a", "gain_dB": 30}]}))
    put("session_fuzz", "deep.json", "[" * 3000)
    with open(os.path.join(SOURCE, "data", "plans", "first-light.json"), "rb") as file:
        put("plan_fuzz", "first-light.json", file.read())
    put("tables_fuzz", "log.csv", shortened(os.path.join(demo, "log.csv"), 5).replace("void-mic", "ch1"))
    put("tables_fuzz", "judgements.csv",
        "when,reviewer,report,onset_s,channel,old_kind,judgement,new_kind,reason\r\n"
        "2026-03-15T09:00:00Z,B,ab12,31.6,ch1,tapping,agree,,\"clear, twice\"\r\n")
    put("tables_fuzz", "withheld.csv", "from_s,to_s\n1.5,2\n")
    put("sheet_fuzz", "sheet.csv", "time,kind,channel,x_m,y_m,note\n0:31,tapping,2,,,\n02:10:44,voice,1,1.5,2,\"a, b\"\n")
    put("sheet_fuzz", "bare.txt", "0:31;knocking;stairwell\n44;?;;\n")
    put("sheet_fuzz", "truth.csv", shortened(os.path.join(demo, "truth.csv"), 6))
    with tempfile.TemporaryDirectory() as folder:
        wav = os.path.join(folder, "take.wav")
        sound = np.random.default_rng(1).normal(0, 60, 16000)
        sound[8000:8400] += 9000 * np.exp(-np.arange(400) / 80) * np.sin(np.arange(400) * 0.9)
        with open(wav, "wb") as file:
            file.write(wave(form(1, 1, 16), chunk(b"data", sound.astype("<i2").tobytes())))
        out = os.path.join(folder, "out")
        subprocess.run([os.path.join(build, "lull-review"), "--quiet", wav, "-o", out], check=True)
        for name in ("events", "delays", "ranking", "noise"):
            rows = shortened(os.path.join(out, name + ".csv"), 4)
            put("tables_fuzz", name + ".csv", rows)
        put("sheet_fuzz", "events.csv", shortened(os.path.join(out, "events.csv"), 4))
        subprocess.run([os.path.join(build, "lull-review"), "--quiet", wav, "--unit", "0", "-o",
                        os.path.join(folder, "units")], check=True)
        with open(os.path.join(folder, "units", "unit-000000"), "rb") as file:
            unit = file.read()
        put("unit_fuzz", "two-seconds", unit[unit.index(b"\n") + 1 + 64:-64])
    put("unit_fuzz", "empty", bytes(5 * 8))
    last_unit(build)


def last_unit(build):
    """The second unit of a recording as in unit_fuzz.cpp: two channels at 4 kHz, 304 s."""
    rate, seconds = 4000, 304
    sound = np.random.default_rng(2).normal(0, 60, (rate * seconds, 2))
    for time_s in (300.5, 301.1, 301.7, 302.3):
        first = int(time_s * rate)
        sound[first:first + 400] += (9000 * np.exp(-np.arange(400) / 60) * np.sin(np.arange(400) * 0.9))[:, None]
    sound[303 * rate:303 * rate + 200] = 32767
    with tempfile.TemporaryDirectory() as folder:
        wav, units = os.path.join(folder, "take.wav"), os.path.join(folder, "units")
        head = chunk(b"fmt ", struct.pack("<HHIIHH", 1, 2, rate, rate * 4, 4, 16))
        with open(wav, "wb") as file:
            file.write(wave(head, chunk(b"data", sound.astype("<i2").tobytes())))
        subprocess.run([os.path.join(build, "lull-review"), "--quiet", wav, "--unit", "1", "-o", units], check=True)
        with open(os.path.join(units, "unit-000001"), "rb") as file:
            unit = file.read()
        put("unit_fuzz", "last-of-two", unit[unit.index(b"\n") + 1 + 64:-64])


def main():
    build = sys.argv[1]
    audio()
    damaged()
    miniseed(sys.argv[1])
    texts(build)


if __name__ == "__main__":
    main()
