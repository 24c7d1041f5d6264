"""Values that cannot be are refused where they enter a record: edited, imported, rescued, recorded.

The bounds are those of `core.bounds`, which is judgement (common practice, no source).
"""

import csv
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date

import pytest
from test_damage import edit, fill, spoil

from groundtruth.core.bounds import BOUNDS, MOST_WHOLE
from groundtruth.core.errors import InputError
from groundtruth.core.measured import Measured
from groundtruth.season import SeasonError, add_change, add_run, read_season, results
from groundtruth.season.bed_tables import TABLES
from groundtruth.season.checking import accept, check, rescue
from groundtruth.season.checksums import seal
from groundtruth.season.exchange import FORMATS, export_season, import_season
from groundtruth.season.forms import NEWEST, columns_of


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return fill(tmp_path_factory.mktemp("made") / "season.gpkg")


@pytest.fixture
def full(made, season):
    season.write_bytes(made.read_bytes())
    return season


BOUNDED = [(t.name, c.fields[0][0], c.bounds) for t in TABLES for c in t.columns if c.bounds]
DAYS = [(t.name, c.name) for t in TABLES for c in t.columns if c.kind == "DATE"]


def test_every_table_of_measured_figures_has_bounds():
    """What a column is called in the record tells what can be in it."""
    for table, columns in columns_of(NEWEST).items():
        for column, _ in columns:
            bounds = column.removesuffix("_m")
            if bounds in BOUNDS and table in ("runs", "bench_counts", "stand_counts"):
                assert (table, column) in {(t, c) for t, c, _ in BOUNDED} or bounds in (
                    "bed_width",  # of all rows together
                    "seeds_per",
                ), (table, column)


@pytest.mark.parametrize(("table", "column", "bounds"), BOUNDED)
def test_a_figure_that_cannot_be_is_named_wherever_it_came_from(full, table, column, bounds):
    value = BOUNDS[bounds].most * 2
    value = int(value) if bounds in ("row_units", "plants") else value
    spoil(full, f"UPDATE {table} SET {column} = ? WHERE id = 1", value)
    name = column.removesuffix("_m")
    says = f"{table}, row 1: {name} is "
    assert any(p.startswith(says) for p in check(full).problems), check(full).problems
    with pytest.raises(SeasonError, match=says):
        accept(full)
    edit(full, table, f"UPDATE {table} SET {column} = {value!r} WHERE id = 1")  # and notes it
    with pytest.raises(SeasonError, match=says):
        read_season(full)
    with pytest.raises(SeasonError, match=says):
        add_change(full, day=date(2026, 5, 1), kind="tyre")


@pytest.mark.parametrize(("table", "column"), DAYS)
@pytest.mark.parametrize("day", ["1879-03-14", "9999-12-31", "12 May"])
def test_a_day_that_cannot_be_is_named(full, table, column, day):
    with closing(sqlite3.connect(full)) as db:
        if not db.execute(f"SELECT count(*) FROM {table}").fetchone()[0]:
            pytest.skip("no such row")
    spoil(full, f"UPDATE {table} SET {column} = ?", day)
    assert any(f": {column} " in p and day in p for p in check(full).problems)


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("runs", "slip", 9e999),
        ("runs", "slip_u", -0.1),
        ("runs", "slip_u", "much"),
        ("passes", "geom", b"GP"),
        ("passes", "start_at", "yesterday"),
        ("passes", "number", "one"),
        ("seeder_changes", "kind", b"tyre"),
        ("turn_counts", "pass_id", -3),
    ],
)
def test_a_value_of_another_kind_is_named(full, table, column, value):
    with closing(sqlite3.connect(full)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        db.execute(f"UPDATE {table} SET {column} = ? WHERE id = 1", (value,))
        db.commit()
    assert any(p.startswith(f"{table}, row 1: ") for p in check(full).problems)


@pytest.mark.parametrize("form", FORMATS)
def test_an_import_refuses_it_and_names_the_file(full, tmp_path, form):
    out, back = tmp_path / "out", tmp_path / "back.gpkg"
    with closing(sqlite3.connect(full)) as db:  # and the checksums fit, as those of a bad program
        db.execute("UPDATE stand_counts SET plants = ? WHERE id = 1", (MOST_WHOLE,))
        db.commit()
    sealed_anew(full)
    export_season(full, out, form)
    with pytest.raises(InputError, match=rf"stand_counts.{form}: row 1: plants is 9.22337e\+18"):
        import_season(out, back)
    assert not back.exists()
    assert not list(tmp_path.glob(".*"))


def sealed_anew(path):
    with closing(sqlite3.connect(path)) as db:
        seal(db, NEWEST)
        db.commit()


def test_a_whole_result_that_is_none_is_refused(full, tmp_path):
    out = tmp_path / "out"
    export_season(full, out, "csv")
    with open(out / "results.csv", encoding="utf-8", newline="") as lines:
        head, *rows = csv.reader(lines)
    rows[0][2] = rows[0][2][:-8]
    with open(out / "results.csv", "w", encoding="utf-8", newline="") as lines:
        csv.writer(lines, lineterminator="\r\n").writerows([head, *rows])
    with pytest.raises(InputError, match=r"results.csv: row 1: a packed text that is cut off"):
        import_season(out, tmp_path / "back.gpkg", unchecked=True)


def test_a_rescue_leaves_it_behind(full, tmp_path):
    spoil(full, "UPDATE bench_counts SET turns = 1e9 WHERE id = 2")
    said = rescue(full, tmp_path / "saved.gpkg")
    assert any(text.startswith("bench_counts: 2 of 3 rows saved") for text in said)
    assert check(tmp_path / "saved.gpkg").problems == ()


def test_a_run_out_of_bounds_is_not_recorded(season, made):
    run = replace(results(made)[0], ground_per_turn=Measured(2000.0, 1.0), inputs=())
    with pytest.raises(InputError, match=r"ground_per_turn is 2 km; a gear turn covers 5 mm to"):
        add_run(season, run)
    run = replace(results(made)[0], date="12 May", inputs=())
    with pytest.raises(InputError, match=r"day '12 May' is no day"):
        add_run(season, run)
    assert not season.exists() or not read_runs(season)


def read_runs(path):
    with closing(sqlite3.connect(path)) as db:
        tables = [r[0] for r in db.execute("SELECT name FROM sqlite_master")]
        return "runs" in tables and db.execute("SELECT * FROM runs").fetchall()
