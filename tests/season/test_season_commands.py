"""What `groundtruth season` answers and refuses: one plain line that names what to do."""

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
    add_change(season, day=date.fromisoformat(run_of(6).date), kind="tyre")
    return season


def said(kept, capsys, *words, code=0):
    assert main(["season", *words, "--season", str(kept)]) == code
    printed = capsys.readouterr()
    return " ".join((printed.out if code == 0 else printed.err).split())


def test_year_against_year_seeder_against_seeder_and_a_change(kept, capsys):
    assert read_season(kept).runs[0].day.startswith("2025")
    years = said(kept, capsys, "compare", "--year", "2025", "2026")
    assert "2026 against 2025" in years or "2025 against 2026" in years
    assert "(3 runs, 9 passes); 2026" in years
    seeders = said(kept, capsys, "compare", "--seeder", "front", "rear")
    assert "front" in seeders
    assert "4 runs, 12 passes" in seeders
    change = said(kept, capsys, "compare", "--change", run_of(6).date)
    assert f"from {run_of(6).date} on" in change
    assert "No change is recorded" not in change
    other = said(kept, capsys, "compare", "--change", run_of(7).date)
    assert f"No change is recorded on {run_of(7).date}" in other


def test_soil_is_soil_however_it_is_written(kept, capsys):
    assert "wet" in said(kept, capsys, "compare", "--soil", "Dry", " WET ")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("show", "--bed", "N33"), "nothing was sown on such a bed; beds in the record: N"),
        (("compare", "--soil", "dry", "wett"), "'wett'; soils in the record: dry, wet"),
        (("compare", "--soil", "dry", "dry"), "'dry' twice: name two that differ"),
        (("compare", "--year", "2024", "2026"), "'2024'; runs in the record: 2025-"),
        (("compare", "--seeder", "front", "x"), "'x'; seeders in the record: front, rear"),
        (("compare", "--change", "2035-01-01"), "runs in the record: 2025-"),
        (("compare", "--change", "12 June"), "is no day; write it as 2027-06-08"),
        (("chart", "--soil", "damp"), "soils in the record: dry, wet"),
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
        kept, capsys, "change", "unit-serviced", "--unit", "2", "--day", "2027-05-01"
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
