# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads pictures of the page."""
import struct
import zlib

import numpy as np


def read_png(data):
    """Grey, 8 bit, not interlaced: ISO/IEC 15948, with its filters implemented here."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed, width, height = 8, b"", 0, 0
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour, *_ = struct.unpack(">IIBBBBB", body)
            assert (depth, colour) == (8, 0)
        packed += body if kind == b"IDAT" else b""
        at += 12 + size
    raw = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, width + 1).astype(int)
    image = np.zeros((height, width), int)
    for y, (rule, *line) in enumerate(raw):
        above = image[y - 1] if y else np.zeros(width, int)
        for x, value in enumerate(line):
            left, up = (image[y][x - 1] if x else 0), above[x]
            corner = above[x - 1] if x else 0
            guess = left + up - corner
            near = min((left, up, corner), key=lambda v: abs(guess - v))
            image[y][x] = (value + (0, left, up, (left + up) // 2, near)[rule]) % 256
    return image
