"""The inputs of a run with the key by which it is known, or the outcome where they are no run."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from .. import __version__
from ..core.errors import InputError
from ..fleet.columns import key_of
from ..io.run_bytes import RunBytes, load_run
from .find_runs import RunPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class RunInputs:
    """A run to measure; ``key`` is the hash of its inputs and of the version that measures."""

    key: str
    source: str
    run: RunBytes


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreadRun:
    """A run whose files could not be read; ``message`` says why."""

    key: str
    source: str
    message: str


def inputs_of(place: RunPlace) -> RunInputs | UnreadRun:
    """All bytes of a run, by the rules of the readers, or why there are none.

    What cannot be read is known by its place and the reason, so that it is tried again, and
    counted once, until the reason goes.
    """
    try:
        run = load_run(place.path, within=Path(place.within))
    except InputError as why:
        parts = (__version__, place.place, str(why))
        key = hashlib.sha256("\n".join(parts).encode()).hexdigest()
        return UnreadRun(key=key, source=place.source, message=str(why))
    document = {
        "tool_version": __version__,
        "inputs": [{"sha256": one.file.sha256} for one in (run.description, *run.files)],
    }
    return RunInputs(key=key_of(document), source=place.source, run=run)
