# SPDX-License-Identifier: GPL-3.0-or-later
"""What happens on a site: sounds that people or things make, before any sensor hears them."""
import dataclasses

import numpy as np


@dataclasses.dataclass
class Part:
    """A sound from one place."""
    at_s: float  # time at which it leaves the source
    wave: np.ndarray
    position_m: np.ndarray
    medium: str = "structure"  # or air, or sensor: handling of one channel
    channel: int = -1  # for medium sensor


@dataclasses.dataclass
class Happening:
    """Parts that belong together and have one gain, which the wanted SNR on the best channel sets."""
    role: str
    cause: str  # what it is: hand, call, walking, ...
    kind: str  # tapping, voice-like, horn; empty: another kind
    snr_db: float
    parts: list
    source: str = "made"
    neither_for: tuple = ()  # kinds for which a find of it is neither found nor false
    lasting: bool = False  # measured like a voice: the louder half
    logged: bool = False

    @property
    def from_s(self):
        return min(part.at_s for part in self.parts)
