"""The data set's folder: whole parts, each named in the journal, whatever a killed call left."""

import os
from datetime import date
from itertools import islice

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from data_sets import files, kept, keys, outcome, rows

from groundtruth.core.errors import InputError
from groundtruth.fleet.columns import RUN_COLUMNS, run_schema
from groundtruth.many import parts as module
from groundtruth.many.arrow import in_order, stream_of, table_in, table_of
from groundtruth.many.journal import opened_journal
from groundtruth.many.parts import begun_folder, put_waiting

MAY, LAST_YEAR = date(2027, 5, 3), date(2026, 5, 3)


def test_runs_lie_in_the_season_of_their_day_and_read_as_one_table(tmp_path):
    kept(tmp_path, outcome("a", MAY), outcome("b", LAST_YEAR), outcome("c"))
    assert [(row["run_key"], row["season"]) for row in rows(tmp_path)] == [
        ("a", 2027),
        ("b", 2026),
        ("c", None),
    ]
    assert list(rows(tmp_path)[0]) == [name for name, _ in RUN_COLUMNS] + ["season"]
    assert rows(tmp_path, "passes") == []


def test_duckdb_reads_the_same_rows(tmp_path):
    duckdb = pytest.importorskip("duckdb")
    kept(tmp_path, outcome("a", MAY), outcome("b", LAST_YEAR), outcome("c"))
    found = duckdb.sql(
        f"SELECT run_key, season FROM read_parquet('{tmp_path}/runs/*/*.parquet',"
        " hive_partitioning = true) ORDER BY run_key"
    ).fetchall()
    assert found == [("a", 2027), ("b", 2026), ("c", None)]


def test_small_parts_are_put_together(tmp_path):
    for name in "abcd":
        kept(tmp_path, outcome(name, MAY))
    assert keys(tmp_path) == list("abcd")
    assert len(files(tmp_path)) == 2  # one of runs, one of passes


def test_large_parts_stay_as_they_are(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "RUNS_OF_A_PART", 2)
    kept(tmp_path, outcome("a", MAY), outcome("b", MAY))
    before = files(tmp_path)
    kept(tmp_path, outcome("c", MAY))
    assert before.items() < files(tmp_path).items()
    assert keys(tmp_path) == list("abc")


def test_a_part_that_the_journal_does_not_name_is_removed(tmp_path):
    kept(tmp_path, outcome("a", MAY))
    before = files(tmp_path)
    season = tmp_path / "runs" / "season=2027"
    (season / f"part-{'0' * 16}.parquet").write_bytes(b"half")
    (season / f".groundtruth-999999999-{'0' * 16}.part").write_bytes(b"half")
    kept(tmp_path)
    assert files(tmp_path) == before
    assert len(list(season.iterdir())) == 1


def test_a_file_that_is_not_ours_is_left_alone(tmp_path):
    kept(tmp_path, outcome("a", MAY))
    mine = tmp_path / "runs" / "season=2027" / "notes.txt"
    mine.write_text("mine")
    kept(tmp_path, outcome("b", MAY))
    assert mine.read_text() == "mine"


@pytest.mark.parametrize("spoil", [lambda p: p.unlink(), lambda p: p.write_bytes(b"short")])
@pytest.mark.parametrize("kind", ["runs", "passes"])
def test_runs_whose_part_is_gone_or_cut_are_to_be_measured_again(tmp_path, spoil, kind):
    kept(tmp_path, outcome("a", MAY), outcome("b", LAST_YEAR))
    spoil(next((tmp_path / kind / "season=2027").iterdir()))
    assert kept(tmp_path) == 1
    assert keys(tmp_path) == ["b"]
    with opened_journal(tmp_path) as journal:
        assert not journal.has("a")
        assert journal.has("b")
    kept(tmp_path, outcome("a", MAY))
    assert keys(tmp_path) == ["a", "b"]


class Killed(BaseException):
    """What a kill leaves is what lies on the disk when this is raised."""


def steps_of_a_put(folder, monkeypatch, kill_at):
    """Put what waits and end it at a step; whether there are so many."""
    counter = iter(range(10_000))

    def step(function):
        def counted(*args, **named):
            if next(counter) == kill_at:
                raise Killed
            return function(*args, **named)

        return counted

    with monkeypatch.context() as patch, opened_journal(folder) as journal:
        patch.setattr(os, "replace", step(os.replace))
        patch.setattr(module, "_unlink", step(module._unlink))
        patch.setattr(journal, "exchange", step(journal.exchange))
        journal.drop_unplaced()
        try:
            put_waiting(folder, journal)
        except Killed:
            return True
    return False


def test_a_call_killed_at_any_step_leaves_each_run_once_after_the_next(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "RUNS_OF_A_PART", 3)
    for kill_at in range(20):
        folder = tmp_path / str(kill_at)
        kept(folder, *(outcome(name, MAY) for name in "abcd"))
        kept(folder, outcome("e", LAST_YEAR))
        # b is replaced by its new files, f is new, e was put into another season
        kept(folder, outcome("b", MAY, key="b2"), outcome("f", MAY), put=False)
        kept(folder, outcome("e", MAY), put=False)
        killed = steps_of_a_put(folder, monkeypatch, kill_at)
        kept(folder)
        assert keys(folder) == ["a", "b2", "c", "d", "e", "f"], kill_at
        kept(folder)
        if not killed:
            break
    assert kill_at == 6  # two files each of two seasons, the exchange, the removal


def test_a_run_whose_files_changed_replaces_its_rows(tmp_path):
    kept(tmp_path, outcome("a", MAY), outcome("b", MAY))
    kept(tmp_path, outcome("a", MAY, message="other", key="a2"))
    assert [(row["run_key"], row["message"]) for row in rows(tmp_path)] == [
        ("a2", "other"),
        ("b", "no track"),
    ]


def test_a_season_that_holds_no_run_any_more_goes(tmp_path):
    kept(tmp_path, outcome("a", LAST_YEAR))
    kept(tmp_path, outcome("a", MAY, key="a2"))
    assert {path.name for path in (tmp_path / "runs").iterdir()} == {"season=2027"}


def test_a_folder_of_something_else_is_refused(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match=r"holds notes\.txt and so is no data set of groundtruth"):
        begun_folder(tmp_path)
    (tmp_path / "notes.txt").unlink()
    (tmp_path / "runs").mkdir()
    with pytest.raises(InputError, match=r"holds no journal\.sqlite and so is no data set"):
        begun_folder(tmp_path)


def test_a_place_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "fleet").write_text("mine")
    with pytest.raises(InputError, match="cannot be made or read"):
        begun_folder(tmp_path / "fleet")


def test_an_unreadable_part_is_named_and_nothing_changed(tmp_path):
    kept(tmp_path, outcome("a", MAY))
    path = next((tmp_path / "runs" / "season=2027").iterdir())
    path.write_bytes(bytes(path.stat().st_size))
    with pytest.raises(InputError, match=r"part-\w+\.parquet: cannot be read any more; remove it"):
        kept(tmp_path, outcome("b", MAY))
    path.unlink()
    assert kept(tmp_path) == 1
    assert keys(tmp_path) == ["b"]


def test_columns_of_an_earlier_version_are_brought_to_those_of_today():
    old = table_of(stream_of([outcome_row()], "runs"), "runs").drop_columns(["phone"])
    old = old.append_column("left", pa.array([1]))
    sink = pa.BufferOutputStream()
    pq.write_table(old, sink)
    new = table_in(sink.getvalue().to_pybytes(), "runs")
    assert new.schema == run_schema()
    assert new["phone"].to_pylist() == [None]
    assert in_order([new, new], "runs").num_rows == 2


def outcome_row():
    return next(islice(table_of(outcome("a", MAY).run, "runs").to_pylist(), 1))
