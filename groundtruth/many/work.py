"""What runs in a worker: several runs one after another, each within its time."""

from __future__ import annotations

import faulthandler
import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from functools import lru_cache
from typing import TextIO
from zoneinfo import ZoneInfo

from .. import __version__
from ..app.measure import MeasureRequest, measured_run_for
from ..core.errors import GroundtruthError, InputError
from ..core.run import Run
from ..io.result_json import result_to_dict
from ..io.timestamps import local_day
from .inputs import RunInputs
from .outcomes import FAILED, REFUSED, Outcome, Status, measured, not_measured

OVER_TIME = "groundtruth-over-time"
"""The topic under which a worker says which run takes too long, before it ends itself."""
_LAST_WORDS_S = 2.0


def measure_chunk(runs: Sequence[RunInputs], *, time_limit_s: float, version: str) -> list[Outcome]:
    """The outcome of each run. One that takes longer than its time ends the whole process.

    Raises
    ------
    InputError : this worker has another version than the one that asks.
    """
    if version != __version__:
        raise InputError(
            f"a worker has groundtruth {__version__}, and this is {version}; install the same on "
            "all machines"
        )
    return [_outcome_of(inputs, time_limit_s) for inputs in runs]


def _outcome_of(inputs: RunInputs, time_limit_s: float) -> Outcome:
    began, day = time.perf_counter(), None

    def without(status: Status, message: str) -> Outcome:
        seconds = time.perf_counter() - began
        return not_measured(inputs.key, inputs.source, status, message, day=day, seconds=seconds)

    with _ended_after(time_limit_s, inputs.key):
        try:
            run = inputs.run.read()
            day = _day_of(run)
            result = measured_run_for(MeasureRequest(run=run)).result
            return measured(inputs, result_to_dict(result), time.perf_counter() - began)
        except GroundtruthError as why:
            return without(REFUSED, str(why))
        except Exception as why:
            return without(FAILED, f"{type(why).__name__}: {why}".partition("\n")[0])


def _day_of(run: Run) -> date:
    return local_day(float(run.track.time_s[0]), ZoneInfo(run.time_zone))


@contextmanager
def _ended_after(seconds: float, key: str) -> Iterator[None]:
    """End the process unless the block is through in time, whatever it hangs in.

    The watch of faulthandler needs no interpreter lock [Python documentation, faulthandler].
    """
    said = threading.Timer(seconds, _teller(), args=(OVER_TIME, key))
    said.daemon = True
    said.start()
    faulthandler.dump_traceback_later(seconds + _LAST_WORDS_S, exit=True, file=_nowhere())
    try:
        yield
    finally:
        faulthandler.cancel_dump_traceback_later()
        said.cancel()


def _teller() -> Callable[[str, str], None]:
    """What tells the scheduler something under a topic; nothing does outside a worker."""
    from distributed import get_worker

    try:
        tell: Callable[[str, str], None] = get_worker().log_event
    except ValueError:
        return lambda topic, key: None
    return tell


@lru_cache(maxsize=1)
def _nowhere() -> TextIO:
    return open(os.devnull, "w", encoding="utf-8")
