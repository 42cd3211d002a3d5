#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How the bench counts hearing, on scenes whose right answer is worked out by hand beside them."""
import os
import pathlib
import sys
import unittest

try:
    import numpy as np
    import scipy  # noqa: F401 (rates needs it)
except ImportError as missing:
    print(f"SKIPPED: {missing.name} is not installed")
    sys.exit(77)

SOURCE = pathlib.Path(os.environ.get("LULL_SOURCE", pathlib.Path(__file__).parents[2]))
sys.path.insert(0, str(SOURCE / "scripts" / "hearing"))
import finds  # noqa: E402
import ledger  # noqa: E402
import rates  # noqa: E402
import score  # noqa: E402


def sound(kind, onset_s, end_s, taps=None, snrs=None, **more):
    by = {name: {"snr_db": snr, "level_db": -60.0, "onset_s": onset_s}
          for name, snr in (snrs or {"a": 10.0, "b": 4.0}).items()}
    row = {"group": 1, "kind": kind, "of": "hand", "source": "made", "target_snr_db": 10.0, "state": "quiet",
           "onset_s": onset_s, "end_s": end_s, "by_channel": by, **more}
    return {**row, "taps": taps, "interval_s": 1.0} if taps else row


def truth(sounds=(), confusers=(), hails=(), beds=(), duration_s=100.0):
    return {"side": "tune", "ground": "calm", "seed": 1, "rate_hz": 8000, "structure": "slab",
            "duration_s": duration_s,
            "channels": [{"name": "a", "kind": "seismic"}, {"name": "b", "kind": "air"}],
            "sounds": list(sounds), "confusers": list(confusers), "hails": list(hails), "beds": list(beds)}


def confuser(cause, parts, snr_db, neither_for=()):
    return {"cause": cause, "from_s": parts[0][0], "to_s": parts[-1][1], "snr_db": snr_db,
            "times": [a for a, _ in parts], "ends": [b for _, b in parts], "neither_for": list(neither_for)}


def tap(confidence, *onsets, channel="a"):
    return finds.Find("tapping", confidence, channel, [(t, t + 0.05) for t in onsets])


def voice(confidence, from_s, to_s, channel="a"):
    return finds.Find("voice-like", confidence, channel, [(from_s, to_s)])


def event(number, kind, onset_s, confidence=0.3, series=None, end_s=None, hail="", channel="a"):
    return {"number": number, "kind": kind, "onset_s": onset_s, "end_s": end_s or onset_s + 0.05,
            "channel": channel, "confidence": confidence, "hail": hail, "series": series}


class Finds(unittest.TestCase):
    def test_a_series_is_one_find_and_a_hail_none(self):
        rows = [event(1, "tapping", 1.0, 0.4, series=7), event(2, "tapping", 2.0, 0.9, series=7, channel="b"),
                event(3, "tapping", 3.0, 0.6), event(4, "other", 4.0), event(5, "voice-like", 5.0, hail="1"),
                event(6, "horn", 6.0)]
        found = finds.finds_of(rows)
        self.assertEqual([(f.kind, f.confidence, f.channel, len(f.marks)) for f in found],
                         [("tapping", 0.9, "b", 2), ("tapping", 0.6, "a", 1), ("horn", 0.3, "a", 1)])


class Judging(unittest.TestCase):
    def test_a_group_is_found_at_its_taps_and_not_between_them(self):
        group = sound("tapping", 10.0, 14.1, taps=[10.0, 14.0])
        # A tap lasts 0.1 s with a tolerance of 0.15 s on either side: 9.85 to 10.25 s.
        for onset_s, is_found in ((12.0, False), (14.04, True), (10.24, True), (10.26, False), (9.81, True),
                                  (9.79, False)):
            row = score.judge(truth([group]), [tap(0.8, onset_s)])["sounds"][0]
            self.assertEqual(row["confidence"], 0.8 if is_found else 0.0, onset_s)

    def test_the_surest_find_counts_and_no_other_kind(self):
        judged = score.judge(truth([sound("tapping", 10.0, 11.1, taps=[10.0, 11.0])]),
                             [tap(0.3, 10.0), tap(0.7, 11.02, channel="b"), voice(0.9, 10.0, 11.0)])
        row = judged["sounds"][0]
        self.assertEqual((row["confidence"], row["channel_right"]), (0.7, False))
        self.assertAlmostEqual(row["onset_error_s"], 0.0)
        self.assertEqual([(f["kind"], f["true"], f["cause"]) for f in judged["finds"]],
                         [("tapping", True, None), ("tapping", True, None), ("voice-like", False, "knocks")])

    def test_the_teams_own_and_what_truly_is_of_the_kind_are_neither(self):
        scene = truth(hails=[{"kind": "tapping", "from_s": 5.0, "to_s": 6.0}],
                      confusers=[confuser("team-speech", [(20.0, 22.0)], 10.0, neither_for=["voice-like"])])
        # A voice two seconds into a sentence of the team belongs to the team.
        judged = score.judge(scene, [tap(0.9, 5.5), voice(0.9, 21.8, 22.5), voice(0.9, 5.0, 6.0),
                                     tap(0.9, 20.5)])
        self.assertEqual([(f["kind"], f["from_s"]) for f in judged["finds"] if not f["true"]],
                         [("tapping", 20.5), ("voice-like", 5.0)])

    def test_voices_of_a_crowd_are_neither_while_there_is_one(self):
        crowd = {"cause": "crowd", "from_s": 10.0, "to_s": 40.0, "over_self_noise_db": 10.0}
        judged = score.judge(truth(beds=[crowd]), [voice(0.9, 20.0, 22.0), tap(0.9, 20.0), voice(0.9, 50.0, 52.0)])
        self.assertEqual([(f["kind"], f["from_s"]) for f in judged["finds"]],
                         [("tapping", 20.0), ("voice-like", 50.0)])
        self.assertEqual(judged["marked"]["voice-like"]["other_s"], 70.0)

    def test_causes_of_false_finds(self):
        beds = [{"cause": "ambient", "from_s": 0.0, "to_s": 100.0, "over_self_noise_db": 2.0},
                {"cause": "rain", "from_s": 50.0, "to_s": 100.0, "over_self_noise_db": 15.0}]
        scene = truth([sound("voice-like", 30.0, 32.0)],
                      [confuser("walking", [(10.0, 10.3), (15.0, 15.3)], 8.0),
                       confuser("door", [(15.1, 15.6)], 20.0)], beds=beds)
        group = sound("tapping", 80.0, 90.1, taps=[80.0, 90.0])
        judged = score.judge(scene, [tap(0.9, at) for at in (10.1, 15.1, 12.5, 31.0, 70.0)])
        # Between two steps only the bed sounds. At 15.1 s the door is louder than the step.
        self.assertEqual([f["cause"] for f in judged["finds"]], ["walking", "door", "ambient", "calls", "rain"])
        # A voice between two knocks does not belong to the knocks.
        judged = score.judge(truth([group], beds=beds), [voice(0.9, 80.0, 81.0), voice(0.9, 84.0, 85.0)])
        self.assertEqual([f["cause"] for f in judged["finds"]], ["knocks", "rain"])

    def test_fewer_channels_have_their_own_strongest(self):
        scene = truth([sound("voice-like", 30.0, 32.0, snrs={"a": 10.0, "b": 4.0})])
        of_all, of_one = (score.judge(scene, [voice(0.9, 30.0, 31.0, channel="b")], channels)
                          for channels in (None, ["b"]))
        self.assertEqual((of_all["sounds"][0]["heard_snr_db"], of_all["sounds"][0]["channel_right"]), (10.0, False))
        self.assertEqual((of_one["sounds"][0]["heard_snr_db"], of_one["sounds"][0]["channel_right"]), (4.0, True))
        self.assertEqual((of_all["channels"], of_one["channels"]), (2, 1))
        self.assertEqual([one["sounds"][0]["by_air"] for one in (of_all, of_one)], [False, True])

    def test_other_time_that_finds_mark(self):
        scene = truth([sound("voice-like", 10.0, 20.0)], hails=[{"kind": "voice-like", "from_s": 30.0, "to_s": 40.0}])
        marked = score.judge(scene, [voice(0.9, 15.0, 25.0), voice(0.4, 35.0, 43.0)])["marked"]["voice-like"]
        # 100 s minus the sound's ten and the hail's ten; 20 to 25 s, and 40 to 43 s.
        self.assertAlmostEqual(marked["other_s"], 80.0)
        self.assertEqual(marked["marks"], [[0.9, 5.0], [0.4, 3.0]])


class Rates(unittest.TestCase):
    def scenes(self):
        """Two half hours: false finds at 0.9, 0.6, 0.5 and 0.2; sounds found at 0.8, 0.55, 0 and 0.3."""
        def of(falses, founds):
            sounds = [sound("tapping", 100.0 * k, 100.0 * k + 1.1, taps=[100.0 * k, 100.0 * k + 1]) for k in (1, 2)]
            made = [tap(c, 100.0 * (k + 1)) for k, c in enumerate(founds) if c]
            return score.judge(truth(sounds, duration_s=1800.0),
                               made + [tap(c, 500.0 + k) for k, c in enumerate(falses)])
        return [of((0.9, 0.2), (0.8, 0.55)), of((0.6, 0.5), (0.0, 0.3))]

    def test_recall_at_so_many_false_finds_an_hour(self):
        tally = rates.Tally(self.scenes(), "tapping")
        # At one an hour the 0.9 may pass but not the 0.6. Only sounds over 0.6 count, which is the 0.8.
        self.assertEqual([tally.recall(tally.threshold(n))[0] for n in (0, 1, 2, 3, 10)], [0, 1, 2, 3, 3])
        self.assertEqual(tally.recall(0.0), (3, 4))
        self.assertEqual([tally.false_per_hour(c) for c in (0.95, 0.6, 0.5, 0.0)], [0, 2, 3, 4])
        self.assertEqual(tally.recall(0.5, tally.mask(lambda s, r: r["confidence"] > 0.7)), (1, 1))

    def test_a_find_that_covers_half_the_file_is_under_every_threshold(self):
        scene = truth([sound("voice-like", 10.0, 12.0)], duration_s=3600.0)
        judged = score.judge(scene, [voice(0.6, 0.0, 1800.0), voice(0.9, 10.0, 12.5)])
        tally = rates.Tally([judged], "voice-like")
        # It overlaps a true sound, so it is not false; but it marks far more than one percent.
        self.assertEqual(tally.false_per_hour(0.0), 0.0)
        self.assertGreater(tally.threshold(10), 0.6)
        self.assertEqual(tally.recall(tally.threshold(10)), (1, 1))

    def test_the_bootstrap_draws_scenes(self):
        tally = rates.Tally(self.scenes(), "tapping")
        recall, low, high, of = rates.recall_from(tally, 0.5)
        # The two sounds of the first scene out of four: a draw has 100, 50 or 0 percent, nothing between.
        self.assertEqual((recall, low, high, of), (0.5, 0.0, 1.0, 4))
        shares = {hits / of for w in rates.draws(2) for hits, of in [tally.recall(0.5, None, w)]}
        self.assertEqual(shares, {0.0, 0.5, 1.0})

    def test_two_detectors_over_the_same_scenes(self):
        ours = rates.Tally(self.scenes(), "tapping")
        gain, low, high = rates.gained(ours, ours, 3, lambda s, r: True)
        self.assertEqual((gain, low, high), (0.0, 0.0, 0.0))

    def test_intervals_as_published(self):
        # Wilson's interval of 81 of 263 [Newcombe 1998, table I]; upper limit of a Poisson mean with none
        # observed: -ln 0.05.
        np.testing.assert_allclose(rates.wilson(81, 263), (0.2553, 0.3662), atol=5e-5)
        self.assertAlmostEqual(rates.upper_rate(0, 1.0), 2.9957, places=4)

    def test_calibration_error(self):
        scenes = [{"finds": [{"kind": "horn", "confidence": 0.75, "true": k < 1} for k in range(4)] +
                   [{"kind": "horn", "confidence": 0.05, "true": False}]}]
        rows, error = rates.reliability(scenes, "horn")
        self.assertEqual([row[2] for row in rows], [4])
        self.assertAlmostEqual(error, 0.5)  # one in four is true where three in four were promised


class Ledger(unittest.TestCase):
    GROUP = sound("tapping", 10.0, 13.1, taps=[10.0, 11.0, 12.0, 13.0])
    CALL = sound("voice-like", 30.0, 32.0)

    def stage(self, sound_of, events, arrivals=()):
        heard = finds.Heard(finds.finds_of(events), events, list(arrivals))
        return ledger.stage_of_loss(sound_of, heard)

    def test_stages_of_knocks(self):
        away = [event(9, "tapping", at, 0.3, series=1) for at in (40.0, 41.0, 42.0, 43.0, 44.0)]
        for stage, events in (
                (None, [event(1, "tapping", 10.0, 0.6)]),
                ("no candidate", [event(1, "tapping", 10.5, 0.9)]),
                ("hidden by a lasting sound", [event(1, "other", 5.0, 0.9, end_s=20.0)]),
                ("taken for the team's", [event(1, "tapping", 10.0, 0.9, hail="1")]),
                ("wrong kind", [event(1, "other", 10.0, 0.9), event(2, "horn", 12.0, 0.9)]),
                ("not in a run", [event(1, "tapping", 10.0), event(2, "tapping", 12.0)]),
                ("run spoilt", [event(1, "tapping", 10.0, 0.3, series=1), *away]),
                ("judged under 0.5", [event(k, "tapping", 10.0 + k, 0.3, series=1) for k in range(4)])):
            self.assertEqual(self.stage(self.GROUP, events), stage)
        self.assertEqual(self.stage(self.GROUP, [], [{"event": 1, "channel": "b", "onset_s": 12.01}]),
                         "joined wrongly")

    def test_stages_of_voices(self):
        for stage, events in (
                (None, [event(1, "voice-like", 31.0, 0.5, end_s=31.5)]),
                ("no candidate", [event(1, "tapping", 31.0, 0.9, end_s=31.3)]),  # 15 % of the call
                ("wrong kind", [event(1, "other", 30.0, 0.9, end_s=31.0)]),
                ("taken for the team's", [event(1, "voice-like", 30.0, 0.9, end_s=31.0, hail="1")]),
                ("judged under 0.5", [event(1, "voice-like", 30.0, 0.4, end_s=31.0)])):
            self.assertEqual(self.stage(self.CALL, events), stage)


if __name__ == "__main__":
    unittest.main()
