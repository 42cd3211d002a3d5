#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes scenes of a search for the bench of hearing: many channels, changing noise, people about.

    scripts/hearing/scenes.py --side tune --ground walking --seed 5 -o DIR
    scripts/hearing/scenes.py --list

DIR gets recording.wav, session.json, truth.json and, when the team kept one, log.csv. The same side,
ground and seed make the same bytes. --channels, --rate and --seconds fix what else is drawn.
"""
import argparse
import dataclasses
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))

import beds  # noqa: E402
import clips  # noqa: E402
import people  # noqa: E402
import quiet  # noqa: E402
import render as rendering  # noqa: E402
import scene_files  # noqa: E402
import sides  # noqa: E402
import targets  # noqa: E402
import things  # noqa: E402
import truth  # noqa: E402
import worksite  # noqa: E402

# For each ground: the beds that it always has, and the activities of people and things.
GROUNDS = {
    "calm": ((), ()),
    "rain": (("rain",), ()),
    "wind": (("wind",), ()),
    "engine": (("engine",), ()),
    "generator": (("generator",), ()),
    "pump": (("pump",), ()),
    "saw": (("saw",), ()),
    "breaker": (("breaker",), ()),
    "rotor": (("rotor",), ()),
    "traffic": (("traffic",), (things.vehicle_horn,)),
    "crowd": (("crowd",), (things.shouts, people.team_speech)),
    "walking": ((), (people.walking,)),
    "handling": ((), (people.handling, people.cable_rub)),
    "digging": ((), (people.digging, things.settling)),
    "things": ((), (things.drips, things.clock, things.doors, things.settling)),
    "people": ((), (people.walking, people.handling, people.team_speech)),
    "mixed": ((), ()),
}
EMPTY_SHARE = 0.1  # of scenes without anything to be found


@dataclasses.dataclass
class Scene:
    side: str
    ground: str
    seed: int
    site: object
    makers: object
    library: object
    beds: list
    happenings: list
    periods: list
    log: list


def draw_beds(rng, site, ground, periods):
    """The ground's own beds, mains and the site's noise, and often something further away."""
    causes = ["ambient"] + (["hum"] if rng.random() < 0.3 else [])
    own = list(GROUNDS[ground][0])
    weather = ["rain", "wind", "traffic", "crowd"]
    if ground == "mixed":
        own = [str(c) for c in rng.choice([*beds.MACHINES, *weather], int(rng.integers(2, 4)), False)]
    drawn = [beds.draw(rng, site, cause, k) for k, cause in enumerate(causes + own)]
    if rng.random() < 0.4 and ground != "calm":
        cause = str(rng.choice([c for c in [*beds.MACHINES, *weather] if c not in own]))
        low = beds.LEVELS_DB[cause][0]
        drawn.append(beds.draw(rng, site, cause, len(drawn), level_db=rng.uniform(low - 6, low + 4)))
    stops = rng.random() < 0.6
    drawn = [beds.hushed(bed, periods) if stops and bed.cause in beds.MACHINES else bed for bed in drawn]
    return [bed for bed in drawn if bed.spans(site.duration_s)]


def draw_confusers(rng, site, makers, library, ground, periods):
    wanted = list(GROUNDS[ground][1])
    if ground == "people":
        wanted += [people.WORK[k] for k in rng.permutation(len(people.WORK))[:int(rng.integers(1, 4))]
                   if people.WORK[k] not in wanted]
    if ground == "mixed":
        every = people.WORK + things.THINGS + [people.digging]
        wanted = [every[k] for k in rng.permutation(len(every))[:int(rng.integers(2, 5))]]
    if rng.random() < 0.35:
        wanted.append(things.THINGS[rng.integers(len(things.THINGS))])
    if ground not in ("calm", "people", "mixed") and rng.random() < 0.2:
        wanted.append(people.WORK[rng.integers(len(people.WORK))])
    found = []
    for maker in dict.fromkeys(wanted):
        heeds = maker in people.WORK + [people.digging] and rng.random() < 0.5
        for period in periods if heeds else [{"state": "work", "from_s": 0, "to_s": site.duration_s}]:
            busy = period["to_s"] - period["from_s"]
            if period["state"] == "work" and busy > 5:
                found += maker(rng, site, makers, library, period["from_s"], period["to_s"])
    for one in found:
        one.parts = [part for part in one.parts if part.at_s < site.duration_s - 0.1]
    return [one for one in found if one.parts]


def draw(side, seed, ground, *, library=None, channels=None, rate=None, seconds=None):
    """A scene of a side, by its seed and ground. Nothing is rendered yet."""
    site = worksite.draw(side, [seed, list(GROUNDS).index(ground)], channels=channels, rate=rate,
                         duration_s=seconds)
    makers = sides.makers_of(side)
    library = library or clips.library_of(side)
    periods, happenings, log = quiet.draw(site.rng("quiet"), site, makers, library)
    hailed = [targets.end_of(one, site) for one in happenings if one.role == "hail"]
    rng = site.rng("targets")
    if rng.random() >= EMPTY_SHARE:
        happenings += targets.plan(rng, site, makers, library, hailed)
    happenings += draw_confusers(site.rng("people"), site, makers, library, ground, periods)
    drawn = draw_beds(site.rng("beds"), site, ground, periods)
    return Scene(side, ground, seed, site, makers, library, drawn, happenings, periods, log)


def render(scene, channels=None):
    """Samples of the recorder, float32 [channels, frames], and the truth."""
    made = rendering.Rendering(scene)
    scales = rendering.recorded(made)
    rows = truth.of_scene(made, scales)
    return (made.samples if channels is None else made.samples[channels]), rows


def main():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--side", choices=list(worksite.SIDES))
    parser.add_argument("--ground", choices=list(GROUNDS))
    parser.add_argument("--seed", type=int)
    parser.add_argument("--channels", type=int, choices=range(1, 13), metavar="1-12")
    parser.add_argument("--rate", type=int, choices=worksite.RATES)
    parser.add_argument("--seconds", type=float)
    parser.add_argument("-o", dest="folder", help="folder to write to; made when missing")
    parser.add_argument("--list", action="store_true", help="name the grounds and sides")
    options = parser.parse_args()
    if options.list:
        print("grounds:", *GROUNDS)
        print("sides:", *worksite.SIDES)
        return 0
    if None in (options.side, options.ground, options.seed, options.folder):
        parser.error("--side, --ground, --seed and -o are needed")
    scene = draw(options.side, options.seed, options.ground, channels=options.channels,
                 rate=options.rate, seconds=options.seconds)
    samples, rows = render(scene)
    scene_files.write(pathlib.Path(options.folder), scene, samples, rows)
    return 0


if __name__ == "__main__":
    sys.exit(main())
