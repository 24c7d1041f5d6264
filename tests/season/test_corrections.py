"""Whatever was put into the record can be taken back, put right or taken out, and says so."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import date

import pytest
from test_record import run_of, whole

from groundtruth.cli.main import main
from groundtruth.core.beds import MapBed
from groundtruth.core.errors import InputError
from groundtruth.core.track import InputFile
from groundtruth.season import (
    SeasonError,
    add_bench,
    add_change,
    add_run,
    add_stands,
    read_season,
    reading,
    set_map,
    writing,
)
from groundtruth.season.corrections import (
    Which,
    edit_change,
    edit_run,
    log,
    remove,
    rename_bed,
    undo,
)
from groundtruth.season.journal import HANDED_OVER, KEPT_STEPS
from groundtruth.web.page.season import season_mended, season_shown

BEDS = [
    MapBed(name=f"E{i}", block="East", ends=((-41.3 + i * 2e-5, 43.5), (-41.3 + i * 2e-5, 43.501)))
    for i in range(4)
]
BENCH = "crop,seed_lot,setting,turns,seeds\nleek,a,H4,20,118\nleek,a,H4,20,124\nleek,a,H6,20,161\n"
STANDS = (
    "date,crop,seed_lot,bed,line,length,plants\n2027-06-20,leek,a,A3,1,2 m,41\n"
    "2027-06-20,leek,a,A3,2,2 m,44\n"
)


def given(path):
    """What the grower handed over, and what is worked out from it: all but the journal."""
    return {
        name: rows
        for name, rows in whole(path).items()
        if name not in ("journal", "journal_rows", "checksums", "season_migrations")
    }


def bench(path, text, name="bench.csv", **options):
    from groundtruth.io import read_bench

    file = path.parent / name
    file.write_bytes(text.encode())
    read = read_bench(file)
    return add_bench(path, read.counts, read.file.sha256, name=name, **options)


def stands(path, text, name="stands.csv", **options):
    from groundtruth.io import read_stands

    file = path.parent / name
    file.write_bytes(text.encode())
    read = read_stands(file)
    return add_stands(path, read.counts, read.file.sha256, name=name, **options)


def other_outcome():
    run = run_of(1)
    return replace(run, ground_per_turn=run.ground_per_turn.scaled(1.01))


STEPS = {
    "add": lambda path: add_run(path, run_of(3), soil="wet", note="a\rb"),
    "replace": lambda path: add_run(path, other_outcome(), replace=True),
    "note put right": lambda path: add_run(path, run_of(1), soil="wet", replace=True),
    "change": lambda path: add_change(path, day=date(2072, 6, 12), kind="tyre"),
    "map": lambda path: set_map(path, BEDS[:3]),
    "bench": lambda path: bench(path, BENCH.replace("118", "119"), replace=True),
    "stands": lambda path: stands(path, STANDS.replace("A3", "A4"), "other.csv", also=True),
    "remove run": lambda path: remove(path, "run", Which(name="run 2")),
    "remove change": lambda path: remove(path, "change", Which(day="2027-06-08")),
    "remove bench": lambda path: remove(path, "bench", Which(name="bench.csv")),
    "remove map": lambda path: remove(path, "beds"),
    "edit run": lambda path: edit_run(path, Which(name="run 1"), {"soil": "wet", "name": "first"}),
    "edit change": lambda path: edit_change(
        path, Which(name="tyre"), {"day": "2027-06-09", "kind": "wheel"}
    ),
    "rename bed": lambda path: rename_bed(path, "E1", "Asparagus"),
}


@pytest.fixture
def full(season):
    """A record with a little of everything."""
    add_run(season, run_of(1), soil="dry")
    add_run(season, run_of(2), soil="dry", note="second")
    add_change(season, day=date(2027, 6, 8), kind="tyre", note="worn")
    set_map(season, BEDS)
    bench(season, BENCH)
    stands(season, STANDS)
    return season


@pytest.mark.parametrize("step", STEPS.values(), ids=STEPS)
def test_every_step_can_be_taken_back_and_done_again(full, step):
    before = given(full)
    steps = len(log(full))
    step(full)
    after = given(full)
    assert after != before
    assert len(log(full)) == steps + 1
    said = undo(full)
    assert given(full) == before
    assert f"step {steps + 1} taken back" in said
    undo(full, steps + 2)  # the taking back taken back
    assert given(full) == after
    with closing(sqlite3.connect(full)) as db:
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []


def test_all_steps_back_to_an_empty_record_and_forth_again(full):
    for step in STEPS.values():
        step(full)
        undo(full)
    states = [given(full)]
    standing = [s for s in log(full) if s.undone_by is None and s.action != "undo"]
    for _ in standing:
        undo(full)
        states.append(given(full))
    assert not any(rows for table, rows in states[-1].items() if table in HANDED_OVER)
    with pytest.raises(SeasonError, match="no step that could be taken back"):
        undo(full)
    for state in reversed(states[:-1]):
        steps = log(full)
        back = {s.undone_by for s in steps if s.action != "undo"}
        undo(full, max(s.number for s in steps if s.number in back and s.undone_by is None))
        assert given(full) == state


def test_a_step_that_a_later_one_rests_on_names_it(full):
    add_run(full, run_of(3))
    edit_run(full, Which(name="run 3"), {"note": "later"})
    add, edit = (s.number for s in log(full)[-2:])
    with pytest.raises(SeasonError, match=f"step {edit} changed the same later"):
        undo(full, add)
    undo(full, edit)
    undo(full, add)
    assert [r.name for r in read_season(full).runs] == ["run 1", "run 2"]
    with pytest.raises(SeasonError, match="was taken back already"):
        undo(full, add)
    with pytest.raises(SeasonError, match="there is no step 999"):
        undo(full, 999)


def test_an_earlier_step_can_be_taken_back_alone(full):
    change = next(s.number for s in log(full) if s.action == "change")
    undo(full, change)
    assert read_season(full).changes == ()
    assert len(read_season(full).runs) == 2


def test_the_journal_does_not_grow_without_bound(season):
    for day in range(KEPT_STEPS + 5):
        add_change(season, day=date(2027, 1, 1), kind="other", note=str(day))
    steps = log(season)
    assert len(steps) == KEPT_STEPS + 5
    assert sum(s.can_go_back for s in steps) == KEPT_STEPS
    with pytest.raises(SeasonError, match="too long ago"):
        undo(season, 1)


def test_nothing_done_is_no_step(full):
    before = full.read_bytes()
    add_run(full, run_of(1))
    set_map(full, BEDS)
    bench(full, BENCH)
    assert full.read_bytes() == before


# Replacing a run ---------------------------------------------------------------------------------


def spanning(*numbers, key="f"):
    """A run from other files that holds the passes of several runs."""
    runs = [run_of(n) for n in numbers]
    passes, lines = [], []
    for at, run in enumerate(runs):
        passes += [replace(p, number=p.number + 10 * at) for p in run.passes]
        lines += [replace(line, number=line.number + 10 * at) for line in run.lines]
    return replace(
        runs[0],
        run_name="C",
        passes=tuple(passes),
        lines=tuple(lines),
        inputs=(InputFile(name="track.gpx", sha256=key * 64),),
    )


def test_two_runs_never_go_for_one(full):
    before = full.read_bytes()
    with pytest.raises(SeasonError, match=r"2 runs would go for one \(run 1, .*3 passes; run 2"):
        add_run(full, spanning(1, 2), replace=True)
    assert full.read_bytes() == before
    remove(full, "run", Which(name="run 2"))
    said = add_run(full, spanning(1, 2), replace=True)
    assert said.text.endswith(f"6 passes put in place of run 1, {run_of(1).date}, 3 passes")


def test_a_run_never_goes_with_passes_that_do_not_come(full):
    some = spanning(1)
    some = replace(
        some,
        passes=tuple(p for p in some.passes if p.number < 3),
        lines=tuple(line for line in some.lines if line.number < 3),
    )
    with pytest.raises(SeasonError, match=r"1 passes would go that it does not hold .*pass 3\)"):
        add_run(full, some, replace=True)
    assert len(read_season(full).runs) == 2


# Sheets ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "other",
    [
        BENCH.replace("\n", "\r\n"),
        BENCH.replace("\n", "\r"),
        BENCH.rstrip("\n"),
        "\ufeff" + BENCH,
        BENCH.replace(",", ";"),
        BENCH + "\n\n",
    ],
    ids=["crlf", "cr", "no end", "bom", "semicolons", "blank lines"],
)
@pytest.mark.parametrize("name", ["bench.csv", "copy.csv"])
def test_the_same_counts_in_other_bytes_double_nothing(full, other, name):
    before = given(full)
    assert bench(full, other, name).outcome == "already there"
    assert stands(full, STANDS.replace("\n", "\r\n"), name).outcome == "already there"
    assert given(full) == before


def seeds_per_turn(path):
    with reading(path) as db:
        return dict(db.execute("SELECT setting, seeds_per_turn FROM settings").fetchall())


def test_a_corrected_sheet_takes_the_place_of_the_wrong_one(full):
    wrong, right = seeds_per_turn(full), BENCH.replace("161", "181")
    for name in ("bench.csv", "bench-corrected.csv"):
        with pytest.raises(SeasonError, match=r"3 catches, 2 of them the same.*--replace.*--also"):
            bench(full, right, name)
    assert seeds_per_turn(full) == wrong
    said = bench(full, right, "bench-corrected.csv", replace=True)
    assert said.text.endswith("3 catches added, in place of bench.csv with 3 catches")
    assert seeds_per_turn(full) == {"H4": pytest.approx(242 / 40), "H6": pytest.approx(181 / 20)}
    assert len(given(full)["bench_counts"]) == 3


def test_a_sheet_that_goes_on_replaces_its_beginning(full):
    assert bench(full, BENCH + "leek,a,H8,20,200\n").outcome == "replaced"
    assert len(given(full)["bench_counts"]) == 4
    assert stands(full, STANDS + "2027-06-21,leek,a,A4,1,2 m,40\n").outcome == "replaced"
    assert len(given(full)["stand_counts"]) == 3


def test_another_day_of_the_same_name_stays_beside_it_when_asked(full):
    other = BENCH.replace(",20,", ",30,")
    with pytest.raises(SeasonError, match="0 of them the same"):
        bench(full, other)
    assert bench(full, other, also=True).outcome == "added"
    assert bench(full, other.replace("H6", "H7"), "new name.csv", also=True).outcome == "added"
    assert len(given(full)["bench_counts"]) == 9


def test_a_sheet_of_an_earlier_form_is_known_by_its_counts(full):
    """The form before sheets had names: only the hash was kept."""
    with writing(full) as db:
        db.execute("UPDATE sheets SET name = ''")
    assert bench(full, BENCH.replace("\n", "\r\n")).outcome == "already there"
    with pytest.raises(SeasonError, match="no name kept, 3 catches, 3 of them the same"):
        bench(full, BENCH + "leek,a,H8,20,200\n")


# By command --------------------------------------------------------------------------------------


def said(path, capsys, *words, code=0):
    assert main(["season", *words, "--season", str(path)]) == code
    printed = capsys.readouterr()
    return printed.out if code == 0 else printed.err


def test_a_mistyped_future_date_can_be_put_right_or_taken_back(full, capsys):
    said(full, capsys, "change", "wheel", "--day", "2072-06-12")
    said(full, capsys, "edit", "change", "wheel", "--to-day", "2027-06-12", "--note", "new")
    assert [(c.day, c.note) for c in read_season(full).changes][-1] == ("2027-06-12", "new")
    assert "2027-06-12 (new)" in said(full, capsys, "remove", "change", "--day", "2027-06-12")
    assert "step 9 taken back" in said(full, capsys, "undo")
    lines = said(full, capsys, "log").splitlines()
    assert [line.split()[3] for line in lines] == [
        "add:", "add:", "change:", "beds:", "bench:", "stands:", "change:", "edit:", "remove:",
        "undo:",
    ]  # fmt: skip
    assert "(taken back by step 10)" in lines[8]


def test_the_page_edits_and_removes_a_change_of_the_seeder(full):
    (change,) = season_shown(full, {})["changes"]
    asked = {**change, "do": "edit change", "day": "2027-06-14", "kind": "wheel", "note": "both"}
    assert "kind 'tyre' is now 'wheel'" in season_mended(full, asked)["said"]
    (now,) = season_shown(full, {})["changes"]
    assert now == {**change, "day": "2027-06-14", "kind": "wheel", "note": "both"}
    season_mended(full, {"do": "remove change", "number": now["number"]})
    assert season_shown(full, {})["changes"] == []
    undo(full)
    assert season_shown(full, {})["changes"] == [now]
    for key, wrong in (("kind", "paint"), ("day", "soon"), ("number", 77)):
        with pytest.raises(InputError):
            season_mended(full, {**asked, key: wrong})


def test_a_change_cannot_be_made_the_same_as_another(full, capsys):
    said(full, capsys, "change", "wheel", "--day", "2027-06-12")
    (first, second) = read_season(full).changes
    words = ("--number", str(second.number), "--kind", first.kind, "--to-day", first.day)
    complaint = said(full, capsys, "edit", "change", *words, "--note", first.note, code=2)
    assert "is recorded already" in complaint


def test_several_that_fit_are_listed_with_their_numbers(full, capsys):
    edit_run(full, Which(name="run 2"), {"name": "run 1"})
    complaint = said(full, capsys, "remove", "run", "run 1", code=2)
    assert "say which with --number: number 1: run run 1" in complaint
    assert "number 2" in complaint
    assert complaint.count("\n") == 1
    said(full, capsys, "remove", "run", "--number", "2")
    assert [r.name for r in read_season(full).runs] == ["run 1"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("remove", "run", "nothing"), "no run fits; the record holds number 1"),
        (("remove", "change", "--day", "soon"), "is no day"),
        (("remove", "run"), "say which with --number"),
        (("edit", "run", "run 1"), "say what is to be put right: --soil"),
        (("edit", "run", "run 1", "--unit", "2"), "--unit: a run has none"),
        (("edit", "change", "tyre", "--kind", "paint"), "is no kind of change"),
        (("edit", "bed", "E9", "--rename", "x"), "the map has no bed 'E9'"),
        (("edit", "bed", "E1", "--rename", "e2"), "cannot be the name of bed E1"),
        (("undo", "77"), "there is no step 77"),
        (("restore", "99"), "there is no copy 99"),
    ],
)
def test_a_refusal_is_one_line_and_changes_nothing(full, capsys, words, says):
    before = full.read_bytes()
    complaint = said(full, capsys, *words, code=2)
    assert says in complaint
    assert complaint.count("\n") == 1
    assert full.read_bytes() == before


def test_a_bed_takes_its_name_into_the_turn_sheets_words(season):
    set_map(season, BEDS)
    run = run_of(1)
    add_run(season, replace(run, passes=tuple(replace(p, bed="E1") for p in run.passes)))
    rename_bed(season, "e1", "Asparagus")
    rows = given(season)
    assert "Asparagus" in [row[2] for row in rows["map_beds"]]
    assert {row[8] for row in rows["passes"]} == {"Asparagus"}


def test_adding_several_says_what_was_kept_when_one_fails(season, tmp_path, capsys):
    from groundtruth.io.result_json import result_to_json

    files = []
    for number in (1, 2, 3):
        file = tmp_path / f"{number}.json"
        file.write_text(result_to_json(run_of(number)))
        files.append(str(file))
    (tmp_path / "2.json").write_text("{}")
    complaint = said(season, capsys, "add", *files, code=2)
    assert "kept in the record: 1.json; not added: 2.json, 3.json" in complaint
    assert [r.name for r in read_season(season).runs] == ["run 1"]


# Lasting -----------------------------------------------------------------------------------------


def test_a_commit_is_synced_to_the_folder_too(season):
    """EXTRA is FULL and a sync of the folder once the journal is gone, without which a power cut
    could bring the journal back and undo a told commit [SQLite, "PRAGMA synchronous"]."""
    with writing(season) as db:
        assert db.execute("PRAGMA synchronous").fetchone() == (3,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


@pytest.mark.skipif(sys.platform != "linux", reason="needs strace")
def test_the_folder_is_synced_after_the_journal_is_removed(season, tmp_path):
    """What the system is asked for, as strace sees it."""
    import shutil

    if not shutil.which("strace"):
        pytest.skip("no strace")
    add_change(season, day=date(2027, 1, 1), kind="other")
    trace = tmp_path / "trace"
    code = (
        "from datetime import date; from pathlib import Path; import sys\n"
        "from groundtruth.season import add_change\n"
        "add_change(Path(sys.argv[1]), day=date(2027, 1, 2), kind='other')\n"
    )
    done = subprocess.run(
        ["strace", "-f", "-y", "-o", str(trace), "-e", "trace=fsync,fdatasync,unlink,unlinkat",
         sys.executable, "-c", code, str(season)],
        capture_output=True, check=False, env=os.environ,
    )  # fmt: skip
    if done.returncode and b"ptrace" in done.stderr:
        pytest.skip("no ptrace here")
    assert done.returncode == 0, done.stderr
    lines = trace.read_text().splitlines()
    gone = max(i for i, t in enumerate(lines) if "unlink" in t and "season.gpkg-journal" in t)
    after = [t for t in lines[gone:] if "sync(" in t and f"<{season.parent}>" in t]
    assert after, lines[gone:]
