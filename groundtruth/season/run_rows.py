"""Write the rows of a run that come from its result alone."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from hashlib import sha256

from ..core.result import PassFigure, Result
from ..io.result_json import result_from_json, result_to_json
from .columns import insert
from .packing import pack, unpack
from .pass_summary import PassSummary, summary_of
from .run_tables import PASSES, ROW_UNITS, RUNS, TURN_COUNTS, RunSource


def run_key(result: Result) -> str:
    """What makes a run the same run: the files it was measured from, by their SHA-256."""
    text = "\n".join(sorted(f.sha256 for f in result.inputs)) or result_to_json(result)
    return sha256(text.encode()).hexdigest()


def insert_run(
    db: sqlite3.Connection, result: Result, *, seeder: str, soil: str, note: str, added_at: str
) -> int:
    """Insert the rows of a run; returns the run's id."""
    run_id = RUNS.insert(
        db,
        RunSource(
            key=run_key(result),
            result=result,
            seeder=seeder,
            soil=soil,
            note=note,
            added_at=added_at,
        ),
    )
    whole = pack(result_to_json(result))
    insert(db, "results", {"run_id": run_id, "json_zlib": whole})
    for file in result.inputs:
        insert(db, "inputs", {"run_id": run_id, "name": file.name, "sha256": file.sha256})
    for summary in _summaries(result):
        pass_id = PASSES.insert(db, summary, run_id=run_id)
        for figure in summary.figures:
            TURN_COUNTS.insert(db, figure, pass_id=pass_id)
    for unit in result.row_units:
        ROW_UNITS.insert(db, unit, run_id=run_id)
    return run_id


def fill_new_columns(db: sqlite3.Connection, before: int) -> None:
    """Write what the whole results say for columns that the form ``before`` did not have yet."""
    if all(c.since <= before for t in (RUNS, PASSES, TURN_COUNTS, ROW_UNITS) for c in t.columns):
        return
    for run_id, key, seeder, soil, note, added_at, packed in db.execute(
        "SELECT r.id, r.key, r.seeder, r.soil, r.note, r.added_at, s.json_zlib"
        " FROM runs r JOIN results s ON s.run_id = r.id"
    ).fetchall():
        result = result_from_json(unpack(packed))
        noted = {"seeder": seeder, "soil": soil, "note": note, "added_at": added_at}
        RUNS.fill(db, RunSource(key=key, result=result, **noted), before, id=run_id)
        for summary in _summaries(result):
            number = summary.line.number
            PASSES.fill(db, summary, before, run_id=run_id, number=number)
            (pass_id,) = db.execute(
                "SELECT id FROM passes WHERE run_id = ? AND number = ?", (run_id, number)
            ).fetchone()
            for figure in summary.figures:
                TURN_COUNTS.fill(db, figure, before, pass_id=pass_id, unit=figure.unit)
        for unit in result.row_units:
            ROW_UNITS.fill(db, unit, before, run_id=run_id, unit=unit.unit)


def _summaries(result: Result) -> Iterator[PassSummary]:
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    for line in result.lines:
        summary = summary_of(line, figures.get(line.number, []))
        if summary is not None:
            yield summary
