"""The data set's folder: Parquet files by season, written whole, of which the journal names each.

    FLEET/journal.sqlite
    FLEET/runs/season=2027/part-….parquet      one row a run
    FLEET/passes/season=2027/part-….parquet    one row a pass

Read by `pyarrow.dataset.dataset(FLEET / "runs", partitioning="hive")` or DuckDB's `read_parquet`.
"""

from __future__ import annotations

import contextlib
import re
import secrets
from collections.abc import Iterable
from pathlib import Path
from typing import get_args

from ..core.errors import InputError
from ..fleet.columns import parquet_of
from ..io.writing import clear_parts, make_folder, write_all_whole
from .arrow import Kind, Table, in_order, table_in, table_of
from .journal import FILE_NAME, FleetJournal, Part

KINDS: tuple[Kind, ...] = get_args(Kind)
RUNS_OF_A_PART = 1_000
"""A part of fewer is put together with what comes later, so that no season ends in crumbs."""
UNKNOWN = "__HIVE_DEFAULT_PARTITION__"
"""The season of runs whose day is not known, null to whoever reads [Apache Hive, "Dynamic
Partition Inserts", hive.exec.default.partition.name]."""
_OURS = re.compile(r"part-[0-9a-f]{16}\.parquet")
_WITH_JOURNAL = {FILE_NAME, f"{FILE_NAME}-journal", *KINDS}


def begun_folder(folder: Path) -> None:
    """Make the folder of a data set, unless it is one.

    Raises
    ------
    InputError : it holds something else, or cannot be made.
    """
    try:
        make_folder(folder)
        there = {one.name for one in folder.iterdir()}
    except OSError as why:
        raise InputError(
            f"{folder}: cannot be made or read ({why.strerror}); choose another --out"
        ) from why
    if there and not (FILE_NAME in there and there <= _WITH_JOURNAL):
        other = sorted(there - _WITH_JOURNAL)
        what = f"holds {other[0]}" if other else f"holds no {FILE_NAME}"
        raise InputError(
            f"{folder}: {what} and so is no data set of groundtruth many; name a new or empty "
            "folder with --out"
        )


def recovered(folder: Path, journal: FleetJournal) -> int:
    """Bring files and journal together after a call that was killed, or after files were lost.

    Parts that the journal does not name are removed; those that it names and that are gone or of
    another size are forgotten. Returns how many runs were forgotten, to be measured again.
    """
    named = {part.name: part for part in journal.parts()}
    for kind in KINDS:
        for place in (folder / kind).glob("season=*"):
            clear_parts(place)
            for file in place.iterdir():
                if _OURS.fullmatch(file.name) and file.stem not in named:
                    file.unlink()
    lost = [part for part in named.values() if _size(folder, part) != part.bytes]
    gone = sum(journal.lose(part.name) for part in lost)
    _unlink(folder, lost)
    return gone


def put_waiting(folder: Path, journal: FleetJournal) -> None:
    """Put the runs that wait into parts, and take those that were replaced out of theirs."""
    replaced = journal.replaced()
    parts = journal.parts()
    seasons = journal.waiting_seasons()
    touched = [
        part
        for part in parts
        if part.name in replaced or (part.runs < RUNS_OF_A_PART and part.season in seasons)
    ]
    new: list[tuple[Part, list[str]]] = []
    for season in dict.fromkeys([*seasons, *(part.season for part in touched)]):
        pools: dict[Kind, list[Table]] = {kind: [] for kind in KINDS}
        for _, rows in journal.waiting_rows(season):
            for kind in KINDS:
                pools[kind].append(table_of(rows[kind], kind))
        for part in touched:
            if part.season != season:
                continue
            kept = _read(folder, part, replaced.get(part.name, ()))
            if part.runs < RUNS_OF_A_PART:
                for kind in KINDS:
                    pools[kind].append(kept[kind])
            else:
                new += _written(folder, season, kept)
        new += _written(folder, season, {kind: in_order(pools[kind], kind) for kind in KINDS})
    journal.exchange([part.name for part in touched], new)
    _unlink(folder, touched)


def _read(folder: Path, part: Part, without: Iterable[str]) -> dict[Kind, Table]:
    gone = set(without)
    try:
        return {
            kind: table_in(_path(folder, part, kind).read_bytes(), kind, without=gone)
            for kind in KINDS
        }
    except (OSError, ValueError) as why:
        raise InputError(
            f"{_path(folder, part, 'runs')}: cannot be read any more; remove it and start the same "
            "command again: its runs are then measured again"
        ) from why


def _written(
    folder: Path, season: int | None, tables: dict[Kind, Table]
) -> list[tuple[Part, list[str]]]:
    """The part that was written with its keys; none where there are no runs."""
    keys: list[str] = tables["runs"]["run_key"].to_pylist()
    if not keys:
        return []
    data = {kind: parquet_of(table) for kind, table in tables.items()}
    size = sum(map(len, data.values()))
    part = Part(name=f"part-{secrets.token_hex(8)}", season=season, runs=len(keys), bytes=size)
    for kind in KINDS:
        try:
            make_folder(_path(folder, part, kind).parent)
        except OSError as why:
            raise InputError(f"{folder}: cannot be written ({why.strerror})") from why
    write_all_whole({_path(folder, part, kind): data[kind] for kind in KINDS})
    return [(part, keys)]


def _path(folder: Path, part: Part, kind: Kind) -> Path:
    season = UNKNOWN if part.season is None else part.season
    return folder / kind / f"season={season}" / f"{part.name}.parquet"


def _size(folder: Path, part: Part) -> int:
    try:
        return sum(_path(folder, part, kind).stat().st_size for kind in KINDS)
    except OSError:
        return -1


def _unlink(folder: Path, parts: Iterable[Part]) -> None:
    """Remove the files of parts, and the folder of a season that holds no more."""
    for part in parts:
        for kind in KINDS:
            path = _path(folder, part, kind)
            with contextlib.suppress(OSError):  # the next start does it
                path.unlink()
                path.parent.rmdir()
