"""A scheduler and workers in processes of their own, as they are started on other machines."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil

HERE = Path(__file__).parent
SETTINGS = {
    "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0",
    "MALLOC_TRIM_THRESHOLD_": str(256 << 20),
    "DASK_DISTRIBUTED__WORKER__MEMORY__TARGET": "False",
    "DASK_DISTRIBUTED__WORKER__MEMORY__SPILL": "False",
    "DASK_DISTRIBUTED__WORKER__MEMORY__PAUSE": "False",
}
"""As docs/many.md has them."""


def free_port():
    """A port of this computer that nobody listens to."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def started(*words, log, **more):
    """A process with its words in a log."""
    with Path(log).open("ab") as out:
        return subprocess.Popen(
            [sys.executable, "-m", *map(str, words)],
            stdout=out,
            stderr=out,
            env={**os.environ, **SETTINGS, **more},
        )


class Elsewhere:
    """A scheduler and two workers, each with a nanny, over TCP on this computer."""

    def __init__(self, folder, *, memory="700MB", scheme="tcp", options=(), seen=""):
        self.folder, self.memory, self.options, self.seen = folder, memory, options, str(seen)
        self.port = free_port()
        self.address = f"{scheme}://127.0.0.1:{self.port}"
        self.processes: list[subprocess.Popen] = []
        self.start()

    def start(self):
        """Start all of it."""
        self.scheduler = started(
            "dask", "scheduler", "--host", self.address.rpartition(":")[0], "--port", self.port,
            "--no-dashboard", "--no-show", *self.options, log=self.folder / "scheduler.log",
        )  # fmt: skip
        self.nannies = [
            started(
                "dask", "worker", self.address, "--nthreads", 1, "--nworkers", 1,
                "--memory-limit", self.memory, "--no-dashboard", "--preload", HERE / "poison.py",
                "--local-directory", self.folder, "--death-timeout", 60, *self.options,
                log=self.folder / "workers.log", RUNS_SEEN=self.seen,
            )
            for _ in range(2)
        ]  # fmt: skip
        self.processes += [self.scheduler, *self.nannies]

    def kill_a_worker(self):
        """Kill the process that measures; its nanny starts another."""
        for process in psutil.Process(self.nannies[0].pid).children(recursive=True):
            with suppress(psutil.NoSuchProcess):
                if any("spawn_main" in word for word in process.cmdline()):
                    process.send_signal(signal.SIGKILL)
                    return
        raise AssertionError("no worker to kill")

    def kill_the_scheduler(self):
        """Kill it, and end the workers that it leaves alone."""
        self.scheduler.kill()
        self.scheduler.wait()
        for nanny in self.nannies:
            ended(nanny)


def ended(process):
    """End a process and those that it started."""
    with suppress(psutil.NoSuchProcess):
        family = [*psutil.Process(process.pid).children(recursive=True)]
        process.kill()
        for one in family:
            with suppress(psutil.NoSuchProcess):
                one.kill()
    process.wait()


@contextmanager
def elsewhere(folder, **more):
    """What is ended at the end of the block."""
    there = Elsewhere(folder, **more)
    try:
        yield there
    finally:
        for process in there.processes:
            ended(process)


def waited(until, seconds=120.0):
    """Wait for something to become true."""
    end = time.monotonic() + seconds
    while not until():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.05)
