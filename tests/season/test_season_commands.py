"""What `groundtruth season` answers and refuses: one plain line that names what to do."""

import json
from dataclasses import replace
from datetime import date

import pytest
from test_record import run_of

from groundtruth.cli.main import main
from groundtruth.season import add_change, add_run
from groundtruth.season.query import read_season
from groundtruth.views.tables.season import sure_text


@pytest.fixture
def kept(season):
    """Eight runs of two seeders over two years, the later ones with more ground per turn."""
    for number in range(1, 9):
        run = run_of(number)
        run = replace(
            run,
            date=run.date.replace("2026", "2025") if number < 4 else run.date,
            ground_per_turn=run.ground_per_turn.scaled(
                1 + 0.002 * (number % 3) + 0.02 * (number > 3)
            ),
        )
        add_run(
            season,
            run,
            soil="wet" if number > 6 else "dry",
            seeder="front" if number % 2 else "rear",
        )
    add_change(season, day=date.fromisoformat(run_of(6).date), kind="tyre", seeder="rear")
    return season


def said(kept, capsys, *words, code=0):
    assert main(["season", *words, "--season", str(kept)]) == code
    printed = capsys.readouterr()
    return " ".join((printed.out if code == 0 else printed.err).split())


def test_year_against_year_seeder_against_seeder_and_a_change(kept, capsys):
    assert read_season(kept).runs[0].day.startswith("2025")
    years = said(kept, capsys, "compare", "--year", "2025", "2026", "--seeder", "front")
    assert "2026 against 2025" in years or "2025 against 2026" in years
    assert "(2 runs, 6 passes); 2026" in years
    seeders = said(kept, capsys, "compare", "--seeder", "front", "rear")
    assert "front" in seeders
    assert "4 runs, 12 passes" in seeders
    change = said(kept, capsys, "compare", "--change", run_of(6).date)
    assert f"from {run_of(6).date} on" in change
    assert "(2 runs, 6 passes)" in change  # of the seeder whose change it is
    assert "No change is recorded" not in change
    other = said(kept, capsys, "compare", "--change", run_of(7).date, "--seeder", "front")
    assert f"No change is recorded on {run_of(7).date}" in other


def test_soil_is_soil_however_it_is_written(kept, capsys):
    words = ("compare", "--soil", "Dry", " WET ", "--seeder", "front")
    assert "wet" in said(kept, capsys, *words)


@pytest.mark.parametrize(
    "words",
    [
        ("chart",),
        ("compare", "--soil", "dry", "wet"),
        ("compare", "--year", "2025", "2026"),
        ("compare", "--change", run_of(7).date),
    ],
)
def test_with_several_seeders_a_question_asks_of_which(kept, capsys, words):
    complaint = said(kept, capsys, *words, code=2)
    assert "the record has runs of 2 seeders; say of which with --seeder: front, rear" in complaint
    answer = said(kept, capsys, *words, "--seeder", "front")
    if words == ("chart",):
        assert all(run_of(n).date.replace("2026", "2025") in answer for n in (1, 3))
        assert run_of(2).date.replace("2026", "2025") not in answer


def test_a_change_belongs_to_one_of_several_seeders(kept, capsys):
    front = [r.phase for r in read_season(kept).runs if r.seeder == "front"]
    rear = [r.phase for r in read_season(kept).runs if r.seeder == "rear"]
    assert (set(front), set(rear)) == ({0}, {0, 1})
    for seeder in ((), ("--seeder", "fornt")):
        complaint = said(kept, capsys, "change", "wheel", "--day", "2027-05-01", *seeder, code=2)
        assert "say with --seeder which: front, rear" in complaint
    said(kept, capsys, "edit", "change", "tyre", "--seeder", "front")
    assert {r.phase for r in read_season(kept).runs if r.seeder == "rear"} == {0}
    said(kept, capsys, "edit", "change", "tyre", "--seeder", "fornt", code=2)
    assert f"{run_of(6).date}: tyre, front" in said(kept, capsys, "show")


def test_runs_without_a_seeder_are_those_of_the_only_one(season, capsys):
    for number in range(1, 7):
        add_run(season, run_of(number), seeder="front" if number > 3 else "")
    assert len(json.loads(said(season, capsys, "chart", "--json"))["points"]) == 6


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("show", "--bed", "N33"), "nothing was sown on such a bed; beds in the record: N"),
        (
            ("compare", "--soil", "dry", "wett", "--seeder", "rear"),
            "'wett'; soils in the record: dry, wet",
        ),
        (
            ("compare", "--soil", "dry", "dry", "--seeder", "rear"),
            "'dry' twice: name two that differ",
        ),
        (("compare", "--year", "2024", "2026", "--seeder", "rear"), "runs in the record: 2025-"),
        (("compare",), "say what to compare: --change DAY, --soil A B"),
        (("compare", "--seeder", "front"), "say what to compare: --change DAY, --soil A B"),
        (("compare", "--soil", "dry", "wet", "--seeder", "front", "rear"), "--seeder: name one"),
        (("compare", "--row-units", "--seeder", "front"), "--seeder: row units are told apart"),
        (("compare", "--seeder", "front", "x"), "'x'; seeders in the record: front, rear"),
        (("compare", "--change", "2035-01-01", "--seeder", "rear"), "runs in the record: 2025-"),
        (("compare", "--change", "12 June"), "is no day; write it as 2027-06-08"),
        (("chart", "--soil", "damp", "--seeder", "rear"), "soils in the record: dry, wet"),
        (("chart", "--seeder", "x"), "seeders in the record: front, rear"),
        (("change", "tyre", "--day", "soon"), "is no day; write it as 2027-06-08"),
        (("add", "nothing.toml"), "nothing.toml: no such run file"),
        (("add", "notes.txt"), "give a run description (RUN.toml), or the result.json"),
        (("beds", "beds.shp"), "give a map of beds as .geojson, .gpkg or .csv"),
        (("import", "nowhere"), "nowhere"),
        (("export", __file__), "is a file; name a folder"),
    ],
)
def test_a_refusal_is_one_line_that_says_what_to_do(kept, capsys, words, says):
    before = kept.read_bytes()
    assert main(["season", *words, "--season", str(kept)]) == 2
    complaint = capsys.readouterr().err
    assert complaint.count("\n") == 1
    assert says in complaint
    assert kept.read_bytes() == before


def test_the_record_may_be_named_before_the_action(kept, capsys):
    assert main(["season", "--season", str(kept), "path"]) == 0
    assert capsys.readouterr().out.strip() == str(kept)


def test_a_kind_of_two_words_needs_no_quotes(kept, capsys):
    assert "unit serviced, 2027-05-01: added" in said(
        kept,
        capsys,
        "change",
        "unit-serviced",
        "--unit",
        "2",
        "--day",
        "2027-05-01",
        "--seeder",
        "rear",
    )


def test_no_bed_is_ever_called_certain():
    assert [sure_text(s) for s in (1.0, 0.9951, 0.989, 0.5)] == [
        "over 99 %", "over 99 %", "98 %", "50 %",
    ]  # fmt: skip


def test_area_and_row_length_by_crop_setting_and_day_add_up(kept):
    season = read_season(kept)
    assert {(s.day, s.crop, s.setting) for s in season.sown} == {
        (s.day, s.crop, s.setting) for s in season.sowings
    }
    assert sum(s.passes for s in season.sown) == len(season.sowings) == 24
    for figure in ("area_m2", "row_length_m"):
        assert sum(getattr(s, figure) for s in season.sown) == pytest.approx(
            sum(getattr(s, figure) for s in season.sowings)
        )
