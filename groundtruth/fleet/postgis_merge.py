"""The statements that put a data set into a shared record, each run once.

A data set is copied into tables of the session first; then the record's rows follow from them by
key, in one order, so that several who load at once wait for each other.
"""

from __future__ import annotations

from collections.abc import Iterable

from .columns import PASS_COLUMNS, RUN_COLUMNS, Kind

COARSE_DIGITS = 2
"""Decimals of a degree that the record keeps of a place: 0.01° of latitude are 1.1 km."""
NOT_KEPT = ("status", "message", "latitude_deg", "longitude_deg")
"""Columns of a run that the record has not: it holds measured runs alone, and the place as a
point."""

_TYPES: dict[Kind, str] = {
    "text": "text",
    "number": "double precision",
    "count": "bigint",
    "day": "date",
    "instant": "timestamptz",
    "numbers": "double precision[]",
}


_KEY = 'text COLLATE "C"'
"""Of keys: compared byte by byte, which is fastest and the same everywhere."""


def _table(name: str, columns: Iterable[tuple[str, Kind]], more: str = "") -> str:
    kept = ", ".join(f"{c} {_KEY if c == 'run_key' else _TYPES[kind]}" for c, kind in columns)
    return f"CREATE TEMP TABLE {name} ({kept}{more}) ON COMMIT DROP"


INCOMING = (
    _table("incoming_runs", RUN_COLUMNS, f", farm_key {_KEY}"),
    _table("incoming_passes", PASS_COLUMNS),
)
"""Tables of the session that take the data set's rows."""

KEYS = (
    "ALTER TABLE incoming_runs ADD PRIMARY KEY (run_key)",
    "ALTER TABLE incoming_passes ADD PRIMARY KEY (run_key, number)",
)
"""Before rows are changed: an index made later in the same transaction would not be used in it."""
FARMS = (
    "UPDATE incoming_runs SET farm_key ="
    " coalesce(nullif(farm_id, ''), nullif(farm, ''), nullif(%s, ''))"
)
ANALYZED = ("ANALYZE incoming_runs", "ANALYZE incoming_passes")
WITHOUT_FARM = "SELECT count(*), min(source) FROM incoming_runs WHERE farm_key IS NULL"
LACKING = (
    "SELECT count(*), min(r.source) FROM incoming_runs r FULL JOIN"
    " (SELECT run_key, count(*) AS passes FROM incoming_passes GROUP BY run_key) p"
    " USING (run_key) WHERE r.passes IS DISTINCT FROM coalesce(p.passes, 0)"
)
"""Runs that have not the number of passes they say, and passes of no run."""


def _kept(columns: Iterable[tuple[str, Kind]], key: Iterable[str]) -> list[tuple[str, Kind]]:
    return [c for c in columns if c[0] not in NOT_KEPT and c[0] not in key]


def _value(column: str, kind: Kind) -> str:
    return f"coalesce(i.{column}, '')" if kind == "text" else f"i.{column}"


def _merge(table: str, key: tuple[str, ...], values: dict[str, str], source: str) -> str:
    """Put rows in or bring them up to date; returns for each that was touched whether it is new."""
    rest = [column for column in values if column not in key]
    ours, theirs = (", ".join(f"{t}.{c}" for c in rest) for t in ("kept", "excluded"))
    return (
        f"WITH touched AS (INSERT INTO {table} AS kept ({', '.join(values)})"
        f" SELECT {', '.join(values.values())} FROM {source} ORDER BY"
        f" {', '.join(values[c] for c in key)}"
        f" ON CONFLICT ({', '.join(key)}) DO UPDATE SET"
        f" ({', '.join(rest)}) = ROW ({', '.join(f'excluded.{c}' for c in rest)})"
        f" WHERE ({ours}) IS DISTINCT FROM ({theirs})"
        " RETURNING xmax = 0 AS new)"
        " SELECT count(*) FILTER (WHERE new), count(*) FILTER (WHERE NOT new) FROM touched"
    )


_OF_RUN = ("farm_key", "run_key")
_PLACE = ", ".join(
    f"round(i.{name}::numeric, {COARSE_DIGITS})::double precision"
    for name in ("longitude_deg", "latitude_deg")
)
RUNS = _merge(
    "fleet.runs",
    _OF_RUN,
    {name: f"i.{name}" for name in _OF_RUN}
    | {name: _value(name, kind) for name, kind in _kept(RUN_COLUMNS, _OF_RUN)}
    | {"place": f"ST_SetSRID(ST_MakePoint({_PLACE}), 4326)"},
    "incoming_runs i",
)
REPLACED = (
    "WITH gone AS (SELECT o.farm_key, o.run_key FROM fleet.runs o JOIN incoming_runs i"
    " ON o.farm_key = i.farm_key AND o.source = i.source AND o.date IS NOT DISTINCT FROM i.date"
    " AND o.seeder_id = coalesce(i.seeder_id, '') AND o.seeder = coalesce(i.seeder, '')"
    " WHERE i.source <> '' AND NOT EXISTS (SELECT FROM incoming_runs n"
    " WHERE n.run_key = o.run_key) ORDER BY 1, 2 FOR UPDATE OF o)"
    " DELETE FROM fleet.runs r USING gone g"
    " WHERE r.farm_key = g.farm_key AND r.run_key = g.run_key"
)
"""Takes out earlier measurements of runs that the data set holds measured anew: of the same file,
farm, seeder and day, with another key."""
_PASS = (*_OF_RUN, "number")
PASSES_GONE = (
    "DELETE FROM fleet.passes o USING incoming_runs i"
    " WHERE o.farm_key = i.farm_key AND o.run_key = i.run_key AND NOT EXISTS (SELECT"
    " FROM incoming_passes n WHERE n.run_key = o.run_key AND n.number = o.number)"
)
PASSES = _merge(
    "fleet.passes",
    _PASS,
    {"farm_key": "r.farm_key", "run_key": "i.run_key", "number": "i.number"}
    | {name: _value(name, kind) for name, kind in _kept(PASS_COLUMNS, _PASS)},
    "incoming_passes i JOIN incoming_runs r USING (run_key)",
)
