"""Which runs there are: in a folder and those below it, or in a list."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ..core.errors import InputError
from ..core.safe_text import visible
from ..io.decoding import decode
from ..io.files import MAX_RUN_BYTES, MAX_SHEET_BYTES, load, regular_head

_RUN = "run.toml"
_NAMES_FILES = re.compile(rb"(?m)^\s*[\"']?(track|turns)[\"']?\s*=")
"""What sets a run file apart from other TOML files."""
MOST_RUNS = 2_000_000


@dataclass(frozen=True, slots=True)
class RunPlace:
    """Where a run's description lies; its files lie ``within`` a folder, or are refused.

    ``source`` is what its row is called by: the path below the folder, or as listed.
    """

    path: str
    source: str
    within: str

    @property
    def place(self) -> str:
        """The whole path, fit to be shown and kept."""
        return visible(os.path.abspath(self.path))


@dataclass(frozen=True, slots=True)
class RunList:
    """Runs by the paths of their descriptions, below a folder ``root``, or listed (None)."""

    paths: tuple[str, ...]
    root: str | None

    def __len__(self) -> int:
        return len(self.paths)

    def __iter__(self) -> Iterator[RunPlace]:
        for path in self.paths:
            source = path if self.root is None else os.path.relpath(path, self.root)
            within = os.path.dirname(path) if self.root is None else self.root
            yield RunPlace(path, visible(Path(source).as_posix()), within)


def find_runs(given: Path) -> RunList:
    """The runs below a folder in the order of their paths, or those of a list in its order.

    Below a folder every run.toml counts, and every other file ``*.toml`` that names a track or
    turns; hidden folders are passed over, links to folders not followed. A list is a text file
    with a run file to a line, seen from the list's folder; empty lines and such that begin with #
    are passed over. A run that is listed twice is there once.

    Raises
    ------
    InputError : there is no such folder or list, or no run in it.
    """
    folder = given.is_dir()
    paths = tuple(_below(given) if folder else dict.fromkeys(_listed_in(given)))
    if not paths:
        raise InputError(
            f"{given}: no run.toml in it or below it; see docs/run-file.md"
            if folder
            else f"{given.name}: lists no run; write a run file to a line"
        )
    if len(paths) > MOST_RUNS:
        raise InputError(f"{given}: {len(paths):,} runs; up to {MOST_RUNS:,} are taken at once")
    return RunList(paths, os.fspath(given) if folder else None)


def _below(folder: Path) -> Iterator[str]:
    def unreadable(why: OSError) -> None:
        raise InputError(f"{why.filename}: cannot be read ({why.strerror})") from why

    for where, folders, names in os.walk(folder, onerror=unreadable):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = os.path.join(where, name)
            if _is_run(path, name):
                yield path


def _is_run(path: str, name: str) -> bool:
    if name == _RUN:
        return True
    if not name.lower().endswith(".toml") or name.startswith("."):
        return False
    try:
        head = regular_head(path, MAX_RUN_BYTES)
    except (OSError, ValueError):
        return False
    return bool(head and _NAMES_FILES.search(head))


def _listed_in(path: Path) -> Iterator[str]:
    source = load(path, error=InputError, what="folder or list of runs", limit=MAX_SHEET_BYTES)
    if path.suffix.lower() == ".toml":
        raise InputError(
            f"{source.name}: is a run file, not a list of them; groundtruth measure measures one"
        )
    text, remark = decode(source.data)
    if remark or "\0" in text:
        raise InputError("is no UTF-8 text; write a run file to a line", file=source.name)
    for line in text.splitlines():
        written = line.strip()
        if written and not written.startswith("#"):
            yield os.fspath(path.parent / written)
