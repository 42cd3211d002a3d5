#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the recording of scripts/bench and times the programs on it, taking turns.

Usage: bench_runs.py PAIRS FOLDER
"""
import json
import multiprocessing
import os
import shutil
import statistics
import struct
import subprocess
import sys
import time

RATE, CHANNELS, SECONDS = 16000, 6, 600
SEED = 20260314


def make(path):
    """Noise of a site, four knocks every 10 s, and a hum; always the same bytes."""
    import numpy as np

    random = np.random.Generator(np.random.PCG64(SEED))
    t = np.arange(int(0.1 * RATE)) / RATE
    knock = np.exp(-t / 0.02) * np.sin(2.0 * np.pi * 300.0 * t)
    size = SECONDS * RATE * CHANNELS * 3
    with open(path, "wb") as file:
        file.write(b"RIFF" + struct.pack("<I", 36 + size) + b"WAVEfmt " +
                   struct.pack("<IHHIIHH", 16, 1, CHANNELS, RATE, RATE * CHANNELS * 3, CHANNELS * 3, 24) +
                   b"data" + struct.pack("<I", size))
        for start in range(0, SECONDS, 10):
            block = 0.003 * random.standard_normal((10 * RATE, CHANNELS))
            time_s = start + np.arange(10 * RATE) / RATE
            block += 0.004 * np.sin(2.0 * np.pi * 50.0 * time_s)[:, None]
            for n in range(4):
                for c in range(CHANNELS):
                    at = int((1.0 + 0.6 * n + 0.002 * c) * RATE)
                    block[at:at + len(t), c] += 0.05 / (1.0 + 0.5 * c) * knock
            whole = np.round(block * (2 ** 23 - 1)).astype("<i4")
            file.write(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def run(command):
    """Wall seconds, processor seconds and peak MB of one run."""
    begin = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    said = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"scripts/bench: {command[0]}: status {process.returncode}: {said.decode(errors='replace')}")
    return time.monotonic() - begin, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024.0


def turns(commands, pairs, before=lambda: None):
    """Runs the commands in turn and returns the measurements of each. The first round fills the file cache and
    is not counted."""
    results = {name: [] for name in commands}
    for turn in range(pairs + 1):
        for name, command in commands.items():
            before()
            measured = run(command)
            if turn > 0:
                results[name].append(measured)
    return results


def single_tools(pairs, folder, wav):
    """Compares each tool with the general-purpose program nearest to it, in times real time."""
    out = os.path.join(folder, "out.wav")
    events = os.path.join(folder, "events.csv")
    run(["build/lull-detect", wav, "--quiet", "-o", events])
    plan = "data/plans/busy-morning.json"
    commands = {
        "lull-filter": ["build/lull-filter", wav, "-o", out, "--quiet"],
        "SoX, the same band": ["sox", wav, out, "highpass", "60", "lowpass", "2000"],
        "lull-noise": ["build/lull-noise", wav, "--quiet"],
        "SciPy, Welch": ["/usr/bin/python3", "scripts/yardstick.py", wav, "welch"],
        "lull-rank": ["build/lull-rank", wav, "--events", events, "--quiet"],
        "lull-delay": ["build/lull-delay", wav, "--events", events, "--quiet"],
        "lull-exercise": ["build/lull-exercise", plan, "-o", os.path.join(folder, "exercise"), "--quiet"],
    }
    commands = {name: command for name, command in commands.items() if shutil.which(command[0])}
    results = turns(commands, pairs)
    with open(plan, encoding="utf-8") as file:
        exercise_s = json.load(file)["duration_s"]
    print(f"\n{'':22}{'wall s':>9}{'cpu s':>9}{'x real time':>13}{'peak MB':>9}")
    for name, rows in results.items():
        wall, cpu, _ = (statistics.median(column) for column in zip(*rows))
        length_s = exercise_s if name == "lull-exercise" else SECONDS
        print(f"{name:22}{wall:9.3f}{cpu:9.3f}{length_s / wall:13.0f}{max(row[2] for row in rows):9.0f}")


def lengths(folder, wav):
    """The same ten minutes repeated, as a night of files: time and memory against length."""
    print(f"\n{'lull-review of':22}{'wall s':>9}{'cpu s':>9}{'ns/sample':>11}{'peak MB':>9}")
    for name, count in (("10 min", 1), ("1 h", 6), ("8 h", 48)):
        night = os.path.join(folder, f"night-{count}")
        os.mkdir(night)
        for number in range(count):
            os.link(wav, os.path.join(night, f"take-{number}.wav"))
        wall, cpu, peak = run(["build/lull-review", night, "-o", os.path.join(folder, "review"), "--quiet"])
        print(f"{name:22}{wall:9.1f}{cpu:9.1f}{cpu / (count * SECONDS * RATE * CHANNELS) * 1e9:11.1f}{peak:9.0f}")


def main():
    pairs, folder = int(sys.argv[1]), sys.argv[2]
    wav = os.path.join(folder, "bench.wav")
    # In a separate process, since the peak memory of a child begins at its parent's.
    maker = multiprocessing.Process(target=make, args=(wav,))
    maker.start()
    maker.join()
    if maker.exitcode != 0:
        sys.exit("scripts/bench: the recording could not be made")
    cores = len(os.sched_getaffinity(0))
    review = ["build/lull-review", wav, "-o", os.path.join(folder, "review"), "--quiet"]
    commands = {
        "decode alone": ["build/lull_decode_only", wav],
        "SciPy": ["/usr/bin/python3", "scripts/yardstick.py", wav],
        "lull-detect": ["build/lull-detect", wav, "--quiet"],
        "lull-review": review,
        "lull-review --jobs 1": review + ["--jobs", "1"],
    }
    commands = {name: command for name, command in commands.items() if os.path.exists(command[0])}
    results = turns(commands, pairs, lambda: shutil.rmtree(os.path.join(folder, "review"), ignore_errors=True))
    samples = SECONDS * RATE * CHANNELS
    print(f"{SECONDS} s x {CHANNELS} channels x {RATE} Hz x 24 bit, {cores} cores, medians of {pairs} rounds")
    print(f"{'':22}{'wall s':>9}{'cpu s':>9}{'ns/sample':>11}{'x decode':>10}{'SciPy / it':>12}{'peak MB':>9}")
    decode, scipy = results["decode alone"], results["SciPy"]
    for name, rows in results.items():
        wall, cpu, _ = (statistics.median(column) for column in zip(*rows))
        over = statistics.median(row[0] / other[0] for row, other in zip(rows, decode))
        under = statistics.median(other[0] / row[0] for row, other in zip(rows, scipy))
        peak = max(row[2] for row in rows)
        print(f"{name:22}{wall:9.3f}{cpu:9.3f}{wall / samples * 1e9:11.1f}{over:10.2f}{under:12.2f}{peak:9.0f}")
    one, two = results["lull-review --jobs 1"], results["lull-review"]
    gain = statistics.median(slow[0] / fast[0] for slow, fast in zip(one, two))
    print(f"lull-review on {cores} cores is {gain:.2f} times as fast as on one")
    single_tools(pairs, folder, wav)
    lengths(folder, wav)


if __name__ == "__main__":
    main()
