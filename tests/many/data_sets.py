"""Data sets for tests: outcomes without measuring, and what a folder holds."""

from __future__ import annotations

import pyarrow.dataset as ds

from groundtruth.many.journal import opened_journal
from groundtruth.many.outcomes import REFUSED, not_measured
from groundtruth.many.parts import begun_folder, put_waiting, recovered


def outcome(name, day=None, message="no track", key=None):
    """A run that was refused; its key is its name unless given."""
    return not_measured(key or name, f"{name}/run.toml", REFUSED, message, day=day)


def kept(folder, *outcomes, put=True):
    """Keep outcomes in a data set as a call does; returns how many runs were lost before."""
    begun_folder(folder)
    with opened_journal(folder) as journal:
        lost = recovered(folder, journal)
        journal.keep([(f"/farm/{one.source}", one) for one in outcomes])
        if put:
            journal.drop_unplaced()
            put_waiting(folder, journal)
    return lost


def rows(folder, kind="runs"):
    """All rows of a data set, in the order of their runs."""
    table = ds.dataset(folder / kind, partitioning="hive").to_table().to_pylist()
    return sorted(table, key=lambda row: (row["run_key"], row.get("number", 0)))


def keys(folder):
    """The key of each row of runs."""
    return [row["run_key"] for row in rows(folder)]


def files(folder):
    """Every file of the folder but the journal, with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*.parquet")
    }
