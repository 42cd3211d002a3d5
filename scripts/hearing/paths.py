# SPDX-License-Identifier: GPL-3.0-or-later
"""From a point of the site to every channel: one short response each, the same for the same point.

A path is a delay (the speed varies from path to path), spreading, absorption, reflections and a
scattered tail. The tail's pattern is a smooth function of the source's position: sources within
some decimetres share most of it, sources metres apart share nothing. It is a sum of noises, each
weighted by a random wave over the site and shifted as the position shifts. Bending waves disperse:
the speed grows with the root of the frequency until shear limits it [Cremer, Heckl & Petersson,
Structure-Borne Sound], and a weak fast wave in the plane comes first.
"""
import numpy as np
from scipy import fft

from shaping import log_uniform
from worksite import sensor_response

LENGTH_S = 0.256
LEAD_S = 0.004  # time before the first wave
WAVES = 12  # number of noises that a tail is the sum of
CORRELATION_M = 0.6  # of the tail over the source's position
SHIFT_M = 0.5  # tails also shift with the position, by at most this
NEAREST_M = 0.4  # smallest distance: neither sources nor sensors are points
REFERENCE_HZ = 1000.0
IN_PLANE_M_S = 3200.0
SHEAR_M_S = 2100.0


def delays_as_phases(delays_s, f):
    """exp(-2 pi i f delay) for delays (...,) over equally spaced f from 0, as a coarse step times a fine
    one, which saves most exponentials."""
    delays_s = np.asarray(delays_s, float)[..., None]
    step = f[1] - f[0]
    fine = np.exp(-2j * np.pi * step * np.arange(32) * delays_s).astype(np.complex64)
    blocks = -(-len(f) // 32)
    coarse = np.exp(-2j * np.pi * step * 32 * np.arange(blocks) * delays_s).astype(np.complex64)
    whole = coarse[..., :, None] * fine[..., None, :]
    return whole.reshape(*whole.shape[:-2], -1)[..., :len(f)]


class Smooth:
    """A random field over positions, one value a row, mean 0 and variance 1 everywhere."""

    def __init__(self, rng, rows, reach_m):
        self.waves = rng.standard_normal((rows, 3)) / reach_m
        self.phases = rng.uniform(0, 2 * np.pi, rows)

    def at(self, position):
        return np.sqrt(2) * np.cos(self.waves @ position + self.phases)


class Paths:
    """response(position, medium) -> (first frame of each channel, responses channels x taps)."""

    def __init__(self, site, length_s=LENGTH_S):
        self.site = site
        self.taps = int(round(length_s * site.rate))
        self.f = fft.rfftfreq(self.taps, 1 / site.rate)
        rng = site.rng("paths")
        channels = site.channels
        self.count = len(channels)
        self.places = np.array([c.position_m for c in channels])
        self.air = np.array([c.kind == "air" for c in channels])
        self.clocks = np.array([c.clock_s for c in channels])
        self.sensors = np.array([sensor_response(c, self.f) for c in channels])
        self.fade = np.ones(self.taps, np.float32)
        edge = self.taps // 8
        self.fade[-edge:] = np.linspace(1, 0, edge) ** 2
        self.speeds = Smooth(rng, self.count, 4.0)
        self.spread = rng.uniform(0.03, 0.12)
        self.weights = Smooth(rng, self.count * WAVES, CORRELATION_M)
        self.slopes = rng.standard_normal((WAVES, 3)) / np.sqrt(3) / SHIFT_M
        self.tails = self._noises(rng, self.count, site.tail_s, site.quality)
        # A microphone stands on or near something that sounds, and a voice vibrates what is near it.
        self.picked_up = 10 ** (rng.uniform(-35, -12, self.count) / 20)
        self.radiated = 10 ** (rng.uniform(-30, -8) / 20)
        self.entered = 10 ** (rng.uniform(-32, -12) / 20)
        self.entered_hz = log_uniform(rng, 200, 700)
        self.room_weights = Smooth(rng, self.count * WAVES, 0.5 * CORRELATION_M)
        self.rooms = self._noises(rng, self.count, site.room_s, 400.0)
        self.covers = Smooth(rng, self.count, 2.5)  # obstruction between a voice and a microphone
        self.cover_hz = log_uniform(rng, 400, 3000)
        self.kept = {}

    def _noises(self, rng, rows, decay_s, quality):
        """Spectra of decaying noises, rows x waves x bins; each row has unit energy. High frequencies are
        absorbed on their longer way."""
        t = np.arange(self.taps) / self.site.rate
        t = t - LEAD_S
        noise = rng.standard_normal((rows, WAVES, self.taps), dtype=np.float32)
        thirds = np.minimum(self.f[None, :] / np.array([200, 700, 1e9])[:, None], 1)
        kept = np.array([np.exp(-thirds[0] ** 4), np.exp(-thirds[1] ** 4)])
        split = [kept[0], kept[1] - kept[0], 1 - kept[1]]
        spectra = fft.rfft(noise, axis=-1)
        total = 0
        for share, hz in zip(split, (100.0, 400.0, 1500.0)):
            fall = 6.9 / decay_s + np.pi * hz / quality
            rise = np.clip(t / 0.003, 0, 1)
            envelope = (rise * np.exp(-fall * np.maximum(t, 0)) * self.fade).astype(np.float32)
            part = fft.irfft(spectra * share.astype(np.float32), self.taps, axis=-1) * envelope
            total = total + part
        total /= np.sqrt(np.mean(np.sum(total ** 2, axis=-1), axis=-1))[:, None, None]
        return fft.rfft(total / np.float32(np.sqrt(WAVES)), axis=-1)

    def distances(self, position):
        return np.maximum(NEAREST_M, np.linalg.norm(self.places - position, axis=1))

    def delays(self, position):
        """Seconds to each channel at the reference frequency, along the structure."""
        uneven = np.clip(1 + self.spread * self.speeds.at(position), 0.5, 1.6)
        return self.distances(position) / (self.site.speed_m_s * uneven)

    def _scattered(self, noises, weights, position, speed_m_s):
        weight = weights.at(position).reshape(self.count, 1, WAVES).astype(np.float32)
        shifts = SHIFT_M / speed_m_s * np.sin(self.slopes @ position)
        return (weight @ (noises * delays_as_phases(shifts, self.f)))[:, 0]

    def _main_wave(self, way_m, delay_s, earliest_s):
        """One wave over `way_m`, as phases from `earliest_s` on; bending waves disperse."""
        site = self.site
        absorbed = np.exp(-np.pi / site.quality * np.outer(delay_s, self.f)).astype(np.float32)
        spread = (way_m ** -site.spreading)[:, None].astype(np.float32)
        if not site.bending:
            return spread * absorbed * delays_as_phases(delay_s - earliest_s + LEAD_S, self.f)
        f = np.maximum(self.f, 20.0)
        speed = way_m / delay_s  # of each path at the reference frequency
        bending = speed[:, None] * np.sqrt(f / REFERENCE_HZ)
        speeds = (bending ** -3 + SHEAR_M_S ** -3) ** (-1 / 3)
        lag = way_m[:, None] / speeds - earliest_s[:, None] + LEAD_S
        return spread * absorbed * np.exp(-2j * np.pi * self.f * lag).astype(np.complex64)

    def _through_structure(self, position):
        site = self.site
        way, delay = self.distances(position), self.delays(position)
        earliest = way / IN_PLANE_M_S if site.bending else delay
        direct = self._main_wave(way, delay, earliest)
        speed = way / delay
        for point, normal, amplitude in site.planes:
            image = position - 2 * np.dot(position - point, normal) * normal
            longer = self.distances(image)
            direct = direct + amplitude * self._main_wave(longer, longer / speed, earliest)
        if site.bending:
            direct = direct + np.float32(0.12) * (way ** -0.5)[:, None] * delays_as_phases(
                np.full(self.count, LEAD_S), self.f)
        tail_at = delay - earliest if not site.bending else 0.5 * (delay - earliest)
        ratio = np.sqrt(10 ** (site.tail_db / 10) * way / 10)
        scattered = self._scattered(self.tails, self.weights, position, site.speed_m_s)
        tail = (ratio * way ** -site.spreading)[:, None] * scattered * delays_as_phases(
            tail_at, self.f)
        absorbed = np.exp(-np.pi / site.quality * np.outer(delay, self.f))
        return earliest, direct + tail * absorbed

    def _through_air(self, position):
        site = self.site
        way = self.distances(position)
        delay = way / site.sound_speed_m_s
        direct = (1 / way)[:, None] * delays_as_phases(np.full(self.count, LEAD_S), self.f)
        # Behind rubble the direct sound loses high frequencies and the reverberation remains.
        cover = np.clip(self.covers.at(position), 0, 1.4)
        direct = direct * (1 + (self.f / self.cover_hz) ** 2)[None, :] ** (-0.5 * cover[:, None])
        direct = direct * (10 ** (-8 * cover / 20))[:, None]
        tail = self._scattered(self.rooms, self.room_weights, position, site.sound_speed_m_s)
        level = 10 ** (site.room_db / 20) * np.minimum(1 / 3, 1 / way)
        return delay, direct + level[:, None] * tail

    def response(self, position, medium):
        """medium: structure (a blow) or air (a voice). Kept for the same millimetre."""
        position = np.round(np.asarray(position, float), 3)
        key = (tuple(position), medium)
        if key in self.kept:
            return self.kept[key]
        first, h = self._through_structure(position)
        if medium == "air" or self.air.any():
            heard_at, in_air = self._through_air(position)
            if medium == "air":
                h = h * (self.entered / (1 + 1j * self.f / self.entered_hz))
                first = np.where(self.air, heard_at, first)
                h = np.where(self.air[:, None], in_air, h)
            else:
                later = delays_as_phases(np.minimum(heard_at - first, 0.5 * LENGTH_S), self.f)
                both = h * self.picked_up[:, None] + self.radiated * in_air * later
                h = np.where(self.air[:, None], both, h)
        start = (first + self.clocks - LEAD_S) * self.site.rate
        whole = np.floor(start).astype(int)
        h = h * self.sensors * delays_as_phases((start - whole) / self.site.rate, self.f)
        taps = fft.irfft(h.astype(np.complex64), self.taps, axis=-1) * self.fade
        if len(self.kept) < 64:
            self.kept[key] = whole, taps
        return whole, taps

    def at_sensor(self, channel):
        """The response to handling of the sensor itself."""
        lead = delays_as_phases(np.array([LEAD_S]), self.f)[0]
        return fft.irfft(self.sensors[channel] * lead, self.taps) * self.fade
