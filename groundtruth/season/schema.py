"""The tables of the season's record, as migrations that are numbered and never changed again.

The file is a GeoPackage 1.4 [OGC 12-128r19]: its own tables first, then ours, each registered as a
layer (features) or a table (attributes). docs/season-format.md describes every column; text
columns are never null, so that an empty cell of an export means one thing only.
"""

from __future__ import annotations

from ..io.geopackage_tables import GEOPACKAGE
from .bed_tables import TABLES

_ID = "id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL"
_RUN = "run_id INTEGER NOT NULL REFERENCES runs(id) ON DELETE CASCADE"

_FIRST = f"""
CREATE TABLE season_migrations (
  {_ID}, name TEXT NOT NULL UNIQUE, applied_at DATETIME NOT NULL);
CREATE TABLE runs (
  {_ID}, key TEXT NOT NULL UNIQUE, name TEXT NOT NULL, day DATE NOT NULL,
  time_zone TEXT NOT NULL, units TEXT NOT NULL, seeder TEXT NOT NULL DEFAULT '',
  soil TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '',
  ground_per_turn_m DOUBLE NOT NULL, ground_per_turn_u_m DOUBLE NOT NULL,
  ground_per_turn_low_m DOUBLE NOT NULL, ground_per_turn_high_m DOUBLE NOT NULL,
  slip DOUBLE, slip_u DOUBLE, spread_m DOUBLE NOT NULL, spread_u_m DOUBLE NOT NULL,
  turns_of TEXT NOT NULL, wheel_circumference_m DOUBLE, wheel_circumference_u_m DOUBLE,
  gear_turns_per_wheel_turn DOUBLE NOT NULL, row_units INTEGER, row_spacing_m DOUBLE,
  bed_width_m DOUBLE, bed_spacing_m DOUBLE, antenna_ahead_m DOUBLE NOT NULL,
  antenna_right_m DOUBLE NOT NULL, tool_version TEXT NOT NULL, added_at DATETIME NOT NULL);
CREATE TABLE results ({_ID}, {_RUN}, json_zlib BLOB NOT NULL, UNIQUE (run_id));
CREATE TABLE inputs ({_ID}, {_RUN}, name TEXT NOT NULL, sha256 TEXT NOT NULL);
CREATE INDEX inputs_by_run ON inputs(run_id);
CREATE TABLE passes (
  {_ID}, geom BLOB NOT NULL, {_RUN}, number INTEGER NOT NULL,
  start_at DATETIME NOT NULL, end_at DATETIME NOT NULL, crop TEXT NOT NULL,
  setting TEXT NOT NULL, bed_written TEXT NOT NULL, times TEXT NOT NULL,
  distance_m DOUBLE, distance_u_m DOUBLE,
  ground_per_turn_m DOUBLE, ground_per_turn_u_m DOUBLE, slip DOUBLE, slip_u DOUBLE,
  speed_m_s DOUBLE NOT NULL, scatter_m DOUBLE NOT NULL, UNIQUE (run_id, number));
CREATE TABLE turn_counts (
  {_ID}, pass_id INTEGER NOT NULL REFERENCES passes(id) ON DELETE CASCADE, unit TEXT NOT NULL,
  turns DOUBLE NOT NULL, turns_u DOUBLE NOT NULL, ground_per_turn_m DOUBLE NOT NULL,
  ground_per_turn_u_m DOUBLE NOT NULL, slip DOUBLE, slip_u DOUBLE, crop TEXT NOT NULL,
  setting TEXT NOT NULL, UNIQUE (pass_id, unit));
CREATE TABLE row_units (
  {_ID}, {_RUN}, unit TEXT NOT NULL, passes INTEGER NOT NULL, ground_per_turn_m DOUBLE NOT NULL,
  ground_per_turn_u_m DOUBLE NOT NULL, turns_against_others DOUBLE,
  turns_against_others_u DOUBLE, lags BOOLEAN NOT NULL, UNIQUE (run_id, unit));
CREATE TABLE map_beds (
  {_ID}, geom BLOB NOT NULL, name TEXT NOT NULL UNIQUE, block TEXT NOT NULL, width_m DOUBLE);
CREATE TABLE fits (
  {_ID}, {_RUN}, block INTEGER NOT NULL, offset_m DOUBLE NOT NULL, offset_u_m DOUBLE NOT NULL,
  spacing_m DOUBLE NOT NULL, spacing_u_m DOUBLE NOT NULL, UNIQUE (run_id, block));
CREATE TABLE fitted_passes (
  {_ID}, fit_id INTEGER NOT NULL REFERENCES fits(id) ON DELETE CASCADE,
  number INTEGER NOT NULL, place INTEGER NOT NULL, sure DOUBLE NOT NULL, UNIQUE (fit_id, number));
CREATE TABLE beds (
  {_ID}, geom BLOB NOT NULL, name TEXT NOT NULL, block TEXT NOT NULL, place INTEGER NOT NULL,
  mapped BOOLEAN NOT NULL, sowings INTEGER NOT NULL);
CREATE TABLE strips (
  {_ID}, geom BLOB NOT NULL, pass_id INTEGER NOT NULL REFERENCES passes(id) ON DELETE CASCADE,
  block TEXT NOT NULL, bed TEXT NOT NULL, sure DOUBLE NOT NULL, day DATE NOT NULL,
  crop TEXT NOT NULL, setting TEXT NOT NULL, length_m DOUBLE NOT NULL, width_m DOUBLE NOT NULL,
  area_m2 DOUBLE NOT NULL, rows INTEGER NOT NULL, row_length_m DOUBLE NOT NULL,
  ground_per_turn_m DOUBLE, ground_per_turn_u_m DOUBLE, slip DOUBLE, slip_u DOUBLE);
CREATE TABLE oddities (
  {_ID}, {_RUN}, kind TEXT NOT NULL, block TEXT NOT NULL, bed TEXT NOT NULL,
  number INTEGER NOT NULL, day DATE NOT NULL, text TEXT NOT NULL, sure DOUBLE NOT NULL);
CREATE TABLE seeder_changes (
  {_ID}, day DATE NOT NULL, kind TEXT NOT NULL, seeder TEXT NOT NULL, unit TEXT NOT NULL,
  note TEXT NOT NULL, UNIQUE (day, kind, seeder, unit, note));
CREATE TABLE bench_counts (
  {_ID}, sha256 TEXT NOT NULL, line INTEGER NOT NULL, crop TEXT NOT NULL, seed_lot TEXT NOT NULL,
  setting TEXT NOT NULL, turns DOUBLE NOT NULL, seeds DOUBLE NOT NULL, seeds_u DOUBLE NOT NULL,
  shared_relative_u DOUBLE NOT NULL, turns_per_minute DOUBLE,
  UNIQUE (sha256, line));
CREATE TABLE settings (
  {_ID}, crop TEXT NOT NULL, seed_lot TEXT NOT NULL, setting TEXT NOT NULL,
  catches INTEGER NOT NULL, turns DOUBLE NOT NULL, seeds_per_turn DOUBLE NOT NULL,
  seeds_per_turn_u DOUBLE NOT NULL, seeds_per_turn_low DOUBLE NOT NULL,
  seeds_per_turn_high DOUBLE NOT NULL, UNIQUE (crop, seed_lot, setting));
CREATE TABLE stand_counts (
  {_ID}, sha256 TEXT NOT NULL, line INTEGER NOT NULL, day TEXT NOT NULL, crop TEXT NOT NULL,
  seed_lot TEXT NOT NULL, bed TEXT NOT NULL, line_of_bed TEXT NOT NULL, length_m DOUBLE NOT NULL,
  plants INTEGER NOT NULL, seeds_per_m DOUBLE, UNIQUE (sha256, line));
"""

_LAYERS_1 = {
    "passes": ("LINESTRING", "ways of the phone on each pass"),
    "strips": ("POLYGON", "ground sown on each pass, on its bed"),
    "beds": ("POLYGON", "beds of each block"),
    "map_beds": ("LINESTRING", "middle lines of the grower's own map of beds"),
}
_TABLES_1 = {
    "season_migrations": "changes of this file's form",
    "runs": "measured runs",
    "results": "each run's whole result, JSON packed with zlib",
    "inputs": "files each run was measured from, with their SHA-256",
    "turn_counts": "turns of each row unit on each pass",
    "row_units": "each row unit over a run, against the others",
    "fits": "how each run's passes were laid onto a block",
    "fitted_passes": "the place of each pass in its block",
    "oddities": "beds sown twice, left out, sown short; passes whose bed is not sure",
    "seeder_changes": "what was changed on the seeder",
    "bench_counts": "seeds caught at the bench",
    "settings": "seeds per turn by setting, from the bench counts",
    "stand_counts": "plants counted in the field",
}


def _registered(layers: dict[str, tuple[str, str]], tables: dict[str, str]) -> tuple[str, ...]:
    rows = [
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) "
        f"VALUES ('{name}', 'features', '{name}', '{about.replace(chr(39), chr(39) * 2)}', 4326)"
        for name, (_, about) in layers.items()
    ]
    rows += [
        f"INSERT INTO gpkg_geometry_columns VALUES ('{name}', 'geom', '{kind}', 4326, 0, 0)"
        for name, (kind, _) in layers.items()
    ]
    rows += [
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) "
        f"VALUES ('{name}', 'attributes', '{name}', '{about.replace(chr(39), chr(39) * 2)}', 0)"
        for name, about in tables.items()
    ]
    return tuple(rows)


def _statements(script: str) -> tuple[str, ...]:
    """Single statements, so that each runs inside one transaction (executescript would commit)."""
    return tuple(s.strip() for s in script.split(";\n") if s.strip().rstrip(";"))


_SECOND = f"""
CREATE TABLE slip_along (
  {_ID}, geom BLOB NOT NULL, pass_id INTEGER NOT NULL REFERENCES passes(id) ON DELETE CASCADE,
  unit TEXT NOT NULL, from_m DOUBLE NOT NULL, to_m DOUBLE NOT NULL,
  ground_per_turn_m DOUBLE NOT NULL, ground_per_turn_u_m DOUBLE NOT NULL,
  slip DOUBLE, slip_u DOUBLE);
CREATE INDEX passes_by_start ON passes(start_at);
"""

_FOURTH = f"""
CREATE TABLE journal (
  {_ID}, at DATETIME NOT NULL, action TEXT NOT NULL, text TEXT NOT NULL,
  tool_version TEXT NOT NULL, undone_by INTEGER);
CREATE TABLE journal_rows (
  {_ID}, entry_id INTEGER NOT NULL REFERENCES journal(id) ON DELETE CASCADE,
  table_name TEXT NOT NULL, row_id INTEGER NOT NULL, before BLOB);
CREATE INDEX journal_rows_by_entry ON journal_rows(entry_id);
CREATE TABLE checksums (
  {_ID}, part TEXT NOT NULL UNIQUE, sha256 TEXT NOT NULL, changed_at TEXT NOT NULL);
CREATE TABLE sheets (
  {_ID}, kind TEXT NOT NULL, name TEXT NOT NULL, sha256 TEXT NOT NULL, added_at TEXT NOT NULL,
  UNIQUE (kind, sha256));
INSERT INTO sheets (kind, name, sha256, added_at)
  SELECT 'bench', '', sha256, '' FROM bench_counts GROUP BY sha256 ORDER BY min(id);
INSERT INTO sheets (kind, name, sha256, added_at)
  SELECT 'stands', '', sha256, '' FROM stand_counts GROUP BY sha256 ORDER BY min(id);
"""

_FIFTH = f"""
DELETE FROM gpkg_contents WHERE table_name = 'oddities';
DROP TABLE oddities;
CREATE TABLE anomalies (
  {_ID}, {_RUN}, earlier_run_id INTEGER REFERENCES runs(id) ON DELETE CASCADE,
  kind TEXT NOT NULL, day DATE NOT NULL, block TEXT NOT NULL, bed TEXT NOT NULL,
  passes TEXT NOT NULL, share DOUBLE, earlier_number INTEGER, sure DOUBLE NOT NULL);
"""


def _to_milliseconds(column: str) -> str:
    """The statement that writes the instants of passes as a GeoPackage has them."""
    return (
        f"UPDATE passes SET {column} = substr({column}, 1, 19) || '.' ||"
        f" substr(trim(substr({column}, 20), '.Z') || '000', 1, 3) || 'Z'"
        f" WHERE length({column}) <> 24"
    )


INSTANTS = (_to_milliseconds("start_at"), _to_milliseconds("end_at"))
"""What puts passes right that were written, or noted in the journal, before form 6."""

LAYERS = (*_LAYERS_1, "slip_along")
"""Our tables with a geometry; other programs may add more to the file."""

Migration = tuple[str, tuple[str, ...]]

_WRITTEN: tuple[Migration, ...] = (
    (
        "0001 runs, passes, beds, counts",
        (*_statements(GEOPACKAGE), *_statements(_FIRST), *_registered(_LAYERS_1, _TABLES_1)),
    ),
    (
        "0002 slip along the pass",
        (
            *_statements(_SECOND),
            *_registered(
                {
                    "slip_along": (
                        "LINESTRING",
                        "slip on parts of a pass, where turns were timed",
                    )
                },
                {},
            ),
        ),
    ),
    (
        "0003 days that no later day moves",
        ("ALTER TABLE fits ADD COLUMN settled BOOLEAN NOT NULL DEFAULT 0",),
    ),
    (
        "0004 what was done, checksums, sheets",
        (
            *_statements(_FOURTH),
            *_registered(
                {},
                {
                    "journal": "what was done to the record, step by step",
                    "journal_rows": "rows as they were before a step, JSON packed with zlib",
                    "checksums": "SHA-256 of each run with all its rows, and of the other tables",
                    "sheets": "sheets of bench and stand counts",
                },
            ),
        ),
    ),
    (
        "0005 anomalies as figures",
        (
            *_statements(_FIFTH),
            *_registered(
                {},
                {
                    "anomalies": "beds sown twice, left out, sown short; passes whose bed is not "
                    "sure"
                },
            ),
        ),
    ),
    ("0006 instants to the millisecond", INSTANTS),
)
"""(name, statements) in order. Append only: a file of any earlier version is brought forward."""


def _of_new_columns() -> list[Migration]:
    """A migration for each form that columns are there from, other than those of their table."""
    forms: dict[int, list[tuple[str, tuple[str, ...]]]] = {}
    for table in TABLES:
        for column in table.columns:
            if column.since > 1:
                forms.setdefault(column.since, []).append(
                    (f"{table.name}.{column.name}", column.added_by(table.name))
                )
    return [
        (f"{form:04d} {', '.join(n for n, _ in new)}", tuple(s for _, added in new for s in added))
        for form, new in forms.items()
    ]


MIGRATIONS: tuple[Migration, ...] = tuple(sorted([*_WRITTEN, *_of_new_columns()]))
"""Those written here and those of new columns, by their numbers."""
