# SPDX-License-Identifier: GPL-3.0-or-later
"""The truth of a rendered scene as plain values, which finds are compared with."""
import numpy as np

RINGS_ON_S = 0.2  # at the sensors, after a part's end: propagation and the structure's tail


def decibels(power):
    return round(float(10 * np.log10(max(power, 1e-30))), 2)


def seconds(value):
    return round(float(value), 4)


def state_at(scene, at_s):
    return next((p["state"] for p in scene.periods if p["from_s"] <= at_s < p["to_s"]), "work")


def of_sound(group, heard, scene, scales):
    """A row of `sounds`: what is to be found."""
    one, best, edges = heard["one"], heard["best"], heard["edges"]
    names = [c.name for c in scene.site.channels]
    onsets = edges[:, :, 0]
    row = {"group": group, "kind": one.kind, "of": one.cause, "source": one.source,
           "position_m": [round(float(v), 3) for v in one.parts[0].position_m],
           "channel": names[best], "snr_db": decibels(heard["over"][best]),
           "target_snr_db": one.snr_db, "onset_s": seconds(onsets[:, best].min()),
           "end_s": seconds(edges[:, best, 1].max())}
    if one.kind == "tapping":
        row["taps"] = [seconds(t) for t in onsets[:, best]]
        row["taps_snr_db"] = [decibels(v) for v in heard["parts_over"][:, best]]
        gaps = np.diff(sorted(onsets[:, best]))
        row["interval_s"] = seconds(np.median(gaps)) if len(gaps) else None
    row["state"] = state_at(scene, row["onset_s"])
    row["by_channel"] = {name: {"snr_db": decibels(heard["over"][c]),
                                "level_db": decibels(heard["power"][c] * scales[c] ** 2),
                                "onset_s": seconds(onsets[:, c].min())}
                         for c, name in enumerate(names) if not np.isnan(onsets[:, c]).all()}
    return row


def of_confuser(heard, site):
    one = heard["one"]
    spans = [(part.at_s, min(site.duration_s, part.at_s + len(part.wave) / site.rate + RINGS_ON_S))
             for part in one.parts if part.at_s < site.duration_s]
    return {"cause": one.cause, "from_s": seconds(one.from_s),
            "to_s": seconds(max(end for _, end in spans)),
            "times": [seconds(start) for start, _ in spans], "ends": [seconds(end) for _, end in spans],
            "channels": [c.name for c, over in zip(site.channels, heard["over"]) if over > 1],
            "source": one.source, "snr_db": decibels(heard["over"][heard["best"]]),
            "neither_for": list(one.neither_for)}


def of_hail(heard, site):
    one, edges = heard["one"], heard["edges"]
    return {"kind": one.kind, "from_s": seconds(np.nanmin(edges[:, :, 0])),
            "to_s": seconds(np.nanmax(edges[:, :, 1])),
            "channel": site.channels[heard["best"]].name, "logged": one.logged}


def of_channel(channel):
    return {"name": channel.name, "kind": channel.kind, "sensor": channel.sensor,
            "position_m": [round(float(v), 2) for v in channel.position_m]}


def of_scene(rendering, scales):
    scene, site = rendering.scene, rendering.site
    by_role = {role: [h for h in rendering.heard if h["one"].role == role]
               for role in ("target", "confuser", "hail")}
    sounds = sorted(by_role["target"], key=lambda h: h["one"].from_s)
    return {
        "format": "lull-scene", "version": 1, "side": scene.side, "ground": scene.ground,
        "seed": scene.seed, "rate_hz": site.rate, "duration_s": site.duration_s,
        "structure": site.structure, "channels": [of_channel(c) for c in site.channels],
        "log": bool(scene.log), "periods": scene.periods,
        "beds": [{"cause": bed.cause, "from_s": seconds(start), "to_s": seconds(end),
                  "over_self_noise_db": round(bed.level_db, 1)}
                 for bed in scene.beds for start, end in bed.spans(site.duration_s)],
        "sounds": [of_sound(k + 1, h, scene, scales) for k, h in enumerate(sounds)],
        "confusers": sorted((of_confuser(h, site) for h in by_role["confuser"]),
                            key=lambda row: row["from_s"]),
        "hails": [of_hail(h, site) for h in by_role["hail"]]}
