# SPDX-License-Identifier: GPL-3.0-or-later
"""From a drawn scene to samples and truth: beds first, then each happening at its wanted SNR.

The floor is measured on the beds alone, per channel, as a running median. A happening's parts are
heard on all channels; one gain for all of them brings its SNR on the best channel to what was
wanted: of knocks the median over the blows, of a voice its louder half.
"""
import dataclasses

import numpy as np
from scipy import fft

import beds
from paths import Paths
from shaping import band_response, floor_track, lasting_power, short_power

SETTLE_S = 0.03  # ringing of the band's filter
MEASURED_PARTS = 60  # parts of a long happening used for its level
ONSET_SHARE = 0.1  # of the largest in-band sample: -20 dB


@dataclasses.dataclass
class Stem:
    """One part on its channels: rows of samples, each with its first frame."""
    channels: np.ndarray
    starts: np.ndarray
    samples: np.ndarray
    band: np.ndarray


def hear(paths, part):
    site = paths.site
    if part.medium == "sensor":
        channels = np.array([part.channel])
        starts, taps = np.zeros(1, int), paths.at_sensor(part.channel)[None]
    else:
        channels = np.arange(paths.count)
        starts, taps = paths.response(part.position_m, part.medium)
    n = len(part.wave) + taps.shape[1] + int(SETTLE_S * site.rate)
    size = fft.next_fast_len(n, real=True)
    spectra = fft.rfft(np.asarray(part.wave, np.float32), size) * fft.rfft(
        taps.astype(np.float32), size, axis=1)
    samples = fft.irfft(spectra, size, axis=1)[:, :n]
    band = fft.irfft(spectra * band_response(size, site.rate), size, axis=1)[:, :n]
    return Stem(channels, starts + int(round(part.at_s * site.rate)), samples, band)


class Rendering:
    """The rendered scene: `samples` channels x frames, floors and the truth's rows."""

    keeps_stems = False

    def __init__(self, scene):
        self.scene, self.site = scene, scene.site
        self.paths = Paths(self.site)
        self.samples = np.zeros((len(self.site.channels), self.site.frames), np.float32)
        for bed in scene.beds:
            self.add_bed(bed)
        self.floors = np.array([floor_track(row, self.site.rate) for row in self.samples])
        self.floors = np.maximum(self.floors, 1e-20)
        self.heard = [self.add(one) for one in scene.happenings]

    def add_bed(self, bed):
        beds.add(bed, self.site, self.paths, self.scene.makers, self.scene.library, self.samples)

    def floors_at(self, stem):
        seconds = np.clip(stem.starts // self.site.rate, 0, self.floors.shape[1] - 1)
        return self.floors[stem.channels, seconds]

    def snrs(self, stems, lasting):
        """Power over the floor, parts x channels, NaN where a part is not heard; and the power."""
        power = np.full((len(stems), len(self.site.channels)), np.nan)
        floor = np.ones_like(power)
        for k, stem in enumerate(stems):
            power[k, stem.channels] = [lasting_power(row[first:last], self.site.rate) for row, (
                first, last) in zip(stem.band, sounding(stem.band))] if lasting else short_power(
                stem.band, self.site.rate)
            floor[k, stem.channels] = self.floors_at(stem)
        return power / floor, power

    def add(self, one):
        few = one.parts if one.role != "confuser" else one.parts[::-(-len(one.parts) // MEASURED_PARTS)]
        stems = [hear(self.paths, part) for part in few]
        over, power = self.snrs(stems, one.lasting)
        with np.errstate(invalid="ignore", divide="ignore"):
            pick = np.nanmedian if one.kind == "tapping" else np.nanmax
            channel_over = np.nan_to_num(collapsed(pick, over), nan=0.0)
            channel_power = np.nan_to_num(collapsed(pick, power), nan=0.0)
        best = int(np.argmax(channel_over))
        gain = np.sqrt(10 ** (one.snr_db / 10) / max(channel_over[best], 1e-30))
        for stem in stems if few is one.parts or len(few) == len(one.parts) else (
                hear(self.paths, part) for part in one.parts):
            self.lay(stem, gain)
        return {"one": one, "best": best, "gain": gain, "over": channel_over * gain ** 2,
                "power": channel_power * gain ** 2,
                "parts_over": over * gain ** 2, "edges": self.edges(one, stems),
                "kept": stems if self.keeps_stems else []}

    def lay(self, stem, gain):
        for row, start, c in zip(stem.samples, stem.starts, stem.channels):
            first, last = max(0, start), min(self.site.frames, start + len(row))
            if last > first:
                self.samples[c, first:last] += np.float32(gain) * row[first - start:last - start]

    def edges(self, one, stems):
        """First and last second of each part on each channel: its clean sound over -20 dB. Only for lasting
        and wanted sounds; the times of others suffice."""
        if one.role == "confuser":
            return None
        edges = np.full((len(stems), len(self.site.channels), 2), np.nan)
        for k, stem in enumerate(stems):
            edges[k, stem.channels] = (sounding(stem.band) + stem.starts[:, None]) / self.site.rate
        return edges


def sounding(band):
    """First and last frame of each row over -20 dB of its largest."""
    loud = np.abs(band) > ONSET_SHARE * np.abs(band).max(axis=1, keepdims=True)
    return np.stack([np.argmax(loud, axis=1), loud.shape[1] - np.argmax(loud[:, ::-1], axis=1)], 1)


def collapsed(pick, values):
    """pick over parts. A channel that heard none stays NaN, without a warning."""
    heard = ~np.isnan(values).all(axis=0)
    result = np.full(values.shape[1], np.nan)
    if heard.any():
        result[heard] = pick(values[:, heard], axis=0)
    return result


def recorded(rendering):
    """Gains of the recorder: full scale 1.0, one gain for all channels of a kind except for changes in the
    session. What is too strong clips, like a handled sensor."""
    site, samples = rendering.site, rendering.samples
    rng = site.rng("recorder")
    scales = np.ones(len(site.channels))
    for kind in ("seismic", "air"):
        rows = [c for c, channel in enumerate(site.channels) if channel.kind == kind]
        if not rows:
            continue
        own = 10 ** (rng.uniform(-88, -66) / 20) / np.mean([site.channels[c].self_noise for c in rows])
        told = np.array([10 ** (site.channels[c].gain_db / 20) for c in rows])
        loud = max(np.quantile(np.abs(samples[c, ::7]), 0.9999) * g for c, g in zip(rows, told))
        scales[rows] = min(own, 0.5 / max(loud, 1e-30)) * told
    for row, scale in zip(samples, scales):
        row *= np.float32(scale)
        np.clip(row, -1, 1, out=row)
    return scales
