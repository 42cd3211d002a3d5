#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A night done in parts: by two processes, through GNU Parallel, and as a job array of a real Slurm."""
import hashlib
import os
import shutil
import socket
import subprocess
import time

from harness import SOURCE, main, run, tool
from long_night import Long, read

SCRIPTS = os.path.join(SOURCE, "scripts", "cluster")
PATIENCE_S = 300
PROGRAMS = ("munged", "slurmctld", "slurmd", "sbatch", "scontrol", "sinfo", "squeue")


def found(program):
    return shutil.which(program, path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")


class Parts(Long):
    def part(self, units, *options, status=0):
        result = run("lull-review", self.path("night"), "--unit", units, "-o", self.path("units"), *options)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def gather(self, *folders, options=(), out="out"):
        return run("lull-review", self.path("night"), "-o", self.path(out), *options, "--gather",
                   *(self.path(folder) for folder in folders or ("units",)))

    def test_units_are_listed(self):
        result = run("lull-review", "--quiet", "--units", self.path("night"))
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        rows = [line.split() for line in result.stdout.splitlines()]
        self.assertEqual([int(row[0]) for row in rows], list(range(self.UNITS)))
        self.assertEqual([float(value) for value in rows[2][1:]], [600, 900])
        self.only_results_are_left()

    def test_two_processes_work_and_a_third_gathers(self):
        halves = [subprocess.Popen([tool("lull-review"), "--quiet", self.path("night"), "--jobs", "1", "--unit", units,
                                    "-o", self.path("units")]) for units in ("0-2", "2-3")] # one unit twice
        self.assertEqual([half.wait() for half in halves], [0, 0])
        self.assertEqual(sorted(os.listdir(self.path("units"))), [f"unit-00000{n}" for n in range(self.UNITS)])
        self.assertEqual(self.gather().returncode, 0)
        self.same(self.undisturbed(), "out")
        self.only_results_are_left("out", "units")
        before = os.stat(self.path("units", "unit-000001")).st_mtime_ns
        self.assertIn("1 of them had been done before", self.part("1").stderr)
        self.assertEqual(os.stat(self.path("units", "unit-000001")).st_mtime_ns, before)

    def test_several_folders_with_other_file_times(self):
        self.part("0-1")
        os.rename(self.path("units"), self.path("first"))
        self.part("2-3")
        shutil.copytree(self.path("night"), self.path("copy")) # another machine's copy: other times, same content
        shutil.rmtree(self.path("night"))
        os.rename(self.path("copy"), self.path("night"))
        self.assertEqual(self.gather("first", "units").returncode, 0)
        self.same(self.undisturbed(), "out")

    def test_missing_units_are_named(self):
        self.part("1")
        self.assert_refused(self.gather(options=["--quiet"]), 3, "units 0, 2 to 3 are missing")
        self.part("2-3")
        self.part("0", "--band", "100-1500") # other settings: such a unit does not count
        self.assert_refused(self.gather(options=["--quiet"]), 3, "unit 0 is missing")
        self.part("0")
        path = self.path("night", "2.wav") # from 200 s on: the run-out of the first unit and the run-in of the next
        with open(path, "r+b") as file:
            file.seek(5000)
            file.write(b"\1\2\3\4")
        self.assert_refused(self.gather(options=["--quiet"]), 3, "units 0 to 1 are missing")
        self.only_results_are_left("units")

    def test_an_invalid_unit_counts_as_missing(self):
        """An invalid kind of event, under right digests."""
        self.part("0-3")
        path = self.path("units", "unit-000002")
        data = bytearray(read(path))
        why = data.index(b"rise ")  # before it: its length (8), confidence (8), kind (4)
        data[why - 20:why - 16] = (77).to_bytes(4, "little")
        head = data.index(b"\n") + 1 + 64
        data[-64:] = hashlib.sha256(data[head:-64]).hexdigest().encode()
        with open(path, "wb") as file:
            file.write(data)
        self.assert_refused(self.gather(options=["--quiet"]), 3, "unit 2 is missing, damaged")
        self.only_results_are_left("units")

    def test_refused(self):
        os.mkdir(self.path("other"))
        with open(self.path("other", "letter"), "w", encoding="utf-8") as file:
            file.write("a letter")
        for options, status, words in (
                (["--unit", "7", "-o", self.path("out")], 2, "there are units 0 to 3"),
                (["--unit", "2-1", "-o", self.path("out")], 2, "--unit"),
                (["--unit", "1x", "-o", self.path("out")], 2, "--unit"),
                (["--unit", "1"], 2, "--output"),
                (["--unit", "1", "--resume", "-o", self.path("out")], 2, "--resume"),
                (["--unit", "1", "-o", self.path("other")], 1, "holds letter")):
            self.assert_refused(run("lull-review", "--quiet", self.path("night"), *options), status, words)
        self.only_results_are_left("other")


class Engine(Long):
    """What the scripts need: a night with blanks in its name and a file that is skipped."""

    def setUp(self):
        super().setUp()
        os.rename(self.path("night"), self.path("a night"))
        with open(self.path("a night", "notes.wav"), "w", encoding="utf-8") as file:
            file.write("a letter")
        self.environment = {**os.environ, "LULL_REVIEW": os.path.realpath(tool("lull-review"))}
        result = run("lull-review", self.path("a night"), "-o", self.path("plain"), "--band", "80-1500")
        self.assertEqual(result.returncode, 4, result.stderr)

    def call(self, script, **more):
        return subprocess.run([os.path.join(SCRIPTS, script), self.path("out"), self.path("a night"), "--band",
                               "80-1500"], env=self.environment, capture_output=True, text=True, check=False, **more)


class Parallel(Engine):
    def test_parallel(self):
        if not found("parallel"):
            self.skipTest("GNU Parallel is not installed (parallel)")
        result = self.call("parallel")
        self.assertEqual(result.returncode, 4, result.stderr)
        self.same("plain", "out")
        self.assertEqual(sorted(os.listdir(self.folder)), ["a night", "out", "plain"])


class Slurm(Engine):
    def launch(self, *command):
        log = open(self.path("daemons.log"), "a", encoding="utf-8")
        self.addCleanup(log.close)
        process = subprocess.Popen(command, stdout=log, stderr=log, env=self.environment, cwd=self.folder)
        self.addCleanup(self.stop, process)
        return process

    @staticmethod
    def stop(process):
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    @staticmethod
    def free_port():
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            return one.getsockname()[1]

    def ask(self, *command):
        return subprocess.run(command, env=self.environment, capture_output=True, text=True, check=False).stdout

    def cluster(self):
        """Separate daemons: the system's Slurm and munge are not touched."""
        missing = [program for program in PROGRAMS if not found(program)]
        if missing or os.geteuid() != 0:
            self.skipTest(f"not installed or not root: {missing} (slurm-wlm, munge)")
        os.chmod(self.folder, 0o755)
        for name in ("munge", "state", "spool"):
            os.mkdir(self.path(name), 0o755)
        with open(self.path("munge", "key"), "wb") as file:
            file.write(os.urandom(128))
        os.chmod(self.path("munge", "key"), 0o600)
        host = socket.gethostname().split(".")[0]
        with open(self.path("slurm.conf"), "w", encoding="utf-8") as file:
            file.write(f"""ClusterName=night
SlurmctldHost={host}(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthInfo=socket={self.path("munge", "socket")}
SlurmctldPort={self.free_port()}
SlurmdPort={self.free_port()}
StateSaveLocation={self.path("state")}
SlurmdSpoolDir={self.path("spool")}
SlurmctldPidFile={self.path("slurmctld.pid")}
SlurmdPidFile={self.path("slurmd.pid")}
SlurmctldLogFile={self.path("slurmctld.log")}
SlurmdLogFile={self.path("slurmd.log")}
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
MpiDefault=none
ReturnToService=2
SchedulerParameters=sched_interval=2
NodeName={host} NodeAddr=127.0.0.1 CPUs={os.cpu_count()} State=UNKNOWN
PartitionName=all Nodes={host} Default=YES MaxTime=INFINITE State=UP
""")
        self.environment["SLURM_CONF"] = self.path("slurm.conf")
        self.environment["PATH"] = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"
        self.launch(found("munged"), "--foreground", "--force", f"--key-file={self.path('munge', 'key')}",
                    f"--socket={self.path('munge', 'socket')}", f"--pid-file={self.path('munge', 'pid')}",
                    f"--log-file={self.path('munge', 'log')}", f"--seed-file={self.path('munge', 'seed')}")
        self.wait_until(lambda: os.path.exists(self.path("munge", "socket")), 10)
        self.launch(found("slurmctld"), "-D")
        self.launch(found("slurmd"), "-D")
        if not self.wait_until(lambda: "idle" in self.ask("sinfo", "-h", "-o", "%T"), 40):
            self.skipTest("Slurm does not start here: " + " ".join(
                read(self.path(name)).decode(errors="replace")[-300:] for name in ("slurmctld.log", "slurmd.log")
                if os.path.exists(self.path(name))))

    @staticmethod
    def wait_until(condition, seconds):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if condition():
                return True
            time.sleep(0.2)
        return False

    def test_job_array_and_gathering(self):
        self.cluster()
        result = self.call("slurm", cwd=self.folder)
        self.assertEqual(result.returncode, 0, result.stderr)
        gathering = result.stdout.strip()
        self.assertTrue(gathering.isdigit(), result.stdout)
        # A task that is put back into the queue does only what was not done before.
        self.wait_until(lambda: os.path.isdir(self.path("out.units")) and os.listdir(self.path("out.units")), PATIENCE_S)
        subprocess.run(["scontrol", "requeue", str(int(gathering) - 1) + f"_{self.UNITS - 1}"], env=self.environment,
                       capture_output=True, check=False)
        self.assertTrue(self.wait_until(lambda: not self.ask("squeue", "-h").strip(), PATIENCE_S),
                        self.ask("squeue"))
        messages = " ".join(read(self.path("out.messages", name)).decode()
                            for name in sorted(os.listdir(self.path("out.messages"))))
        self.assertTrue(os.path.exists(self.path("out", "report.json")), messages)
        self.same("plain", "out")
        self.assertFalse(os.path.exists(self.path("out.units")))
        self.assertIn("notes.wav: skipped", messages)


if __name__ == "__main__":
    main()
