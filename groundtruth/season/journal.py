"""What was done to the record, by which action, and the rows as they were before.

Triggers that live for one connection only note every row that is put in, changed or taken out of
the tables that hold what the grower handed over; tables that are worked out from them are not
noted, since they can be worked out again. So any action can be taken back, whatever it does.
"""

from __future__ import annotations

import json
import sqlite3
from base64 import b64decode, b64encode
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from .. import __version__
from .checksums import Findings
from .forms import now_text
from .packing import pack, unpack
from .refusals import ValueRefused
from .schema import INSTANTS

HANDED_OVER = (
    "runs",
    "results",
    "inputs",
    "passes",
    "turn_counts",
    "row_units",
    "slip_along",
    "map_beds",
    "seeder_changes",
    "sheets",
    "bench_counts",
    "stand_counts",
)
"""Tables whose rows are noted, those first that others point to."""
KEPT_STEPS = 60
"""So many steps can be taken back; of earlier ones only the line in the log is kept."""

Row = dict[str, Any]


class Record(sqlite3.Connection):
    """A connection to the record for one action, which ends up in its journal."""

    action: str = ""
    said: str = ""
    """What was done, in a sentence. Set by the action."""
    findings: Findings = Findings()
    """What was found to be other than it was left, before the action."""
    remark: str = ""
    """What else was found and done on the way."""
    changes: list[tuple[str, int, Row | None]]
    """Table, id and the row as it was, None where there was none."""

    def watch(self) -> None:
        """Note from now on what becomes of the rows handed over."""
        self.changes = []
        names = {t: self._columns(t) for t in HANDED_OVER}

        def note(table: str, row_id: int, *values: Any) -> None:
            before = dict(zip(names[table], values, strict=True)) if values else None
            self.changes.append((table, row_id, before))

        self.create_function("season_note", -1, note)
        for table, columns in names.items():
            old = ", ".join(f"OLD.{quoted(c)}" for c in columns)
            for event, row, values in (
                ("INSERT", "NEW", ""),
                ("UPDATE", "OLD", f", {old}"),
                ("DELETE", "OLD", f", {old}"),
            ):
                self.execute(
                    f"CREATE TEMP TRIGGER season_note_{table}_{event} AFTER {event} ON {table}"
                    f" BEGIN SELECT season_note('{table}', {row}.id{values}); END"
                )

    def _columns(self, table: str) -> list[str]:
        return [row[1] for row in self.execute(f"PRAGMA table_info({table})")]

    def log(self, action: str, text: str) -> int:
        """Put an entry into the journal; returns its number."""
        done = self.execute(
            "INSERT INTO journal (at, action, text, tool_version) VALUES (?, ?, ?, ?)",
            (now_text(), action, text, __version__),
        )
        return int(done.lastrowid or 0)

    def close_entry(self) -> int | None:
        """Put what was noted into the journal as one entry, if anything was."""
        if not self.changes:
            return None
        entry = self.log(self.action or "change", self.said)
        self.executemany(
            "INSERT INTO journal_rows (entry_id, table_name, row_id, before) VALUES (?, ?, ?, ?)",
            [(entry, table, row_id, _packed(before)) for table, row_id, before in self.changes],
        )
        self.changes.clear()
        self.execute(
            "DELETE FROM journal_rows WHERE entry_id <= ("
            " SELECT id FROM journal ORDER BY id DESC LIMIT 1 OFFSET ?)",
            (KEPT_STEPS,),
        )
        return entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A step: ``undone_by`` is the number of the step that took it back, if one did;
    ``can_go_back`` whether the rows as they were are still at hand."""

    number: int
    at: str
    action: str
    text: str
    undone_by: int | None
    can_go_back: bool


def entries(db: sqlite3.Connection) -> list[Entry]:
    """All steps in order.

    Raises
    ------
    ValueRefused : a step holds a value of another kind.
    """
    found = []
    for number, *said, undone, rows in db.execute(
        "SELECT id, at, action, text, undone_by,"
        " EXISTS (SELECT 1 FROM journal_rows WHERE entry_id = journal.id)"
        " FROM journal ORDER BY id"
    ):
        if not all(isinstance(one, str) for one in said):
            raise ValueRefused("journal", number, "what was done is no text")
        at, action, text = said
        found.append(
            Entry(
                number=number,
                at=at,
                action=action,
                text=text,
                undone_by=undone,
                can_go_back=bool(rows),
            )
        )
    return found


def rows_before(db: sqlite3.Connection, number: int) -> list[tuple[str, int, Row | None]]:
    """What a step found, the last change first.

    Raises
    ------
    ValueRefused : what was kept of a row cannot be unpacked.
    """
    found = []
    for kept_as, table, row_id, before in db.execute(
        "SELECT id, table_name, row_id, before FROM journal_rows WHERE entry_id = ?"
        " ORDER BY id DESC",
        (number,),
    ):
        try:
            found.append((table, row_id, _unpacked(before)))
        except (ValueError, TypeError, AttributeError) as err:
            raise ValueRefused("journal_rows", kept_as, "the row as it was is damaged") from err
    return found


def quoted(name: str) -> str:
    """A column's name, which another program may have added, for a statement."""
    return '"' + name.replace('"', '""') + '"'


def put_back(db: sqlite3.Connection, rows: Iterable[tuple[str, int, Row | None]]) -> set[str]:
    """Put rows back as they were; returns the tables touched."""
    touched = set()
    for table, row_id, before in rows:
        if table not in HANDED_OVER:
            continue
        touched.add(table)
        if before is None:
            db.execute(f"DELETE FROM {table} WHERE id = ?", (row_id,))
            continue
        names, values = [quoted(n) for n in before], list(before.values())
        changed = db.execute(
            f"UPDATE {table} SET {', '.join(f'{n} = ?' for n in names)} WHERE id = ?",
            (*values, row_id),
        )
        if not changed.rowcount:
            marks = ", ".join("?" * len(names))
            db.execute(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", values)
    if "passes" in touched:
        for statement in INSTANTS:
            db.execute(statement)
    return touched


def _packed(row: Row | None) -> bytes | None:
    if row is None:
        return None
    plain = {
        name: {"bytes": b64encode(v).decode("ascii")} if isinstance(v, bytes) else v
        for name, v in row.items()
    }
    return pack(json.dumps(plain, ensure_ascii=True))


def _unpacked(data: bytes | None) -> Row | None:
    if data is None:
        return None
    plain = json.loads(unpack(data))
    return {name: b64decode(v["bytes"]) if isinstance(v, dict) else v for name, v in plain.items()}
