#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Was each channel fit to hear: every finding on recordings made by SciPy or SoX, and none on healthy ones."""
import shutil
import subprocess
import unittest

from harness import Folder, main, np, rows_of, run, write_json, write_wav

try:
    from scipy import signal
except ImportError:
    print("SKIPPED: SciPy is not installed (python3-scipy)")
    raise SystemExit(77)

RATE = 8000
SECONDS = 60
FLOOR = 0.002


def ringing(random, modes_hz, length_s=0.2, decay_s=0.012):
    """A struck object, as SciPy's resonators ring."""
    impulse = np.zeros(int(length_s * RATE))
    impulse[0] = 1.0
    out = np.zeros_like(impulse)
    for hz in modes_hz:
        pole = np.exp(-1.0 / (decay_s * RATE) + 2j * np.pi * hz / RATE)
        out += random.uniform(0.5, 1.0) * signal.lfilter([0, pole.imag], [1, -2 * pole.real, abs(pole) ** 2], impulse)
    return out / np.max(np.abs(out))


def background(random, seconds=SECONDS, rms=FLOOR, rate=RATE):
    """Noise that falls with frequency, as ground noise does."""
    noise = signal.lfilter([1.0], [1.0, -0.9], random.normal(size=int(seconds * rate)))
    return rms * noise / np.std(noise)


def site(seed, channels=4, events=14, alike=()):
    """Knocks that every channel hears a little later and weaker, each in its own noise. Channels in `alike`
    stand on
    their side: they hear the same knocks across, where other modes ring."""
    random = np.random.default_rng(seed)
    samples = np.stack([background(random) for _ in range(channels)], axis=1)
    for time_s in np.linspace(3.0, SECONDS - 3.0, events) + random.uniform(-0.5, 0.5, events):
        modes = np.concatenate([random.uniform(150, 250, 1), random.uniform(150, 1900, 3)])
        along, across = ringing(random, modes), ringing(random, random.uniform(150, 1900, 4))
        for c in range(channels):
            first = int((time_s + random.uniform(0, 0.02)) * RATE)
            shape = across if c in alike else along
            samples[first:first + len(shape), c] += random.uniform(0.1, 0.3) * shape
    return samples


class Fitness(Folder):
    def session(self, samples, kind="seismic", rate=RATE, **each):
        """each: further fields of channel number N as cN={...}."""
        write_wav(self.path("a.wav"), samples, rate=rate, bits=24)
        names = ["stairwell", "north-slab", "lift-shaft", "ramp-edge", "cellar"]
        channels = [{"name": names[c], "kind": kind, "track": c + 1, **({"axis": "z"} if kind == "seismic" else {}),
                     **each.get(f"c{c}", {})}
                    for c in range(np.atleast_2d(samples.T).shape[0])]
        write_json(self.path("s.json"), {"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                                         "channels": channels})
        return self.path("s.json")

    def inspect(self, session, *options):
        result = run("lull-inspect", session, "--findings", self.path("f.csv"), *options)
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("f.csv"), encoding="utf-8") as file:
            return rows_of(result.stdout), rows_of(file.read())

    def only(self, findings, name, channel=None):
        """The only finding."""
        self.assertEqual([f["finding"] for f in findings], [name], findings)
        if channel:
            self.assertEqual(findings[0]["channel"], channel)
        for column in ("effect", "remedy"):
            self.assertTrue(findings[0][column])
        return findings[0]

    def sox(self, before, *after):
        if shutil.which("sox") is None:
            self.skipTest("SoX is not installed")
        subprocess.run(["sox", *before, *after], check=True, capture_output=True)


class Shared(Fitness):
    def test_healthy(self):
        for seed in (1, 2, 3):
            channels, findings = self.inspect(self.session(site(seed)))
            self.assertEqual(findings, [], f"seed {seed}")
            self.assertEqual({c["fitness"] for c in channels}, {"fit"})

    def test_polarity(self):
        samples = site(4)
        samples[:, 2] *= -1
        channels, findings = self.inspect(self.session(samples))
        self.only(findings, "polarity reversed", "lift-shaft")
        self.assertEqual([c["fitness"] for c in channels], ["fit", "fit", "doubtful", "fit"])
        self.assertEqual(channels[2]["why"], "polarity reversed")
        # Stated in the session, it is corrected and no fault.
        self.assertEqual(self.inspect(self.session(samples, c2={"polarity": -1}))[1], [])
        # Nothing is assumed of channels of unknown kind.
        self.assertEqual(self.inspect(self.session(samples, kind="unknown"))[1], [])

    def test_gain_review_and_ranking(self):
        samples = site(5)
        samples[:, 1] *= 10 ** (-20 / 20)
        session = self.session(samples)
        _, findings = self.inspect(session)
        found = self.only(findings, "unequal gain", "north-slab")
        self.assertAlmostEqual(float(found["amount"]), -20.0, delta=4.0)  # knocks differ by 3 dB either way
        # The review has the same finding, and its ranking uses it.
        result = run("lull-review", session, "-o", self.path("out"))
        self.assertEqual(result.returncode, 0, result.stderr)
        with open(self.path("out", "findings.csv"), encoding="utf-8") as ours, open(self.path("f.csv"), encoding="utf-8") as theirs:
            self.assertEqual(ours.read(), theirs.read())
        with open(self.path("out", "ranking.csv"), encoding="utf-8") as file:
            text = file.read()
        for row in rows_of(text):
            self.assertEqual(row["comparable"], "no" if row["channel"] == "north-slab" else "assumed", row)
        result = run("lull-rank", session, "--events", self.path("out", "events.csv"))
        self.assertEqual(result.stdout, text)
        # Stated in the session, it is corrected and no fault.
        self.assertEqual(self.inspect(self.session(samples, c1={"gain_dB": -20.0}))[1], [])

    def test_contact(self):
        """A second-order low-pass of 130 Hz models a sensor on loose ground."""
        samples = site(6)
        samples[:, 3] = signal.sosfilt(signal.butter(2, 130, fs=RATE, output="sos"), samples[:, 3])
        _, findings = self.inspect(self.session(samples))
        self.only(findings, "poor contact suspected", "ramp-edge")

    def test_axis(self):
        samples = site(7, channels=5, alike=(2,))
        _, findings = self.inspect(self.session(samples))
        self.only(findings, "wrong axis suspected", "lift-shaft")
        # Stated in the session, it is compared with no other channel.
        self.assertEqual(self.inspect(self.session(samples, c2={"axis": "x"}))[1], [])


class Recorder(Fitness):
    def knocks(self, seed, seconds=SECONDS, loud=0.5):
        random = np.random.default_rng(seed)
        samples = background(random, seconds)
        for time_s in np.arange(4.0, seconds - 3.0, 5.0):
            shape = ringing(random, random.uniform(150, 900, 4), 0.5, 0.08)
            samples[int(time_s * RATE):int(time_s * RATE) + len(shape)] += loud * shape
        return samples

    def test_automatic_gain(self):
        write_wav(self.path("in.wav"), self.knocks(8), rate=RATE, bits=24)
        # Above -40 dB the gain falls in 5 ms, and returns within some seconds, or within one.
        for release_s in ("2", "0.8", "0.4"):
            self.sox([self.path("in.wav"), "-b", "24", self.path("agc.wav")], "compand", f"0.005,{release_s}",
                     "-90,-90,-40,-40,0,-30")
            self.sox([self.path("agc.wav"), "-t", "f32", self.path("agc.raw")])
            _, findings = self.inspect(self.session(np.fromfile(self.path("agc.raw"), "<f4")))
            self.assertGreater(float(self.only(findings, "automatic gain")["amount"]), 4.0, release_s)
        self.assertEqual(self.inspect(self.session(self.knocks(8)))[1], [])

    def test_link_that_repeats_packets(self):
        """Packets of 20, 60 and 200 ms. One in a hundred is lost, and the one before it is repeated."""
        clean = self.knocks(13)
        self.assertEqual(self.inspect(self.session(clean))[1], [])
        for packet_s in (0.02, 0.06, 0.2):
            random = np.random.default_rng(14)
            samples, packet, lost = clean.copy(), int(packet_s * RATE), 0
            for k in range(1, len(samples) // packet):
                if random.uniform() < 0.01 and not np.array_equal(samples[(k - 2) * packet:(k - 1) * packet],
                                                                 samples[(k - 1) * packet:k * packet]):
                    samples[k * packet:(k + 1) * packet] = samples[(k - 1) * packet:k * packet]
                    lost += 1
            _, findings = self.inspect(self.session(samples))
            found = [f for f in findings if f["finding"] == "dropout, repeated block"]
            self.assertEqual(len(found), len(findings), findings)  # its edges give no other findings
            self.assertGreater(lost, 0)
            self.assertAlmostEqual(sum(float(f["amount"]) for f in found), lost * packet_s, delta=0.001 * lost)

    def test_codec_and_narrow_link(self):
        rate = 16000
        random = np.random.default_rng(9)
        samples = background(random, rate=rate)
        self.assertEqual(self.inspect(self.session(samples, rate=rate))[1], [])
        write_wav(self.path("in.wav"), samples, rate=rate)
        self.sox([self.path("in.wav"), "-C", "0", self.path("a.ogg")])
        self.sox([self.path("a.ogg"), "-t", "f32", self.path("a.raw")])
        _, findings = self.inspect(self.session(np.fromfile(self.path("a.raw"), "<f4"), rate=rate))
        self.only(findings, "lossy codec")
        # At a higher quality it leaves no holes between bands, but bands that are empty for a time.
        self.sox([self.path("in.wav"), "-C", "1", self.path("b.ogg")])
        self.sox([self.path("b.ogg"), "-t", "f32", self.path("b.raw")])
        _, findings = self.inspect(self.session(np.fromfile(self.path("b.raw"), "<f4"), rate=rate))
        self.only(findings, "lossy codec")
        # A telephone codec shows by its rate alone.
        self.sox([self.path("in.wav"), self.path("g.gsm")], "rate", "8000")
        self.sox([self.path("g.gsm"), "-r", str(rate), "-t", "f32", self.path("g.raw")])
        _, findings = self.inspect(self.session(np.fromfile(self.path("g.raw"), "<f4"), rate=rate))
        self.assertAlmostEqual(float(self.only(findings, "band cut off")["amount"]), 3850, delta=150)
        self.sox([self.path("in.wav"), "-t", "f32", self.path("n.raw")], "rate", "6000", "rate", "16000")
        _, findings = self.inspect(self.session(np.fromfile(self.path("n.raw"), "<f4"), rate=rate))
        # The converter's pass-band ends at 0.95 of half its rate.
        self.assertAlmostEqual(float(self.only(findings, "band cut off")["amount"]), 2850, delta=150)
        # A band-pass like ours is no fault of the recorder.
        filtered = signal.sosfilt(signal.butter(4, [60, 2000], "bandpass", fs=rate, output="sos"), samples)
        self.assertEqual(self.inspect(self.session(filtered, rate=rate))[1], [])

    def test_time_jumps(self):
        """Detected where the ground's slow movement dominates the samples. In white noise a splice leaves no
        trace."""
        samples = site(10, channels=3)
        random = np.random.default_rng(110)
        samples += 0.012 * signal.lfilter([0.063], [1.0, -0.998], random.normal(size=samples.shape), axis=0)
        self.assertEqual(self.inspect(self.session(samples))[1], [])
        at = int(31.7 * RATE)
        cut = np.concatenate([samples[:at], samples[at + 1000:]])  # an eighth of a second is missing
        _, findings = self.inspect(self.session(cut))
        self.assertEqual({f["finding"] for f in findings}, {"time jump"}, findings)
        self.assertGreaterEqual(len(findings), 2)
        for f in findings:
            self.assertAlmostEqual(float(f["from_s"]), 31.7, delta=0.001)

    def test_sensor_that_dies(self):
        samples = site(11, channels=3)
        samples[int(41.3 * RATE):, 1] = 0.0
        channels, findings = self.inspect(self.session(samples))
        found = self.only(findings, "dead", "north-slab")
        self.assertAlmostEqual(float(found["from_s"]), 41.3, delta=0.01)
        self.assertEqual(channels[1]["fitness"], "doubtful")


class Wind(Fitness):
    def test_wind(self):
        """Gusts of noise under 60 Hz, as turbulence gives them, on one of two microphones."""
        random = np.random.default_rng(12)
        samples = np.stack([background(random), background(random)], axis=1)
        low = signal.sosfilt(signal.butter(2, [4, 60], "bandpass", fs=RATE, output="sos"), random.normal(size=len(samples)))
        slow = signal.sosfiltfilt(signal.butter(2, 0.1, fs=RATE, output="sos"), random.normal(size=len(samples)))
        gusts = np.exp(2.0 * slow / np.std(slow))
        wind = low / np.std(low) * gusts
        samples[:, 1] += 0.01 * wind / np.median(gusts)
        samples[:, 1] = np.clip(samples[:, 1], -0.9, 0.9)
        _, findings = self.inspect(self.session(samples, kind="air"))
        found = self.only([f for f in findings if f["finding"] != "clipping below full scale"], "wind suspected", "north-slab")
        self.assertGreater(float(found["amount"]), 6.0)
        # The same on a vibration sensor is not wind.
        _, findings = self.inspect(self.session(samples, kind="seismic"))
        self.assertNotIn("wind suspected", [f["finding"] for f in findings])


if __name__ == "__main__":
    main()
