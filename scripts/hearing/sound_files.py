# SPDX-License-Identifier: GPL-3.0-or-later
"""Decodes a sound file as Debian packages carry them, and takes members out of their archives."""
import ctypes
import io
import struct
import wave
import zipfile
import zlib

import numpy as np
import soundfile

RAW_RATE_HZ = {".g722": 16000, ".gsm": 8000}


class FileError(Exception):
    """A file that cannot be decoded: which one, and why."""


def decode(path):
    """Mono samples in [-1, 1] as float32 without a constant offset, and their rate in Hz.

    The offset is the median: in a file of a few blows the mean is the blows' own."""
    suffix = path.suffix.lower()
    try:
        if suffix == ".g722":
            samples, rate_hz = decode_g722(path.read_bytes()), RAW_RATE_HZ[suffix]
        elif suffix == ".gsm":
            samples, rate_hz = soundfile.read(path, dtype="float32", format="RAW", channels=1,
                                              subtype="GSM610", samplerate=RAW_RATE_HZ[suffix])
        else:
            samples, rate_hz = soundfile.read(path, dtype="float32")
    except (OSError, RuntimeError) as fault:
        raise FileError(f"{path}: cannot be decoded: {fault}") from fault
    if samples.ndim > 1:
        samples = samples.mean(axis=1)
    samples = np.nan_to_num(samples.astype(np.float32))
    return samples - np.median(samples) if len(samples) else samples, rate_hz


def decode_g722(coded):
    """ITU-T G.722 at 64 kbit/s by libspandsp: two samples of 16 kHz for each byte."""
    library = ctypes.CDLL("libspandsp.so.2")
    library.g722_decode_init.restype = ctypes.c_void_p
    library.g722_decode_init.argtypes = [ctypes.c_void_p, ctypes.c_int, ctypes.c_int]
    library.g722_decode.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_char_p, ctypes.c_int]
    library.g722_decode_free.argtypes = [ctypes.c_void_p]
    state = library.g722_decode_init(None, 64000, 0)
    samples = np.zeros(2 * len(coded) + 16, np.int16)
    count = library.g722_decode(state, samples.ctypes.data, coded, len(coded))
    library.g722_decode_free(state)
    return samples[:count].astype(np.float32) / 32768


def members(name, data):
    """What an archive holds, as (member, bytes) pairs, or None where the file is no archive."""
    lower = name.lower()
    if lower.endswith((".zip", ".pk3", ".jar")):
        return zip_members(data)
    if lower.endswith(".cat"):
        return catalogue_members(data)
    if lower.endswith(".wad"):
        return lump_members(data)
    if lower.endswith(".ocg"):
        return nested_members(data)
    return None


def zip_members(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in sorted(archive.namelist()):
            if not name.endswith("/"):
                yield name, archive.read(name)


def catalogue_members(data):
    """A catalogue of WAV files: a table of offset and size, then each file after its own name. The first
    offset shows where the table ends."""
    first = struct.unpack_from("<I", data)[0] & 0x7FFFFFFF
    for number in range(first // 8):
        offset, size = struct.unpack_from("<II", data, 8 * number)
        offset &= 0x7FFFFFFF
        start = offset + 1 + data[offset]
        if data[start:start + 4] == b"RIFF":
            yield f"{number:03d}.wav", data[start:start + size]


def lump_members(data):
    """Sound lumps of a game's bank: format 3, rate, count, then unsigned bytes padded by 16 a side."""
    count, table = struct.unpack_from("<II", data, 4)
    for number in range(count):
        offset, size, name = struct.unpack_from("<II8s", data, table + 16 * number)
        if size < 48 or struct.unpack_from("<H", data, offset)[0] != 3 or not name.startswith(b"DS"):
            continue
        rate_hz, frames = struct.unpack_from("<HI", data, offset + 2)
        out = io.BytesIO()
        with wave.open(out, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(1)
            file.setframerate(rate_hz)
            file.writeframes(data[offset + 24:offset + 8 + frames - 16])
        yield name.rstrip(b"\0").decode("ascii").lower() + ".wav", out.getvalue()


def nested_members(data):
    """A packed folder: gzip under another magic number, a masked header of 204 bytes with the count
    at byte 36, entries of 316 bytes, then the members, which may be folders packed in the same way."""
    if data[:2] == b"\x1e\x8c":
        data = zlib.decompressobj(31).decompress(b"\x1f\x8b" + data[2:])
    header = bytearray(data[:204])
    for i in range(0, 202, 3):
        header[i], header[i + 2] = header[i + 2], header[i]
    count = struct.unpack_from("<i", bytes(byte ^ 237 for byte in header), 36)[0]
    for number in range(count):
        entry = 204 + 316 * number
        name = data[entry:entry + 260].split(b"\0")[0].decode("latin-1")
        is_folder, size, _, offset = struct.unpack_from("<4i", data, entry + 264)
        start = 204 + 316 * count + offset
        member = data[start:start + size]
        if is_folder:
            yield from ((f"{name}/{inner}", held) for inner, held in nested_members(member))
        else:
            yield name, member
