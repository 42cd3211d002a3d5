# SPDX-License-Identifier: GPL-3.0-or-later
"""The categories of sounds in the bench's tables: each a predicate of a judged scene and one of its sounds."""

SNRS = (-6, -3, 0, 3, 6, 10, 15, 20)
NAMES = {"tapping": "knocks", "voice-like": "voices", "horn": "horns"}
PEOPLE = ("walking", "handling", "digging", "people", "mixed")
MACHINES = ("engine", "generator", "pump", "saw", "breaker", "rotor")
WEATHER = ("rain", "wind", "traffic", "crowd")


def nearest_snr(snr_db):
    return min(SNRS, key=lambda snr: abs(snr - snr_db))


def LOUD(scene, row):
    return row["snr_db"] >= 6


CELLS = {
    "all": lambda s, r: True,
    "ground: calm": lambda s, r: s["ground"] == "calm",
    "ground: people about": lambda s, r: s["ground"] in PEOPLE,
    "ground: machines": lambda s, r: s["ground"] in MACHINES,
    "ground: weather, traffic, crowd": lambda s, r: s["ground"] in WEATHER,
    "ground: drips, clocks, doors": lambda s, r: s["ground"] == "things",
    "in ordered quiet": lambda s, r: r["state"] == "quiet",
    "during work": lambda s, r: r["state"] == "work",
    "recorded": lambda s, r: r["recorded"],
    "made by code": lambda s, r: not r["recorded"],
    **{f"of: {of}": lambda s, r, of=of: r["of"] == of
       for of in ("hand", "stone", "metal", "heel", "scratch", "call", "cry", "speech", "groan", "cough")},
    "best on a microphone": lambda s, r: r["by_air"],
    "best on a seismic sensor": lambda s, r: not r["by_air"],
    **{f"through {what}": lambda s, r, what=what: s["structure"] == what
       for what in ("slab", "rubble", "frame", "fill")},
    "1 channel": lambda s, r: s["channels"] == 1,
    "2 to 4 channels": lambda s, r: 2 <= s["channels"] <= 4,
    "5 channels and more": lambda s, r: s["channels"] >= 5,
    **{f"rate {rate} Hz": lambda s, r, rate=rate: s["rate_hz"] == rate for rate in (4000, 8000, 16000, 48000)},
}
TAP_CELLS = {
    "one blow": lambda s, r: r["taps"] == 1,
    "2 and 3 taps": lambda s, r: 2 <= r["taps"] <= 3,
    "4 to 6 taps": lambda s, r: 4 <= r["taps"] <= 6,
    "7 to 20 taps": lambda s, r: 7 <= r["taps"] <= 20,
    "more than 20 taps": lambda s, r: r["taps"] > 20,
    "under 0.3 s apart": lambda s, r: r["interval_s"] is not None and r["interval_s"] < 0.3,
    "0.3 to 1 s apart": lambda s, r: r["interval_s"] is not None and 0.3 <= r["interval_s"] < 1,
    "1 to 6 s apart": lambda s, r: r["interval_s"] is not None and r["interval_s"] >= 1,
}


def a_minute(scene):
    """Sounds and confusers a minute, each counted once whatever its length."""
    return 60 * scene["happenings"] / scene["duration_s"]


CROWDING = {
    "under 3 sounds a minute": lambda s: a_minute(s) < 3,
    "3 to 8 sounds a minute": lambda s: 3 <= a_minute(s) < 8,
    "8 and more sounds a minute": lambda s: a_minute(s) >= 8,
    "1 channel": lambda s: s["channels"] == 1,
    "2 to 4 channels": lambda s: 2 <= s["channels"] <= 4,
    "5 channels and more": lambda s: s["channels"] >= 5,
}
