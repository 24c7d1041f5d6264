"""Loaded by the workers of some tests: runs that are called after a poison act on it.

Dask loads it where its setting distributed.worker.preload says so; nothing in the program knows it.
"""

from __future__ import annotations

import os
import re
import time
from pathlib import Path

from groundtruth.many import work

measure = work.measured_run_for
LOG = os.environ.get("RUNS_SEEN")


def measured_or_poisoned(request):
    name = request.run.name
    if "exception" in name:
        raise ZeroDivisionError("a fault on purpose\nwith a second line")
    if "asleep" in name:
        time.sleep(1e6)
    if "lock held" in name:  # within one call of C, which lets no other thread of Python run
        re.fullmatch(r"(a+)+b", "a" * 60)
    if "memory" in name:
        held = []
        while len(held) < 100:
            held.append(bytes(40 << 20).replace(b"\0", b"\1"))
            time.sleep(0.05)
    if "exit" in name:
        os._exit(7)
    done = measure(request)
    if LOG:
        with Path(LOG).open("a", encoding="utf-8") as log:
            log.write(f"{name}\n")
    return done


def dask_setup(worker):
    work.measured_run_for = measured_or_poisoned
