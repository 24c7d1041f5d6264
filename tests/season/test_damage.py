"""Damage and other programs: what is not as it was written is told, never shown as data; what can
be saved is saved; a copy can be put back."""

import os
import random
import sqlite3
import time
from contextlib import closing, suppress
from datetime import date

import pytest
from kills import after_kills
from test_corrections import BEDS, BENCH, STANDS, bench, given, stands
from test_record import run_of

from groundtruth.cli.main import main
from groundtruth.core.result import SlipPart
from groundtruth.season import (
    SeasonError,
    add_change,
    add_run,
    read_season,
    reading,
    results,
    set_map,
    writing,
)
from groundtruth.season.backups import DAYS, LATEST, backups
from groundtruth.season.checking import accept, check, rescue, restore
from groundtruth.season.checksums import WORKED_OUT
from groundtruth.season.corrections import Which, log, remove
from groundtruth.season.worked_out import work_out_again

KILLS = int(os.environ.get("GROUNDTRUTH_KILLS", "30"))
FLIPS = int(os.environ.get("GROUNDTRUTH_FLIPS", "60"))


def fill(path):
    """A record with a little of everything, slip along the passes too."""
    run = run_of(1)
    at = run.lines[0].axis
    along = (
        SlipPart(
            number=1, unit="1", from_m=0.0, to_m=10.0, line=at,
            ground_per_turn=run.ground_per_turn, slip=run.slip,
        ),
    )  # fmt: skip
    add_run(path, run, soil="dry", along=along)
    add_run(path, run_of(2), soil="wet", note="second")
    add_change(path, day=date(2027, 6, 8), kind="tyre", note="worn")
    set_map(path, BEDS)
    bench(path, BENCH)
    stands(path, STANDS)
    return path


@pytest.fixture
def full(season):
    return fill(season)


def spoil(path, statement, *values):
    """Change the file behind our back, as a flipped byte does: nothing notes that it was done."""
    with closing(sqlite3.connect(path)) as db:
        db.execute(statement, values)
        db.commit()


def edit(path, table, statement):
    """Change the file as a map program does, which notes when it changed a table."""
    with closing(sqlite3.connect(path)) as db:
        db.execute(statement)
        db.execute(
            "UPDATE gpkg_contents SET last_change = '2099-01-01T00:00:00.000Z'"
            " WHERE table_name = ?",
            (table,),
        )
        db.commit()


# Flipped bytes -----------------------------------------------------------------------------------


def answers(path, capsys, folder):
    """Everything the record answers, None where it is refused in one line with exit code 2."""
    said = []
    for words in (
        ("show", "--json"),
        ("show", "--all-beds"),
        ("map", "--out", str(folder / "map.html")),
    ):
        code = main(["season", *words, "--season", str(path)])
        printed = capsys.readouterr()
        if code:
            assert code == 2
            assert printed.err.count("\n") == 1
            said.append(None)
        else:
            said.append(printed.out)
    if all(said):
        said.append((folder / "map.html").read_text())
    return said


def test_no_flipped_byte_is_ever_shown_as_data(full, tmp_path, capsys):
    """One byte of the file changed at a random place: every answer is as before, or refused; so is
    adding. A traceback would fail here."""
    rng = random.Random(5)
    whole = full.read_bytes()
    before = answers(full, capsys, tmp_path)
    refused = same = 0
    for _ in range(FLIPS):
        data = bytearray(whole)
        at = rng.randrange(100 if rng.random() < 0.05 else len(data))
        data[at] ^= 1 << rng.randrange(8)
        full.write_bytes(data)
        now = answers(full, capsys, tmp_path)
        for old, new in zip(before, now, strict=False):
            assert new in (None, old), at
        refused += None in now
        same += None not in now
        for act in (
            lambda: add_run(full, run_of(1), soil="wet", replace=True),
            lambda: check(full),
        ):
            with suppress(SeasonError):
                act()
    assert refused > FLIPS / 20
    assert same > FLIPS / 20  # bytes that hold nothing, and what is worked out again


def test_an_index_that_says_otherwise_than_its_table_is_damage(full):
    """Answers are read from indexes too: every copy of a text in the file is turned, one by one."""
    data, text = full.read_bytes(), b"2027-06-08tyre"
    places = [at for at in range(len(data)) if data.startswith(text, at)]
    assert len(places) >= 2  # the table and its index
    for at in places:
        full.write_bytes(data[:at] + b"2072" + data[at + 4 :])
        with pytest.raises(SeasonError, match="is damaged"):
            read_season(full)


def test_a_damaged_run_is_named_and_the_others_can_be_used(full, capsys):
    spoil(full, "UPDATE runs SET ground_per_turn_m = ground_per_turn_m + 1e-9 WHERE name = 'run 1'")
    with pytest.raises(SeasonError) as refusal:
        read_season(full)
    assert f"run 1, run 1, {run_of(1).date}: not as it was written" in str(refusal.value)
    for way in ("season check", "season restore", "season rescue"):
        assert way in str(refusal.value)
    with pytest.raises(SeasonError, match="not as it was written"):
        add_run(full, run_of(3))
    assert main(["season", "check", "--season", str(full)]) == 1
    assert "run 1, run 1" in capsys.readouterr().out
    remove(full, "run", Which(name="run 1"))
    assert [r.name for r in read_season(full).runs] == ["run 2"]
    add_run(full, run_of(1))
    assert check(full).problems == ()


def test_two_damaged_runs_go_one_after_the_other(full):
    """And none is forgotten: what is worked out waits until all that it rests on is sound."""
    add_run(full, run_of(3))
    spoil(full, "UPDATE runs SET soil = 'dri' WHERE name <> 'run 3'")
    with pytest.raises(SeasonError, match="run 1"):
        remove(full, "run", Which(name="run 3"))
    said = remove(full, "run", Which(name="run 1"))
    assert said.startswith("taken out: run run 1")
    assert "still damaged: run 2, run 2" in said
    with pytest.raises(SeasonError, match=r"run 2, run 2.*not as it was written"):
        read_season(full)
    remove(full, "run", Which(name="run 2"))
    assert [r.name for r in read_season(full).runs] == ["run 3"]
    assert check(full).problems == ()
    held = given(full)
    with writing(full) as db:
        work_out_again(db)
    assert given(full) == held


def test_what_is_worked_out_is_worked_out_again_and_logged(full):
    before = given(full)
    for table, change in (
        ("strips", "length_m = length_m + 1"),
        ("beds", "name = 'X'"),
        ("settings", "seeds_per_turn = 9"),
        ("anomalies", "bed = 'X'"),
        ("fits", "settled = 1"),
    ):
        spoil(full, f"UPDATE {table} SET {change}")
    read_season(full)
    assert given(full) == before
    assert "worked out again, since it was damaged: anomalies, beds" in log(full)[-1].text


def test_every_table_is_watched(full):
    """A changed value in any table of ours is noticed."""
    with closing(sqlite3.connect(full)) as db:
        tables = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents")]
    whole = full.read_bytes()
    for table in set(tables) - {"season_migrations", "checksums"}:
        full.write_bytes(whole)
        with closing(sqlite3.connect(full)) as db:
            if not db.execute(f"SELECT count(*) FROM {table}").fetchone()[0]:
                assert table in WORKED_OUT
                continue
        spoil(full, f"UPDATE {table} SET id = id + 1000")
        assert any("not as it was written" in p for p in check(full).problems), table


def test_what_is_there_can_be_taken_as_it_is(full, capsys):
    spoil(full, "UPDATE runs SET note = 'by hand'")
    assert main(["season", "check", "--accept", "--season", str(full)]) == 0
    assert "taken as it is: run 1" in capsys.readouterr().out
    assert check(full).problems == ()
    assert len(read_season(full).runs) == 2
    assert accept(full).startswith("nothing to accept")


# Rescue ------------------------------------------------------------------------------------------


def test_a_sound_record_is_rescued_whole(full, tmp_path):
    said = rescue(full, tmp_path / "new.gpkg")
    assert results(tmp_path / "new.gpkg") == results(full)
    old, new = given(full), given(tmp_path / "new.gpkg")
    for table in set(old) - {"sheets"}:
        assert new[table] == old[table], table
    assert not [text for text in said if "lost" in text or "look" in text]
    steps = [(s.at, s.action, s.text) for s in log(tmp_path / "new.gpkg")]
    assert steps[:-1] == [(s.at, s.action, s.text) for s in log(full)]
    assert steps[-1][1] == "rescue"
    with pytest.raises(SeasonError, match="is there already"):
        rescue(full, tmp_path / "new.gpkg")


def test_a_broken_page_costs_what_is_on_it_and_no_more(full, tmp_path):
    for number in range(3, 14):
        add_run(full, run_of(number))
    whole = full.read_bytes()
    size = 4096
    kept = []
    for page in range(1, len(whole) // size, max(1, len(whole) // size // 40)):
        data = bytearray(whole)
        data[page * size : (page + 1) * size] = random.Random(page).randbytes(size)
        full.write_bytes(data)
        new = tmp_path / f"new-{page}.gpkg"
        said = None
        with suppress(SeasonError):
            said = rescue(full, new)
        if said is None:
            assert not new.exists()
            kept.append(0)
            continue
        assert full.read_bytes() == data
        saved = results(new)
        kept.append(len(saved))
        assert all(r in [run_of(n) for n in range(1, 14)] for r in saved)  # never a wrong one
        assert len(saved) == sum("saved" in t for t in said if t.startswith("run "))
        assert check(new).problems == ()
    assert max(kept) == 13
    assert sum(k >= 12 for k in kept) > len(kept) / 2


# Copies ------------------------------------------------------------------------------------------


def test_each_step_leaves_a_copy_and_it_can_be_put_back(full, capsys):
    before = given(full)
    add_run(full, run_of(3))
    assert len(backups(full)) == LATEST
    after = full.read_bytes()
    assert main(["season", "restore", "--season", str(full)]) == 0
    assert "1  as it was until" in capsys.readouterr().out
    said = restore(full, "1")
    assert given(full) == before
    assert log(full)[-1].action == "restore"
    kept = said.split("is kept as ")[1]
    restore(full, kept)
    assert [r.name for r in read_season(full).runs] == ["run 1", "run 2", "run 3"]
    with open(kept, "rb") as file:
        assert file.read() == after


def test_nothing_done_leaves_no_copy(full):
    before = backups(full)
    add_run(full, run_of(1))
    read_season(full)
    assert backups(full) == before


def test_the_last_copy_of_a_day_outlives_the_latest(full):
    for copy in backups(full):
        copy.unlink()
    for day in range(1, 9):
        old = full.parent / "season-backups" / f"2020-05-0{day}T07-00-00.000000Z.gpkg"
        old.write_bytes(full.read_bytes())
    for day in (1, 2, 3, 4):
        add_change(full, day=date(2027, 7, day), kind="tyre")
    names = [copy.name for copy in backups(full)]
    assert len(names) == LATEST + DAYS - 1
    assert [name[:10] for name in names[LATEST:]] == [f"2020-05-0{d}" for d in (8, 7, 6, 5)]


@pytest.mark.parametrize("harm", ["a page", "the head", "all of it", "cut", "gone", "empty"])
def test_a_copy_takes_the_place_of_whatever_is_left(full, harm):
    add_change(full, day=date(2027, 7, 1), kind="wheel")
    copy = backups(full)[0]
    expected = given(copy)
    data = bytearray(full.read_bytes())
    match harm:
        case "a page":
            data[8192:12288] = bytes(4096)
        case "the head":
            data[:100] = random.Random(1).randbytes(100)
        case "all of it":
            data[:] = random.Random(1).randbytes(len(data))
        case "cut":
            data = data[: len(data) // 3]
        case "empty":
            data = bytearray()
    full.write_bytes(data)
    if harm == "gone":
        full.unlink()
    said = restore(full, "1")
    assert given(full) == expected
    assert ("is kept as" in said) == (harm != "gone")
    assert check(full).problems == ()


def test_a_damaged_copy_is_not_put_back(full, tmp_path):
    add_change(full, day=date(2027, 7, 1), kind="wheel")
    spoil(backups(full)[0], "UPDATE runs SET soil = 'X'")
    before = full.read_bytes()
    with pytest.raises(SeasonError, match="is damaged"):
        restore(full, "1")
    other = tmp_path / "other.gpkg"
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE a (b)")
    for wrong, says in ((other, "no season's record"), (tmp_path / "none", "no such file"),
                        (full, "is the record itself")):  # fmt: skip
        with pytest.raises(SeasonError, match=says):
            restore(full, str(wrong))
    assert full.read_bytes() == before


def test_a_copy_that_cannot_be_kept_stops_the_step(full, monkeypatch):
    before = full.read_bytes()

    def no_room(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("groundtruth.season.backups._sync", no_room)
    with pytest.raises(SeasonError, match=r"no copy of the record can be kept there.*nothing was"):
        add_run(full, run_of(3))
    assert full.read_bytes() == before


# Other programs ----------------------------------------------------------------------------------


def test_a_bed_renamed_in_a_map_program_stays_renamed(full):
    edit(full, "map_beds", "UPDATE map_beds SET name = 'Long one' WHERE name = 'E1'")
    assert any("map_beds: changed by another program" in r for r in check(full).remarks)
    assert check(full).problems == ()
    said = add_run(full, run_of(3)).text
    assert "changed by another program: the table map_beds" in said
    assert "Long one" in {row[2] for row in given(full)["map_beds"]}
    assert any("changed by another program: the table map_beds" in s.text for s in log(full))


def test_a_bed_renamed_where_it_is_worked_out_is_named(full):
    with reading(full) as db:
        (name,) = db.execute("SELECT name FROM beds LIMIT 1").fetchone()
    edit(full, "beds", "UPDATE beds SET name = 'Long one'")
    said = add_run(full, run_of(3)).text
    assert "written afresh: beds (names of beds belong into your own map" in said
    assert name in {row[2] for row in given(full)["beds"]}


def test_a_note_edited_in_a_map_program_is_kept(full):
    edit(full, "runs", "UPDATE runs SET note = 'by map program' WHERE name = 'run 1'")
    add_run(full, run_of(3))
    with reading(full) as db:
        notes = [r[0] for r in db.execute("SELECT note FROM runs ORDER BY id")]
    assert notes == ["by map program", "second", ""]


def test_a_spatial_index_survives_and_stays_right(full):
    """As GDAL makes it for a layer of a GeoPackage."""
    pytest.importorskip("pyogrio")
    with closing(sqlite3.connect(full)) as db:
        has = db.execute("SELECT 1 FROM pragma_module_list WHERE name = 'rtree'").fetchone()
    if not has:
        pytest.skip("this SQLite has no R*Tree")
    _index(full, "strips")
    add_run(full, run_of(3))
    with reading(full) as db:
        boxes = db.execute("SELECT id, minx, maxx, miny, maxy FROM rtree_strips_geom").fetchall()
        ids = [r[0] for r in db.execute("SELECT id FROM strips")]
    assert sorted(box[0] for box in boxes) == ids
    season = read_season(full)
    for (_, west, east, south, north), shape in zip(
        sorted(boxes), sorted_shapes(full), strict=True
    ):
        assert west <= min(p[0] for p in shape) <= max(p[0] for p in shape) <= east
        assert south <= min(p[1] for p in shape) <= max(p[1] for p in shape) <= north
    assert len(season.runs) == 3


def sorted_shapes(path):
    from groundtruth.io.geopackage import from_blob

    with reading(path) as db:
        return [
            from_blob(r[0]).exterior.coords
            for r in db.execute("SELECT geom FROM strips ORDER BY id")
        ]


def _index(path, table):
    """The index and triggers of OGC 12-128r19, F.3 "RTree Spatial Indexes" (shortened to those
    that inserting and deleting rows run)."""
    with closing(sqlite3.connect(path)) as db:
        db.execute(
            f"CREATE VIRTUAL TABLE rtree_{table}_geom USING rtree(id, minx, maxx, miny, maxy)"
        )
        from groundtruth.season.spatial import add_functions

        add_functions(db)
        box = "ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)"
        db.execute(
            f"INSERT INTO rtree_{table}_geom SELECT id, ST_MinX(geom), ST_MaxX(geom),"
            f" ST_MinY(geom), ST_MaxY(geom) FROM {table} WHERE NOT ST_IsEmpty(geom)"
        )
        db.execute(
            f"CREATE TRIGGER rtree_{table}_geom_insert AFTER INSERT ON {table}"
            " WHEN (NEW.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom))"
            f" BEGIN INSERT OR REPLACE INTO rtree_{table}_geom VALUES (NEW.id, {box}); END"
        )
        db.execute(
            f"CREATE TRIGGER rtree_{table}_geom_delete AFTER DELETE ON {table}"
            f" WHEN OLD.geom NOT NULL BEGIN DELETE FROM rtree_{table}_geom WHERE id = OLD.id; END"
        )
        db.commit()


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("ALTER TABLE runs RENAME COLUMN soil TO ground", "the column soil of runs is gone"),
        ("ALTER TABLE anomalies RENAME TO notes", "the table anomalies is gone"),
        ("DROP TABLE bench_counts", "the table bench_counts is gone"),
    ],
)
def test_what_another_program_renamed_is_named(full, statement, says):
    spoil(full, statement)
    for act in (read_season, lambda path: add_run(path, run_of(3))):
        with pytest.raises(SeasonError, match=says):
            act(full)
    assert any(says in problem for problem in check(full).problems)
    restore(full, "1")
    assert len(read_season(full).runs) == 2


def test_a_column_that_another_program_added_stays(full, tmp_path):
    from groundtruth.season import export_season, import_season
    from groundtruth.season.corrections import undo

    spoil(full, "ALTER TABLE runs ADD COLUMN colour TEXT")
    spoil(full, "UPDATE runs SET colour = 'red' WHERE name = 'run 1'")
    add_run(full, run_of(3))
    remove(full, "run", Which(name="run 1"))
    undo(full)
    with reading(full) as db:
        assert db.execute("SELECT colour FROM runs WHERE name = 'run 1'").fetchone() == ("red",)
    export_season(full, tmp_path / "out", "csv")
    assert import_season(tmp_path / "out", tmp_path / "back.gpkg") == 3


# Kills -------------------------------------------------------------------------------------------


@pytest.mark.whole_days
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked children")
def test_a_kill_while_taking_back_or_putting_back_leaves_a_whole_state(full):
    """Children change, take back, take out and put copies back until they are killed (SIGKILL) at
    a random instant. The record is sound each time, and is one of the states between steps."""
    from groundtruth.season.corrections import undo

    def steps():
        add_change(full, day=date(2027, 7, 1), kind="wheel")
        yield
        undo(full)
        yield
        remove(full, "bench", Which(name="bench.csv"))
        yield
        undo(full)
        yield
        restore(full, "1")
        yield

    start, known = full.read_bytes(), [given(full)]
    for _ in steps():
        known.append(given(full))
    full.write_bytes(start)
    begun = time.perf_counter()
    for _ in steps():
        pass
    took_s = time.perf_counter() - begun
    full.write_bytes(start)
    for _ in after_kills(lambda _: list(steps()), took_s, KILLS, seed=3):
        assert given_after_a_kill(full) in known
        assert check(full).problems == ()
        full.write_bytes(start)


def given_after_a_kill(path):
    with reading(path):
        pass  # rolls back what was begun
    return given(path)
