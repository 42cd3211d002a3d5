#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the recordings of scripts/bench and times the programs on them, taking turns.

Usage: bench_runs.py [-h] [--seconds S] [--tools] [--hours] PAIRS FOLDER
"""
import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import time

import bench_grounds

RATE, CHANNELS, SECONDS = 16000, 6, 600


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


def turns(commands, pairs):
    """Runs the commands in turn; measures of each. The first round warms the file cache and is not counted."""
    results = {name: [] for name in commands}
    for turn in range(pairs + 1):
        for name, command in commands.items():
            measured = run(command)
            if turn > 0:
                results[name].append(measured)
    return results


def single_tools(pairs, folder, wav):
    """Each tool beside the general-purpose program that does the nearest thing, in times real time."""
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


def folder_share(review, wav):
    """Size of a review's folder over the recording's, without the sound of the whole recording."""
    size = sum(os.path.getsize(os.path.join(place, name)) for place, _, names in os.walk(review) for name in names
               if os.path.basename(place) != "sound")
    return size / os.path.getsize(wav)


def on_ground(ground, seconds, pairs, folder):
    """Rows of one ground, and what the headline takes of them: processor seconds over decoding's, by tool."""
    wav = bench_grounds.make(ground, seconds, os.path.join(folder, ground))
    review = os.path.join(folder, f"review-{ground}")
    commands = {
        "decode alone": ["build/lull_decode_only", wav],
        "SciPy": ["/usr/bin/python3", "scripts/yardstick.py", wav],
        "lull-detect, 1 job": ["build/lull-detect", wav, "--quiet", "--jobs", "1"],
        "lull-detect, 2 jobs": ["build/lull-detect", wav, "--quiet", "--jobs", "2"],
        "lull-review, 1 job": ["build/lull-review", wav, "-o", review, "--quiet", "--jobs", "1"],
        "lull-review, 2 jobs": ["build/lull-review", wav, "-o", review, "--quiet", "--jobs", "2"],
        "the same, no audio": ["build/lull-review", wav, "-o", review, "--quiet", "--jobs", "2", "--no-audio"],
    }
    share = {}
    results = {name: [] for name in commands}
    for turn in range(pairs + 1):  # the first warms the file cache and is not counted
        for name, command in commands.items():
            shutil.rmtree(review, ignore_errors=True)
            measured = run(command)
            if turn > 0:
                results[name].append(measured)
            if review in command:
                share[name] = folder_share(review, wav)
    decode, scipy = results["decode alone"], results["SciPy"]
    print(f"\n{ground:20}{'wall s':>9}{'cpu s':>9}{'cpu / decode':>14}{'SciPy / wall':>14}{'peak MB':>9}{'folder':>9}")
    over = {}
    for name, rows in results.items():
        wall, cpu, _ = (statistics.median(column) for column in zip(*rows))
        over[name] = statistics.median(row[1] / other[1] for row, other in zip(rows, decode))
        under = statistics.median(other[0] / row[0] for row, other in zip(rows, scipy))
        print(f"{name:20}{wall:9.2f}{cpu:9.2f}{over[name]:14.1f}{under:14.1f}{max(row[2] for row in rows):9.0f}"
              + (f"{share[name]:9.2f}" if name in share else ""))
    for tool in ("lull-detect", "lull-review"):
        gain = statistics.median(one[0] / two[0] for one, two in
                                 zip(results[f"{tool}, 1 job"], results[f"{tool}, 2 jobs"]))
        print(f"{tool} on two threads is {gain:.2f} times as fast as on one")
    return {tool: over[f"{tool}, 1 job"] for tool in ("lull-detect", "lull-review")} | {"folder": max(share.values())}


def lengths(folder, wav):
    """The same ten minutes over and over, as a night of files: time and memory against length."""
    print(f"\n{'lull-review of':22}{'wall s':>9}{'cpu s':>9}{'ns/sample':>11}{'peak MB':>9}")
    for name, count in (("10 min", 1), ("1 h", 6), ("8 h", 48)):
        night = os.path.join(folder, f"night-{count}")
        os.mkdir(night)
        for number in range(count):
            os.link(wav, os.path.join(night, f"take-{number}.wav"))
        wall, cpu, peak = run(["build/lull-review", night, "-o", os.path.join(folder, "review"), "--quiet"])
        print(f"{name:22}{wall:9.1f}{cpu:9.1f}{cpu / (count * SECONDS * RATE * CHANNELS) * 1e9:11.1f}{peak:9.0f}")


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("pairs", type=int)
    options.add_argument("folder")
    options.add_argument("--seconds", type=int, default=SECONDS, help="of each ground")
    options.add_argument("--tools", action="store_true", help="also the single tools, against SoX and SciPy")
    options.add_argument("--hours", action="store_true", help="also 10 min, 1 h and 8 h of calm ground")
    chosen = options.parse_args()
    print(f"{chosen.seconds} s x {CHANNELS} channels x {RATE} Hz x 24 bit, {len(os.sched_getaffinity(0))} cores, "
          f"medians of {chosen.pairs} rounds")
    heads = [on_ground(ground, chosen.seconds, chosen.pairs, chosen.folder) for ground in bench_grounds.SITES]
    for name in heads[0]:
        values = [head[name] for head in heads]
        what = "folder over recording" if name == "folder" else f"{name}, processor time over decoding's"
        print(f"\n{what}: worst {max(values):.2f}, median {statistics.median(values):.2f}", end="")
    print()
    calm = os.path.join(chosen.folder, "calm", "trainee", "recording.wav")
    if chosen.tools:
        single_tools(chosen.pairs, chosen.folder, calm)
    if chosen.hours:
        lengths(chosen.folder, calm)


if __name__ == "__main__":
    main()
