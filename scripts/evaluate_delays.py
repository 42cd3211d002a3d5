#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How often the intervals of lull-delay hold the true delay: the difference of first arrivals.

    scripts/evaluate_delays.py --build build [--delays N] [--seed S] [--kinds direct,echoes,...]

The simulator is its own and shares nothing with lull-exercise. Kinds of scene:
  direct   one path to each sensor, with its own loss and absorption
  echoes   1 to 8 reflections on each path, of either sign, 1 ms after the first wave and 0.5 to 20 ms
           more on average
  coda     a dense scattered tail after the first wave, fading over 5 to 60 ms
  both     reflections and a tail
  early    1 to 3 reflections within the first 0.1 to 1 ms: a fraction of the knock's periods, so that
           they shift and shape the whole wave; nothing in the waveforms tells them from the first
Energies of what comes after the first wave: -12 to 3 dB over the first wave's own. Each knock is heard
by two pairs of sensors that share none, so their errors are independent. The bound is the general one:
1/var = 2T int (2 pi f)^2 g df, g = r_a r_b/(1 + r_a + r_b) [Knapp & Carter 1976], of direct paths.
"""
import argparse
import csv
import json
import pathlib
import subprocess
import sys
import tempfile
import wave as wave_file

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent / "hearing"))

from rates import wilson  # noqa: E402

RATE = 8000
STEP_S = 2.5    # from one knock to the next
SENSORS = 4     # pairs: 1-2 and 3-4
NOISE = 0.001
BAND = (60.0, 2000.0)
KINDS = ("direct", "echoes", "coda", "both", "early")
COUNT = 8192    # samples of one knock's room


def knock(random):
    """A struck slab: two or three damped modes after a short force pulse."""
    t = np.arange(COUNT) / RATE
    wave = np.zeros(COUNT)
    for _ in range(random.integers(2, 4)):
        frequency, decay_s = random.uniform(100, 900), random.uniform(0.004, 0.03)
        wave += random.uniform(0.5, 1.0) * np.exp(-t / decay_s) * np.sin(2 * np.pi * frequency * t)
    return np.fft.rfft(wave)


def later(kind, random):
    """The response after the first wave: reflections, a scattered tail, or both."""
    frequency = np.fft.rfftfreq(COUNT, 1 / RATE)
    response = np.zeros(len(frequency), complex)
    for part in {"direct": (), "both": ("echoes", "coda")}.get(kind, (kind,)):
        energy = 10 ** (random.uniform(-12, 3) / 10)
        if part in ("echoes", "early"):
            count = random.integers(1, 9 if part == "echoes" else 4)
            after_s = random.uniform(0.0001, 0.001, count) if part == "early" else 0.001 + random.exponential(10 ** random.uniform(np.log10(0.0005), np.log10(0.02)), count)
            amplitude = random.normal(size=count) * np.exp(-after_s / 0.03)
            amplitude *= np.sqrt(energy / np.sum(amplitude ** 2))
            response += np.exp(-2j * np.pi * np.outer(frequency, after_s)) @ amplitude
        else:
            t = np.arange(1, COUNT // 2) / RATE
            tail = np.zeros(COUNT)
            tail[1:COUNT // 2] = random.normal(size=len(t)) * np.exp(-t / 10 ** random.uniform(-2.3, -1.22)) * (
                1 - np.exp(-t / 10 ** random.uniform(-3.3, -2.3)))
            tail *= np.sqrt(energy / np.sum(tail ** 2))
            response += np.fft.rfft(tail)
    return response


def make_scene(kind, knocks, seed):
    """Samples and for each knock: its first onset, first arrivals, SNRs, the bound for each pair."""
    random = np.random.default_rng([seed, KINDS.index(kind)])
    frames = int((knocks * STEP_S + 3) * RATE)
    samples = random.normal(0.0, 1.0, (frames, SENSORS))
    samples[1:] += 0.6 * samples[:-1]  # noise that falls towards high frequencies, as on sites
    samples *= NOISE / np.sqrt(1.36)
    frequency = np.fft.rfftfreq(COUNT, 1 / RATE)
    inside = (frequency >= BAND[0]) & (frequency <= BAND[1])
    noise_density = np.abs(1 + 0.6 * np.exp(-2j * np.pi * frequency / RATE)) ** 2 * NOISE ** 2 / 1.36 / RATE  # two-sided
    noise_power = 2 * np.sum(noise_density[inside]) * frequency[1]
    truth = []
    for k in range(knocks):
        spectrum = knock(random)
        begin = int(k * STEP_S * RATE) + RATE
        arrivals = begin / RATE + 0.05 + random.uniform(0, 0.02, SENSORS)
        snrs_db = random.uniform(0, 30) + random.uniform(-4, 4, SENSORS)
        densities = []
        for c in range(SENSORS):
            heard = spectrum * np.exp(-frequency * random.uniform(0, 0.0006)) * (1 + later(kind, random))
            heard = heard * np.exp(-2j * np.pi * frequency * (arrivals[c] - begin / RATE))
            wave = np.fft.irfft(heard * inside, COUNT)
            power = np.max(np.convolve(wave ** 2, np.ones(int(0.05 * RATE)) / int(0.05 * RATE), "valid"))
            gain = np.sqrt(10 ** (snrs_db[c] / 10) * noise_power / power)
            samples[begin:begin + COUNT, c] += gain * np.fft.irfft(heard, COUNT)
            densities.append(np.abs(gain * heard / RATE) ** 2)  # energy density, two-sided
        bounds = []
        for a, b in ((0, 1), (2, 3)):
            # With energy densities E over N: T r = E/N, so T g = (E_a/N)(E_b/N) / (T + E_a/N + E_b/N).
            ra, rb, observed_s = densities[a] / noise_density, densities[b] / noise_density, 0.2
            g = ra * rb / (observed_s + ra + rb)
            bounds.append(1 / np.sqrt(2 * np.sum(((2 * np.pi * frequency) ** 2 * g)[inside]) * frequency[1]))
        truth.append({"arrivals": arrivals, "snrs_db": snrs_db, "bounds": bounds,
                      "onset_s": np.min(arrivals) + random.normal(0, 0.001)})
    return samples.astype(np.float32), truth


def write_session(folder, samples, truth):
    scale = 0.9 / max(0.9, float(np.max(np.abs(samples))))
    with wave_file.open(str(folder / "a.wav"), "wb") as file:
        file.setnchannels(SENSORS)
        file.setsampwidth(3)
        file.setframerate(RATE)
        whole = np.round(samples * (scale * 8388607)).astype("<i4")
        file.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    channels = [{"name": f"s{c + 1}", "kind": "seismic", "track": c + 1, "axis": "vertical",
                 "position_m": [6.0 * (c % 2), 6.0 * (c // 2), 0.0], "position_sigma_m": 0.1} for c in range(SENSORS)]
    (folder / "s.json").write_text(json.dumps({"format": "lull-session", "version": 1, "recordings": [{"file": "a.wav"}],
                                               "channels": channels}))
    with open(folder / "events.csv", "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow("event,kind,onset_s,end_s,channel,channels,peak_db,snr_db,confidence,series,why,level_unit,onset_clock".split(","))
        for k, one in enumerate(truth):
            out.writerow([k + 1, "tapping", f"{one['onset_s']:.6f}", f"{one['onset_s'] + 0.15:.6f}", "s1", "s1;s2;s3;s4",
                          "-30.00", "10.00", "1.000", "", "", "dB re full scale", ""])


def delays_of(build, kind, knocks, seed):
    """One row a pair: error, sigma, usable, the lower SNR, the bound."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        samples, truth = make_scene(kind, knocks, seed)
        write_session(folder, samples, truth)
        done = subprocess.run([str(build / "lull-delay"), str(folder / "s.json"), "--events", str(folder / "events.csv"),
                               "-o", str(folder / "d.csv"), "--quiet"], capture_output=True, text=True, check=False)
        if done.returncode:
            raise SystemExit(f"evaluate_delays: {done.stderr}")
        with open(folder / "d.csv", encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
    found = []
    for row in rows:
        pair = {("s1", "s2"): 0, ("s3", "s4"): 1}.get((row["channel_a"], row["channel_b"]))
        if pair is None:
            continue
        one = truth[int(row["event"]) - 1]
        a = 2 * pair
        usable = row["usable"] == "yes"
        found.append((float(row["delay_s"]) - (one["arrivals"][a + 1] - one["arrivals"][a]) if usable else np.nan,
                      float(row["sigma_s"]) if usable else np.nan, usable, min(one["snrs_db"][a:a + 2]),
                      one["bounds"][pair]))
    return np.array(found, float)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--build", type=pathlib.Path, default=pathlib.Path("build"))
    parser.add_argument("--delays", type=int, default=1000, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", default=",".join(KINDS))
    options = parser.parse_args()
    print(f"seed {options.seed}, {options.delays} delays of each kind\n")
    print("| scene | usable | within one sigma | within two | beyond five | median sigma us | rms error / bound, 10 dB and more |")
    print("|---|---|---|---|---|---|---|")
    for kind in options.kinds.split(","):
        found = delays_of(options.build, kind, (options.delays + 1) // 2, options.seed)
        error, sigma, usable, snr_db, bound = found.T
        good = usable > 0
        ratio = np.abs(error[good]) / sigma[good]
        shares = []
        for hits in (np.sum(ratio <= 1), np.sum(ratio <= 2), np.sum(ratio > 5)):
            low, high = wilson(hits, len(ratio))
            shares.append(f"{100 * hits / max(1, len(ratio)):.1f} % ({100 * low:.1f}-{100 * high:.1f})")
        loud = good & (snr_db >= 10)
        efficiency = np.sqrt(np.mean((error[loud] / bound[loud]) ** 2)) if loud.any() else np.nan
        print(f"| {kind} | {int(good.sum())} of {len(found)} | {shares[0]} | {shares[1]} | {shares[2]} | "
              f"{1e6 * np.median(sigma[good]):.0f} | {efficiency:.2f} |", flush=True)


if __name__ == "__main__":
    main()
