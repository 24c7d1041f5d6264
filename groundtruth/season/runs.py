"""Put runs into the record, each once, and take them out again."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from ..core.result import Result, SlipPart
from ..core.same_figures import FIGURES_OF_SEEDER, same_figures
from ..io.geopackage import from_blob, instant_text
from ..io.json_values import time_of_utc
from ..io.result_json import result_from_json
from .added import Added, Outcome
from .bed_layout import lay_beds_out
from .forms import now_text
from .packing import unpack
from .run_rows import insert_run, run_key
from .run_tables import SLIP_ALONG
from .seeders import seeder_named_by, seeders_of
from .store import SeasonError, reading, writing

SAME_PASS_S = 0.5
"""Two passes of one place that share more than this part of their time are one pass."""


def add_run(
    path: Path,
    result: Result,
    *,
    seeder: str = "",
    soil: str = "",
    note: str = "",
    replace: bool = False,
    along: Sequence[SlipPart] = (),
) -> Added:
    """Record a measured run; the same run again changes nothing.

    Its soil, seeder or note given differently from what is recorded are put right where
    ``replace`` is asked for; empty ones are left as they are. Without ``seeder`` and ``soil`` those
    of its description are noted, the soil by its moisture.

    ``along`` is slip on parts of its passes, where turns were timed (see `slipalong`).

    Raises
    ------
    SeasonError : the file cannot be used, or it holds passes of this run already, measured from
        other files or with another outcome, and ``replace`` was not asked for.
    """
    with writing(path, action="add") as db:
        outcome, gone = _add_run(db, result, seeder=seeder, soil=soil, note=note, replace=replace)
        if outcome in ("added", "replaced"):
            _insert_along(db, run_key(result), along)
            lay_beds_out(db)
        elif outcome == "put right" and len(seeders_of(db)) > 1:
            lay_beds_out(db, anew=True)
        said = {
            "added": f"added, {len(result.lines)} passes",
            "already there": "is recorded already; nothing was changed",
            "replaced": f"{len(result.lines)} passes put in place of {gone}",
            "put right": "what was noted of it is put right",
        }
        db.said = f"{result.run_name}, {result.date}: {said[outcome]}"
        text = db.said + db.remark
    return Added(what="run", outcome=outcome, text=text)


def _add_run(
    db: sqlite3.Connection, result: Result, *, seeder: str, soil: str, note: str, replace: bool
) -> tuple[Outcome, str]:
    """What became of it, and in words what it took the place of."""
    old = db.execute(
        "SELECT r.id, s.json_zlib FROM runs r JOIN results s ON s.run_id = r.id WHERE r.key = ?",
        (run_key(result),),
    ).fetchone()
    other = ""
    if old:
        recorded = _unpacked(old[1], result.run_name)
        other = "measured with another outcome"
        if same_figures(recorded, result):
            other = _described_otherwise(recorded, result)
            if not other:
                said = {"seeder": seeder, "soil": soil, "note": note}
                return _put_right(db, old[0], result, replace, **said), ""
    shared: dict[int, set[int]] = {old[0]: set()} if old else _overlapping(db, result)
    clash = sorted(shared)
    shown = "; ".join(_label(db, run_id) for run_id in clash)
    if clash and not replace:
        why = other or "from other files"
        raise SeasonError(
            f"{result.run_name}, {result.date}: the record holds passes of this run already "
            f"({shown}), {why}; add it with --replace to put this one in its place"
        )
    if not old:
        _refuse_to_lose(db, result, shared, shown)
    noted = {"seeder": seeder, "soil": soil, "note": note}
    for run_id in clash:
        for name, had in _noted(db, run_id, by_hand=True).items():
            noted[name] = noted[name] or had  # what is not said anew stays as it was
        db.execute("DELETE FROM runs WHERE id = ?", (run_id,))
    noted["seeder"] = noted["seeder"] or seeder_named_by(db, result)
    noted["soil"] = noted["soil"] or result.soil.moisture or ""
    insert_run(db, result, **noted, added_at=now_text())
    return ("replaced" if clash else "added"), shown


def _label(db: sqlite3.Connection, run_id: int) -> str:
    name, day, passes = db.execute(
        "SELECT name, day, (SELECT count(*) FROM passes WHERE run_id = runs.id) FROM runs"
        " WHERE id = ?",
        (run_id,),
    ).fetchone()
    return f"{name}, {day}, {passes} passes"


def _refuse_to_lose(
    db: sqlite3.Connection, result: Result, shared: dict[int, set[int]], shown: str
) -> None:
    """Refuse to replace more than comes: several runs by one, or passes that it does not hold."""
    label = f"{result.run_name}, {result.date}"
    if len(shared) > 1:
        raise SeasonError(
            f"{label}: {len(shared)} runs would go for one ({shown}); take out with groundtruth "
            "season remove what should go, then add it"
        )
    for run_id, passes in shared.items():
        every = {
            row[0] for row in db.execute("SELECT number FROM passes WHERE run_id = ?", (run_id,))
        }
        lost = sorted(every - passes)
        if lost:
            numbers = ", ".join(map(str, lost[:8])) + (" …" if len(lost) > 8 else "")
            raise SeasonError(
                f"{label}: {len(lost)} passes would go that it does not hold ({shown}: pass "
                f"{numbers}); take that run out with groundtruth season remove, then add it"
            )


def _put_right(
    db: sqlite3.Connection, run_id: int, result: Result, replace: bool, **said: str
) -> Outcome:
    """What was said of a run that is recorded already."""
    had = _noted(db, run_id)
    other = {name: text for name, text in said.items() if text and text != had[name]}
    if not other:
        return "already there"
    if not replace:
        name, text = next(iter(other.items()))
        raise SeasonError(
            f"{result.run_name}, {result.date}: is recorded with the {name} {had[name]!r}, not "
            f"{text!r}; add it with --replace to put that right"
        )
    for name, text in other.items():
        db.execute(f"UPDATE runs SET {name} = ? WHERE id = ?", (text, run_id))
    return "put right"


def _noted(db: sqlite3.Connection, run_id: int, *, by_hand: bool = False) -> dict[str, str]:
    """Seeder, soil and note of a run; ``by_hand`` only where its description says another."""
    seeder, soil, note, packed = db.execute(
        "SELECT r.seeder, r.soil, r.note, s.json_zlib FROM runs r"
        " JOIN results s ON s.run_id = r.id WHERE r.id = ?",
        (run_id,),
    ).fetchone()
    noted = {"seeder": seeder, "soil": soil, "note": note}
    if by_hand:
        described = _unpacked(packed, "result")
        if seeder in (described.seeder.name, described.seeder.id):
            noted["seeder"] = ""
        if soil == described.soil.moisture:
            noted["soil"] = ""
    return noted


def _described_otherwise(recorded: Result, result: Result) -> str:
    """What a description says otherwise than that of the recorded run, "" where nothing."""
    had, has = _description(recorded), _description(result)
    for what, value in has.items():
        if had[what] != value:
            return f"described with {what} {had[what]!r}, not {value!r}"
    return ""


def _description(result: Result) -> dict[str, Any]:
    """What a result says of farm, field, soil and seeder besides the figures."""
    seeder = asdict(result.seeder)
    return {
        **asdict(result.origin),
        **{f"soil {name}": value for name, value in asdict(result.soil).items()},
        **{f"seeder {n}": v for n, v in seeder.items() if n not in FIGURES_OF_SEEDER},
    }


def _insert_along(db: sqlite3.Connection, key: str, along: Sequence[SlipPart]) -> None:
    pass_ids = dict(
        db.execute(
            "SELECT p.number, p.id FROM passes p JOIN runs r ON r.id = p.run_id WHERE r.key = ?",
            (key,),
        ).fetchall()
    )
    for part in along:
        SLIP_ALONG.insert(db, part, pass_id=pass_ids[part.number])


def _overlapping(db: sqlite3.Connection, result: Result) -> dict[int, set[int]]:
    """Recorded runs that hold a pass of this one, at the same time in the same place, with the
    numbers of those passes."""
    found: dict[int, set[int]] = {}
    figures = {f.number: f for f in result.passes}
    for line in result.lines:
        figure = figures.get(line.number)
        if figure is None or not line.time_s:
            continue
        rows = db.execute(
            "SELECT run_id, number, start_at, end_at, geom FROM passes"
            " WHERE start_at < ? AND end_at > ?",
            (instant_text(figure.end_s), instant_text(figure.start_s)),
        )
        for run_id, number, start, end, geom in rows:
            shared = min(figure.end_s, time_of_utc(end)) - max(figure.start_s, time_of_utc(start))
            if shared > SAME_PASS_S * (figure.end_s - figure.start_s) and _near(line.axis[0], geom):
                found.setdefault(run_id, set()).add(number)
    return found


def _near(place: tuple[float, float], blob: bytes) -> bool:
    """Within about 50 m of either end of a recorded pass: two seeders work farther apart."""
    ends = from_blob(blob).coords
    reach = 50 / 111_320
    return any(
        abs(place[1] - lat) < reach and abs(place[0] - lon) < 2 * reach
        for lon, lat in (ends[0], ends[-1])
    )


def _unpacked(packed: bytes, name: str) -> Result:
    return result_from_json(unpack(packed), name)


def results(path: Path) -> list[Result]:
    """Every run's whole result, in order of the day."""
    with reading(path) as db:
        packed = db.execute(
            "SELECT r.name, s.json_zlib FROM results s JOIN runs r ON r.id = s.run_id"
            " ORDER BY r.day, r.id"
        ).fetchall()
    return [_unpacked(p, name) for name, p in packed]
