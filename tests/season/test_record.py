"""The season's file: a GeoPackage that keeps what it is given, or nothing of it.

Read by GDAL beside our own reading (pyogrio); the standard is OGC 12-128r19.
"""

import os
import random
import re
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta

import pytest
from factories import make_result
from kills import after_kills

from groundtruth.core.counts import BenchCount
from groundtruth.core.errors import GroundtruthError
from groundtruth.core.measured import Measured
from groundtruth.core.track import InputFile
from groundtruth.season import (
    SeasonError,
    add_bench,
    add_change,
    add_run,
    add_stands,
    reading,
    results,
    season_path,
    writing,
)
from groundtruth.season import store as store_module
from groundtruth.season.checksums import seal
from groundtruth.season.corrections import undo
from groundtruth.season.forms import version_of
from groundtruth.season.schema import MIGRATIONS

KILLS = int(os.environ.get("GROUNDTRUTH_KILLS", "110"))


def run_of(number, passes=3, **options):
    """A run of its own day, place and inputs."""
    made = make_result(passes=passes, units=("1", "2"), **options)
    shift = 86_400.0 * number
    return replace(
        made,
        run_name=f"run {number}",
        date=(date.fromisoformat(made.date) + timedelta(days=number)).isoformat(),
        inputs=(InputFile(name="track.gpx", sha256=f"{number:064x}"),),
        passes=tuple(
            replace(p, start_s=p.start_s + shift, end_s=p.end_s + shift) for p in made.passes
        ),
        lines=tuple(
            replace(line, time_s=tuple(t + shift for t in line.time_s)) for line in made.lines
        ),
    )


def whole(path):
    """Everything in the file but the instants at which it was written."""
    with closing(sqlite3.connect(path)) as db:
        names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY 1")]
        found = {}
        for name in names:
            columns = [r[1] for r in db.execute(f"PRAGMA table_info({name})")]
            kept = [c for c in columns if c not in ("added_at", "applied_at")]
            found[name] = db.execute(f"SELECT {', '.join(kept)} FROM {name} ORDER BY id").fetchall()
        return found


def counts(path):
    return {name: len(rows) for name, rows in whole(path).items()}


def test_a_run_comes_back_as_it_went_in(season):
    result = run_of(1)
    add_run(season, result)
    assert results(season) == [result]


def test_the_same_run_twice_changes_nothing_and_says_so(season):
    add_run(season, run_of(1))
    before = season.read_bytes()
    again = add_run(season, run_of(1))
    assert again.outcome == "already there"
    assert "nothing was changed" in again.text
    assert season.read_bytes() == before


def test_another_version_with_the_same_figures_changes_nothing(season):
    add_run(season, run_of(1))
    before = season.read_bytes()
    again = add_run(season, replace(run_of(1), tool_version="9.9", advice=(), units="metric"))
    assert again.outcome == "already there"
    assert season.read_bytes() == before


def test_the_same_passes_from_other_files_need_a_word(season):
    add_run(season, run_of(1))
    other = replace(run_of(1), inputs=(InputFile(name="track.gpx", sha256="f" * 64),))
    before = season.read_bytes()
    with pytest.raises(SeasonError, match="holds passes of this run already"):
        add_run(season, other)
    assert season.read_bytes() == before
    assert add_run(season, other, replace=True).outcome == "replaced"
    assert counts(season)["runs"] == 1
    assert results(season) == [other]


def test_a_run_measured_anew_takes_the_place_of_the_old_one_when_asked(season):
    add_run(season, run_of(1))
    add_run(season, run_of(2))
    first = run_of(1)
    surer = Measured(first.ground_per_turn.value, 0.9 * first.ground_per_turn.std)
    anew = replace(first, tool_version="9.9", ground_per_turn=surer)
    with pytest.raises(SeasonError, match="with another outcome"):
        add_run(season, anew)
    add_run(season, anew, replace=True)
    assert {r.tool_version for r in results(season)} == {"9.9", run_of(2).tool_version}
    assert counts(season)["passes"] == 6


def test_soil_noted_wrong_is_put_right_when_asked(season):
    add_run(season, run_of(1), soil="dry", note="first")
    before = season.read_bytes()
    with pytest.raises(SeasonError, match="is recorded with the soil 'dry', not 'wet'"):
        add_run(season, run_of(1), soil="wet")
    assert add_run(season, run_of(1)).outcome == "already there"  # nothing said, nothing changed
    assert season.read_bytes() == before
    assert add_run(season, run_of(1), soil="wet", replace=True).outcome == "put right"

    def noted():
        with reading(season) as db:
            return db.execute("SELECT soil, note FROM runs").fetchall()

    assert noted() == [("wet", "first")]
    surer = Measured(run_of(1).ground_per_turn.value, 0.9 * run_of(1).ground_per_turn.std)
    anew = replace(run_of(1), ground_per_turn=surer)
    assert add_run(season, anew, replace=True).outcome == "replaced"
    assert noted() == [("wet", "first")]


def test_the_order_of_adding_does_not_matter(tmp_path):
    runs = [run_of(n) for n in (3, 1, 2)]
    for name, order in (("a", runs), ("b", sorted(runs, key=lambda r: r.run_name))):
        for run in order:
            add_run(tmp_path / f"{name}.gpkg", run)
    a, b = (whole(tmp_path / f"{n}.gpkg") for n in "ab")
    strips = [[row[3:] for row in rows["strips"]] for rows in (a, b)]
    assert sorted(map(repr, strips[0])) == sorted(map(repr, strips[1]))
    assert [r[1:] for r in a["beds"]] == [r[1:] for r in b["beds"]]


def test_a_change_of_an_unknown_kind_is_refused_and_the_command_knows_the_same_kinds(season):
    from groundtruth.cli.commands.season import CHANGE_KINDS
    from groundtruth.season.attachments import CHANGES

    assert CHANGE_KINDS == CHANGES
    with pytest.raises(SeasonError, match="choose one of tyre, wheel"):
        add_change(season, day=date(2027, 6, 8), kind="paint")
    assert not season.exists()


def test_changes_and_sheets_are_kept_once(season, tmp_path):
    from groundtruth.io.sheets.bench import read_bench
    from groundtruth.io.sheets.stands import read_stands

    for _ in range(2):
        add_change(season, day=date(2027, 6, 8), kind="tyre", note="worn")
    bench = tmp_path / "bench.csv"
    bench.write_text(
        "crop,seed_lot,setting,turns,seeds\nleek,a,H4,20,118\nleek,a,H4,20,124\nleek,a,H6,20,161\n"
    )
    stand = tmp_path / "stand.csv"
    stand.write_text("date,crop,seed_lot,bed,line,length,plants\n2027-06-20,leek,a,A3,1,2 m,41\n")
    sheets = read_bench(bench), read_stands(stand)
    said = []
    for _ in range(2):
        said.append(add_bench(season, sheets[0].counts, sheets[0].file.sha256).outcome)
        said.append(add_stands(season, sheets[1].counts, sheets[1].file.sha256).outcome)
    assert said == ["added", "added", "already there", "already there"]
    kept = counts(season)
    assert (kept["seeder_changes"], kept["bench_counts"], kept["stand_counts"]) == (1, 3, 1)
    with reading(season) as db:
        figures = dict(db.execute("SELECT setting, seeds_per_turn FROM settings").fetchall())
    assert figures == {"H4": pytest.approx(242 / 40), "H6": pytest.approx(161 / 20)}


# The standard ------------------------------------------------------------------------------------


def test_it_is_a_geopackage_by_the_book(season):
    add_run(season, run_of(1))
    head = season.read_bytes()[:100]
    assert head[:16] == b"SQLite format 3\x00"  # requirement 1
    assert head[68:72] == b"GPKG"  # requirement 2
    assert int.from_bytes(head[60:64], "big") == 10400
    with closing(sqlite3.connect(season)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)  # requirement 6
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []  # requirement 7
        systems = db.execute(
            "SELECT srs_id, organization, organization_coordsys_id FROM gpkg_spatial_ref_sys"
        ).fetchall()
        assert {(4326, "EPSG", 4326), (-1, "NONE", -1), (0, "NONE", 0)} <= set(systems)  # req. 11
        kinds = {"BOOLEAN", "INTEGER", "DOUBLE", "TEXT", "BLOB", "DATE", "DATETIME"}  # table 1
        for name, data_type in db.execute("SELECT table_name, data_type FROM gpkg_contents"):
            columns = db.execute(f"PRAGMA table_info({name})").fetchall()
            assert [c[1] for c in columns if c[5]] == ["id"], name  # requirement 29
            assert {c[2] for c in columns} <= kinds, name  # requirement 5
            assert ("geom" in [c[1] for c in columns]) == (data_type == "features")
            texts = [c for c in columns if c[2] in ("TEXT", "DATE", "DATETIME")]
            assert all(c[3] for c in texts), f"{name}: text that may be null"
        ours = {
            r[0]
            for r in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if not r[0].startswith(("gpkg_", "sqlite_"))
        }
        assert ours == {r[0] for r in db.execute("SELECT table_name FROM gpkg_contents")}


def test_gdal_reads_every_layer_with_its_crs(season):
    pyogrio = pytest.importorskip("pyogrio")
    add_run(season, run_of(1, passes=5))
    add_change(season, day=date(2027, 6, 8), kind="tyre")
    layers = dict(pyogrio.list_layers(season).tolist())
    own = counts(season)
    assert set(layers) == set(own)
    for name, kind in layers.items():
        info = pyogrio.read_info(season, layer=name, force_feature_count=True)
        assert info["features"] == own[name], name
        assert info["crs"] == ("EPSG:4326" if kind else None), name
    assert {n: k for n, k in layers.items() if k} == {
        "passes": "LineString", "strips": "Polygon", "beds": "Polygon",
        "map_beds": "LineString", "slip_along": "LineString",
    }  # fmt: skip
    _, _, shapes, fields = pyogrio.raw.read(season, layer="strips")
    with reading(season) as db:
        wkb = [bytes(r[0][40:]) for r in db.execute("SELECT geom FROM strips ORDER BY id")]
    assert [bytes(s) for s in shapes] == wkb
    assert len(fields[0]) == 5


# Crashes, company and refusals -------------------------------------------------------------------


@pytest.mark.whole_days
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked children")
def test_a_kill_in_the_midst_of_a_write_leaves_the_last_whole_state(season):
    """Children add runs and are killed (SIGKILL) at a random instant of their work. Afterwards the
    file is sound and holds each run wholly or not at all."""
    pool = [run_of(n, passes=2) for n in range(12)]
    add_run(season, pool[0])
    began = time.perf_counter()
    add_run(season, pool[1])
    took_s = 1.3 * (time.perf_counter() - began)

    def work(killed):
        add_run(season, pool[2 + killed % 10], replace=True)
        with writing(season) as db:
            db.execute("DELETE FROM runs WHERE name = ?", (f"run {2 + killed % 7}",))

    for _ in after_kills(work, took_s, KILLS, seed=1):
        with reading(season) as db:  # refuses a damaged file
            assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert db.execute("PRAGMA foreign_key_check").fetchall() == []
            for run_id, name in db.execute("SELECT id, name FROM runs").fetchall():
                parts = [
                    db.execute(f"SELECT count(*) FROM {table} WHERE run_id = ?", (run_id,))
                    for table in ("passes", "results", "inputs", "row_units")
                ]
                assert [p.fetchone()[0] for p in parts] == [2, 1, 1, 2], name


@pytest.mark.whole_days
def test_four_processes_adding_at_once_all_succeed(season):
    code = (
        "import sys; sys.path[:0] = {paths!r}\n"
        "from pathlib import Path\n"
        "from test_record import run_of\n"
        "from groundtruth.season import add_run\n"
        "for n in range({first}, {first} + 5):\n"
        "    assert add_run(Path({season!r}), run_of(n, passes=2)).outcome == 'added'\n"
    )
    workers = [
        subprocess.Popen(
            [sys.executable, "-c", code.format(paths=sys.path, first=10 * w, season=str(season))],
            stderr=subprocess.PIPE,
        )
        for w in range(4)
    ]
    for worker in workers:
        _, complaint = worker.communicate(timeout=120)
        assert worker.returncode == 0, complaint.decode()
    assert counts(season)["runs"] == 20
    assert counts(season)["passes"] == 40
    with reading(season) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def one_line(refusal):
    text = str(refusal.value)
    assert "\n" not in text
    assert isinstance(refusal.value, GroundtruthError)
    return text


def test_a_locked_file_gets_one_clear_line(season, monkeypatch):
    add_run(season, run_of(1))
    monkeypatch.setattr(store_module, "WAIT_S", 0.1)
    with closing(sqlite3.connect(season, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(SeasonError) as refusal:
            add_run(season, run_of(2))
        assert "another program has held it" in one_line(refusal)
        with pytest.raises(SeasonError) as refusal, reading(season):
            pass
        assert "another program has held it" in one_line(refusal)
    assert counts(season)["runs"] == 1


def test_a_read_only_file_can_be_read_and_says_that_it_cannot_be_written(season, monkeypatch):
    add_run(season, run_of(1))
    connect = sqlite3.connect

    def read_only(place, **options):
        return connect(str(place).replace("mode=rwc", "mode=ro"), **options)

    monkeypatch.setattr(store_module.sqlite3, "connect", read_only)
    with pytest.raises(SeasonError) as refusal:
        add_run(season, run_of(2))
    assert "is read-only" in one_line(refusal)
    monkeypatch.undo()
    monkeypatch.setattr(store_module.os, "access", lambda *_: False)
    assert len(results(season)) == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"name,crop\nA1,leek\n", "is not a season's record"),
        (b"SQLite format 3\x00" + bytes(200), "is damaged"),
    ],
)
def test_a_foreign_or_broken_file_gets_one_clear_line(season, content, says):
    season.write_bytes(content)
    with pytest.raises(SeasonError) as refusal:
        add_run(season, run_of(1))
    assert says in one_line(refusal)
    assert season.read_bytes() == content


def test_a_database_of_something_else_is_left_alone(season):
    with closing(sqlite3.connect(season)) as db:
        db.execute("CREATE TABLE letters (a TEXT)")
    before = season.read_bytes()
    with pytest.raises(SeasonError) as refusal:
        add_run(season, run_of(1))
    assert "is a database, but no season's record" in one_line(refusal)
    assert season.read_bytes() == before


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_damaged_record_is_not_written_to(season, share):
    add_run(season, run_of(1, passes=6))
    data = bytearray(season.read_bytes())
    at = int(len(data) * share) // 4096 * 4096
    data[at : at + 4096] = bytes(random.Random(2).randbytes(4096))
    season.write_bytes(data)
    with pytest.raises(SeasonError) as refusal:
        add_run(season, run_of(2))
    assert "is damaged" in one_line(refusal)
    assert season.read_bytes() == data


def test_cut_short_it_is_damaged(season):
    add_run(season, run_of(1, passes=6))
    data = season.read_bytes()
    season.write_bytes(data[: len(data) // 2])
    with pytest.raises(SeasonError) as refusal:
        results(season)
    assert "is damaged" in one_line(refusal)


def test_a_folder_and_a_missing_record(tmp_path):
    with pytest.raises(SeasonError, match="is a folder"):
        add_run(tmp_path, run_of(1))
    with pytest.raises(SeasonError, match="there is no season's record yet"):
        results(tmp_path / "none.gpkg")


def test_a_failure_in_the_midst_leaves_the_file_as_it_was(season, monkeypatch):
    add_run(season, run_of(1))
    before = season.read_bytes()

    def broken(*_args, **_options):
        raise RuntimeError("power cut")

    monkeypatch.setattr("groundtruth.season.bed_layout.lay_out", broken)
    with pytest.raises(RuntimeError):
        add_run(season, run_of(2))
    assert season.read_bytes() == before
    assert not season.with_name("season.gpkg-journal").exists()


# Forms of the file -------------------------------------------------------------------------------


def test_a_later_form_is_refused(season):
    add_run(season, run_of(1))
    with closing(sqlite3.connect(season)) as db:
        db.execute("INSERT INTO season_migrations (name, applied_at) VALUES ('9999', '')")
        db.commit()
    with pytest.raises(SeasonError, match="written by a later groundtruth"):
        results(season)


_AN_ODDITY = (
    "INSERT INTO oddities (run_id, kind, block, bed, number, day, text, sure)"
    " VALUES (1, 'short', 'A', 'A1', 1, '2026-05-12', 'bed A1 was sown short', 0.9)"
)


def put_into_earlier(season, now, version):
    """The rows of today's file ``now`` put into a file of the earlier form, as far as it has
    room."""
    with writing(season, upto=version) as db:
        assert version_of(db, season) == version
        tables = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
        db.execute("PRAGMA defer_foreign_keys = ON")
        with closing(sqlite3.connect(now)) as source:
            for table in tables:
                if table in ("season_migrations", "checksums"):
                    continue
                if table == "oddities":
                    db.execute(_AN_ODDITY)
                    continue
                names = [r[1] for r in db.execute(f"PRAGMA table_info({table})")]
                marks = ", ".join("?" * len(names))
                db.executemany(
                    f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})",
                    source.execute(f"SELECT {', '.join(names)} FROM {table}").fetchall(),
                )


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_every_earlier_form_is_brought_forward_with_all_it_holds(season, tmp_path, version):
    now = tmp_path / "now.gpkg"
    add_run(now, run_of(1))
    add_change(now, day=date(2027, 6, 8), kind="tyre")
    put_into_earlier(season, now, version)
    old = whole(season)
    old.pop("oddities", None)  # anomalies now, which are worked out again
    assert set(old) <= set(whole(now))
    assert results(season) == [run_of(1)]  # reading brings it forward
    new = whole(season)
    assert set(new) == set(whole(now))
    old.pop("season_migrations")
    old.pop("checksums", None)
    assert new["anomalies"] == whole(now)["anomalies"]
    for name, rows in old.items():  # new columns are appended
        assert [row[: len(rows[0])] for row in new[name]] == rows, name


def test_migrations_are_numbered_and_never_changed():
    """A migration that was given out must stay as it is: new ones are appended."""
    from hashlib import sha256

    names = [name for name, _ in MIGRATIONS]
    assert [int(n[:4]) for n in names] == list(range(1, len(names) + 1))
    given_out = {n: sha256(repr(s).encode()).hexdigest()[:16] for n, s in MIGRATIONS}
    assert given_out == {
        "0001 runs, passes, beds, counts": "d1654b0a0ce26d5c",
        "0002 slip along the pass": "0998abde2a529637",
        "0003 days that no later day moves": "fd6a2281fc651ec6",
        "0004 what was done, checksums, sheets": "ad90a97a313620d0",
        "0005 anomalies as figures": "da2579c8a3b1d800",
        "0006 instants to the millisecond": "06ddd7eeaded6246",
        "0007 runs.seeder_id, runs.farm, runs.farm_id, runs.field": "72e026a5e1f1fdd1",
        "0008 settings.left_out": "42e52827362a1713",
    }


def test_a_record_of_form_7_learns_which_catches_its_settings_leave_out(season):
    catches = [
        BenchCount(crop="beet", seed_lot="", setting="9", turns=6, seeds=Measured(seeds), line=at)
        for at, seeds in enumerate((281, 2850, 290), start=2)
    ]
    add_bench(season, catches, "0" * 64)
    with closing(sqlite3.connect(season)) as db:
        db.execute("ALTER TABLE settings DROP COLUMN left_out")
        db.execute("DELETE FROM season_migrations WHERE id > 7")
        db.execute("DELETE FROM settings")
        seal(db, 7)
        db.commit()
    with reading(season) as db:
        rows = db.execute("SELECT setting, catches, left_out, seeds_per_turn FROM settings")
        assert rows.fetchall() == [("9", 2, 1, 571 / 12)]  # by hand


DATETIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.A)
"""Table 1 of OGC 12-128r19: YYYY-MM-DDTHH:MM:SS.SSSZ."""


def instants(path):
    """Every value of a column that is declared DATETIME, by table and column."""
    with closing(sqlite3.connect(path)) as db:
        names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents")]
        found = {}
        for table in (*names, "gpkg_contents"):
            for column in db.execute(f"PRAGMA table_info({table})").fetchall():
                if column[2] == "DATETIME":
                    rows = db.execute(f"SELECT {column[1]} FROM {table}").fetchall()
                    found[f"{table}.{column[1]}"] = [r[0] for r in rows]
        return found


def shifted(result, by_s):
    """The same run, its passes some seconds later."""
    return replace(
        result,
        passes=tuple(
            replace(p, start_s=p.start_s + by_s, end_s=p.end_s + by_s) for p in result.passes
        ),
        lines=tuple(
            replace(line, time_s=tuple(t + by_s for t in line.time_s)) for line in result.lines
        ),
    )


def test_instants_are_written_as_the_geopackage_standard_wants_them(season):
    pyogrio = pytest.importorskip("pyogrio")
    add_run(season, shifted(run_of(1), 0.123456))
    found = instants(season)
    assert {"passes.start_at", "passes.end_at", "runs.added_at", "journal.at"} <= set(found)
    assert found["passes.start_at"]
    for column, values in found.items():
        assert all(DATETIME.fullmatch(v) for v in values), column
    info = pyogrio.read_info(season, layer="passes")
    kinds = dict(zip(info["fields"], info["dtypes"], strict=True))
    assert kinds["start_at"].startswith("datetime64")
    assert results(season) == [shifted(run_of(1), 0.123456)]  # every digit is in the whole result


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("2026-05-13T07:01:07Z", "2026-05-13T07:01:07.000Z"),
        ("2026-05-13T07:01:07.123456Z", "2026-05-13T07:01:07.123Z"),
        ("2026-05-13T07:01:07.500000Z", "2026-05-13T07:01:07.500Z"),
    ],
)
def test_instants_of_an_earlier_form_are_brought_to_the_millisecond(season, tmp_path, old, new):
    now = tmp_path / "now.gpkg"
    add_run(now, run_of(1))
    put_into_earlier(season, now, 5)
    with writing(season, upto=5) as db:
        db.execute("UPDATE passes SET start_at = ?", (old,))
    results(season)
    assert set(instants(season)["passes.start_at"]) == {new}


def test_passes_that_an_undo_brings_back_from_before_have_instants_to_the_millisecond(season):
    add_run(season, run_of(1))
    with writing(season, action="older") as db:
        db.execute("UPDATE passes SET start_at = '2026-05-13T07:01:07Z'")
    with writing(season, action="newer") as db:
        db.execute("UPDATE passes SET start_at = '2026-05-13T07:02:07.000Z'")
    undo(season)
    assert set(instants(season)["passes.start_at"]) == {"2026-05-13T07:01:07.000Z"}


# Where it is -------------------------------------------------------------------------------------


def test_the_flag_comes_before_the_environment_before_the_data_folder(monkeypatch, tmp_path):
    monkeypatch.delenv("GROUNDTRUTH_SEASON", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "linux")
    assert season_path() == tmp_path / "groundtruth" / "season.gpkg"
    monkeypatch.setattr(sys, "platform", "win32")
    assert season_path() == tmp_path / "groundtruth" / "season.gpkg"
    monkeypatch.setattr(sys, "platform", "darwin")
    assert season_path().parts[-4:-1] == ("Library", "Application Support", "groundtruth")
    monkeypatch.setenv("GROUNDTRUTH_SEASON", "mine.gpkg")
    assert season_path().name == "mine.gpkg"
    assert season_path("other.gpkg").name == "other.gpkg"
