#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The scenes of the bench of hearing: reproducible from the seed, at the given levels, on physical paths, and no
side uses another's makers. No recordings are needed here."""
import ast
import dataclasses
import hashlib
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

try:
    import numpy as np
    from scipy import fft, signal
except ImportError as missing:
    print(f"SKIPPED: {missing} (python3-scipy)")
    sys.exit(77)

SOURCE = os.environ.get("LULL_SOURCE", os.path.join(os.path.dirname(__file__), "..", ".."))
HEARING = os.path.join(SOURCE, "scripts", "hearing")
sys.path.insert(0, HEARING)

import clips  # noqa: E402
import paths  # noqa: E402
import render  # noqa: E402
import scene_files  # noqa: E402
import scenes  # noqa: E402
import training  # noqa: E402
import worksite  # noqa: E402

SNR_TOLERANCE_DB = 0.5  # what the truth promises
OTHERS_MAKERS = {"fit": ["report_makers"], "tune": ["report_makers"],
                 "report": ["makers", "machines", "impacts", "voices"]}


def drawn(side, seed, ground, **fixed):
    return scenes.draw(side, seed, ground, library=clips.Library(side, None), **fixed)


def bare_site(**changes):
    """A site whose paths can be distinguished: good sensors, one clock, no reflections."""
    site = worksite.draw("fit", 3, channels=4, rate=16000, duration_s=10)
    for channel in site.channels:
        channel.kind, channel.sensor = "seismic", "flat"
        channel.contact, channel.clock_s, channel.spurious = 1.0, 0.0, None
        channel.corner_hz, channel.upper_hz = 5.0, 9000.0
    return dataclasses.replace(site, planes=[], **{
        "bending": False, "speed_m_s": 600.0, "quality": 60.0, "spreading": 1.0, **changes})


class Scenes(unittest.TestCase):
    def test_the_same_seed_makes_the_same_bytes(self):
        with tempfile.TemporaryDirectory() as folder:
            made = []
            for k, seed in enumerate((4, 4, 5)):
                scene = drawn("tune", seed, "people", channels=3, rate=8000, seconds=25)
                scene_files.write(pathlib.Path(folder, str(k)), scene, *scenes.render(scene))
                made.append({p.name: hashlib.sha256(p.read_bytes()).hexdigest()
                             for p in pathlib.Path(folder, str(k)).iterdir()})
        self.assertIn("recording.wav", made[0])
        self.assertEqual(made[0], made[1])
        self.assertNotEqual(made[0]["recording.wav"], made[2]["recording.wav"])

    def test_a_sound_is_as_loud_over_the_floor_as_was_asked(self):
        checked = set()
        for side, seed, ground in (("fit", 11, "calm"), ("report", 12, "rain"), ("tune", 13, "engine")):
            scene = drawn(side, seed, ground, channels=3, rate=8000, seconds=60)
            targets = [one for one in scene.happenings if one.role == "target" and one.kind != "horn"]
            bed = render.Rendering(dataclasses.replace(scene, happenings=[])).samples
            _, rows = scenes.render(scene)
            sections = signal.butter(4, [60, 2000], "bandpass", fs=8000, output="sos")
            for one in targets[:3]:
                row = next(r for r in rows["sounds"] if r["kind"] == one.kind
                           and abs(r["onset_s"] - one.from_s) < 0.5)
                alone = render.Rendering(dataclasses.replace(scene, happenings=[one])).samples - bed
                best = [c.name for c in scene.site.channels].index(row["channel"])
                got = measured_db(sections, bed[best], alone[best], row)
                self.assertAlmostEqual(got, one.snr_db, delta=SNR_TOLERANCE_DB,
                                       msg=f"{side} {seed} {ground} {row['of']}")
                checked.add(row["kind"])
        self.assertEqual(checked, {"tapping", "voice-like"})

    def test_delays_are_distance_over_speed(self):
        site = bare_site(tail_db=-60.0)
        through = paths.Paths(site)
        through.spread = 0.0
        for source in ([1.0, 2.0, -1.0], [site.extent_m, 4.0, 0.0]):
            starts, taps = through.response(source, "structure")
            fine = signal.resample_poly(taps.astype(float), 8, 1, axis=1)
            arrival = (starts + np.argmax(np.abs(fine), axis=1) / 8) / site.rate
            way = np.array([max(0.4, np.linalg.norm(np.subtract(c.position_m, source)))
                            for c in site.channels])
            expected = (way - way[0]) / 600.0
            # Half a sample, and the broadening of a pulse by absorption over 25 m at this quality.
            np.testing.assert_allclose(arrival - arrival[0], expected, atol=1.5e-4 + 0.004 * way.max() / 600)

    def test_near_sources_share_their_tails_and_far_ones_do_not(self):
        site = bare_site(tail_db=20.0, tail_s=0.2)
        through = paths.Paths(site)
        here = np.array([0.4, 0.5, 0.0]) * site.extent_m

        def alike(off_m):
            pairs = zip(through.response(here, "structure")[1],
                        through.response(here + [off_m, 0, 0], "structure")[1])
            late = int(0.012 * site.rate)  # after the direct wave
            found = []
            for a, b in pairs:
                a, b = a[late:], b[late:]
                both = fft.irfft(fft.rfft(a, 8192) * np.conj(fft.rfft(b, 8192)), 8192)
                near = np.concatenate([both[:64], both[-64:]])
                found.append(np.abs(near).max() / np.sqrt(np.sum(a ** 2) * np.sum(b ** 2)))
            return np.array(found)
        self.assertGreater(alike(0.03).min(), 0.85)
        self.assertGreater(alike(0.2).mean(), 0.5)
        self.assertLess(alike(4.0).max(), 0.5)

    def test_handling_stays_on_its_own_sensor_more_than_a_blow_there_would(self):
        scene = drawn("fit", 21, "handling", channels=4, rate=8000, seconds=60)
        handled = [one for one in scene.happenings if one.cause == "handling"]
        self.assertGreater(len(handled), 0)
        for one in handled:
            blows = [dataclasses.replace(part, medium="structure") for part in one.parts
                     if part.medium == "sensor"]
            made = render.Rendering(dataclasses.replace(
                scene, beds=scene.beds[:1], happenings=[one, dataclasses.replace(one, parts=blows)]))
            alone, through_ground = (heard["over"] for heard in made.heard)
            self.assertEqual(np.argmax(alone), one.parts[0].channel)
            self.assertGreater(isolation_db(alone), isolation_db(through_ground) + 6)

    def test_the_truth_says_when_each_part_of_a_confuser_ends(self):
        scene = drawn("fit", 25, "crowd", channels=2, rate=8000, seconds=40)
        made = [one for one in scene.happenings if one.cause == "team-speech"]
        self.assertGreater(len(made), 0)
        _, rows = scenes.render(scene)
        for row in rows["confusers"]:
            self.assertEqual(len(row["times"]), len(row["ends"]))
            self.assertEqual(max(row["ends"]), row["to_s"])
        said = {row["from_s"]: row for row in rows["confusers"] if row["cause"] == "team-speech"}
        for one in made:  # a sentence is one part; it lasts as long as its samples, and 0.2 s of decay
            lasts_s = said[round(one.from_s, 4)]["ends"][0] - one.from_s
            self.assertAlmostEqual(lasts_s, min(len(one.parts[0].wave) / 8000 + 0.2, 40 - one.from_s), delta=1e-3)

    def test_no_side_reads_another_sides_makers(self):
        for side, others in OTHERS_MAKERS.items():
            done = subprocess.run([sys.executable, "-c", (
                "import sys; sys.path.insert(0, sys.argv[1]); import clips, scenes, training;"
                "scenes.draw(sys.argv[2], 1, 'people', library=clips.Library(sys.argv[2], None), rate=8000,"
                " seconds=20); print(*[n for n in sys.argv[3:] if n in sys.modules])"),
                HEARING, side, *others], capture_output=True, text=True)
            self.assertEqual((done.stdout.strip(), done.returncode), ("", 0), side + done.stderr)

    def test_the_report_sides_makers_share_no_code(self):
        with open(os.path.join(HEARING, "report_makers.py"), encoding="utf-8") as file:
            tree = ast.parse(file.read())
        read = {name.name.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.Import)
                for name in node.names} | {node.module.split(".")[0] for node in ast.walk(tree)
                                           if isinstance(node, ast.ImportFrom)}
        self.assertEqual(read, {"numpy", "scipy"})

    def test_training_labels_lie_where_the_sounds_are(self):
        library, found = clips.Library("fit", None), {"tapping": 0, "voice-like": 0}
        for seed in range(6):
            samples, labels, mask, seismic = training.render_training(seed, library)
            scene = training.scene_of(seed, library)
            self.assertEqual(samples.shape, (len(seismic), 24 * 8000))
            self.assertTrue(np.isfinite(samples).all())
            self.assertEqual(labels.shape, (len(training.CLASSES), 1500))
            self.assertFalse((labels & ~mask).any())
            for one in scene.happenings:
                if one.role == "target" and one.kind in found and one.snr_db >= 6:
                    row = labels[training.CLASSES.index(training.OF_KIND[one.kind])]
                    for part in one.parts[:1]:
                        frame = int(part.at_s / training.FRAME_S)
                        self.assertTrue(row[frame:frame + 13].any(), (seed, one.cause, part.at_s))
                    found[one.kind] += 1
        self.assertGreater(min(found.values()), 0, found)


def isolation_db(over):
    best, next_best = sorted(over)[:-3:-1]
    return 10 * np.log10(best / max(next_best, 1e-12))


def measured_db(sections, bed, alone, row):
    """SNR of a sound on one channel, in double precision, by the definition."""
    rate = 8000
    floor_band = signal.sosfilt(sections, bed.astype(float))
    band = signal.sosfilt(sections, alone.astype(float))
    powers = (floor_band[:len(bed) // 400 * 400].reshape(-1, 400) ** 2).mean(axis=1)

    def floor_at(at_s):
        k = int(at_s / 0.05)
        return np.median(powers[max(0, k - 200):k + 200])
    if row["kind"] == "tapping":
        ends = [*row["taps"][1:], row["taps"][-1] + 0.8]
        snrs = []
        for tap, following in zip(row["taps"], ends):
            piece = band[max(0, int((tap - 0.02) * rate)):int(min(tap + 0.8, following) * rate)]
            total = np.cumsum(np.concatenate([[0.0], piece ** 2, np.zeros(400)]))
            snrs.append((total[400:] - total[:-400]).max() / 400 / floor_at(tap))
        return 10 * np.log10(np.median(snrs))
    piece = band[int((row["onset_s"]) * rate):int((row["end_s"]) * rate)]
    frames = np.sort((piece[:len(piece) // 400 * 400].reshape(-1, 400) ** 2).mean(axis=1))
    return 10 * np.log10(frames[len(frames) // 2:].mean() / floor_at(row["onset_s"]))


if __name__ == "__main__":
    unittest.main(verbosity=2)
