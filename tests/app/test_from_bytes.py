"""Use cases asked with bytes, as a page hands them over, answer as those asked with files."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from groundtruth.app import measure as app_measure
from groundtruth.app.card import CardRequest, card_for
from groundtruth.app.crops import CropsRequest, crops_for
from groundtruth.app.inspect import InspectRequest, inspection_for
from groundtruth.app.measure import LooseRun, MeasureRequest, measured_run_for
from groundtruth.app.pages import MAP, REPORT, RESULT, pages_of
from groundtruth.app.season import AddRunsRequest, add_bench_sheet, added_runs_for
from groundtruth.app.season_questions import ChartRequest, chart_for
from groundtruth.app.seed_need import SeedNeedRequest, seed_needs_for
from groundtruth.app.seeding import BenchRequest, ChooseRequest, choices_for, lot_curves_for
from groundtruth.app.stands import SpacingRequest, StandsRequest, emergence_for, spacing_for
from groundtruth.core.errors import InputError, RunFileError, TrackFileError, TurnSheetError
from groundtruth.io import Source, files, result_to_json
from groundtruth.io.writing import sealed
from groundtruth.seeding import figure_of

DRY = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"


def held(name):
    """A file of the sample, as its name and bytes."""
    return Source(name, (DRY / name).read_bytes())


SHEETS = {name: held(name) for name in ("bench.csv", "crops.csv", "stands.csv", "spacings.csv")}
RUN = tuple(held(name) for name in ("run.toml", "track.gpx", "turns.csv"))
ASKED = MeasureRequest(run=RUN[0], files=RUN[1:])


@pytest.fixture(scope="module")
def by_path():
    return measured_run_for(MeasureRequest(run=DRY / "run.toml"))


@pytest.fixture
def no_files(monkeypatch):
    """Nothing may be opened by its path."""

    def opened(*args):
        raise AssertionError(f"opened {args[0]}")

    monkeypatch.setattr(files, "_bytes_of", opened)


def test_a_run_from_bytes_has_the_result_of_its_files(by_path, no_files):
    found = measured_run_for(ASKED)
    # the files lie in a folder, after which the run is called; bytes lie in none
    assert found.result.run_name == "run"
    assert replace(found.result, run_name=by_path.result.run_name) == by_path.result
    assert found.passes == by_path.passes


def test_the_guard_against_files_works(no_files):
    with pytest.raises(AssertionError, match="opened"):
        measured_run_for(MeasureRequest(run=DRY / "run.toml"))


def test_passes_found_before_are_not_looked_for_again(by_path, no_files, monkeypatch):
    """Find passes, show them, take counts, measure: the way of a page."""
    zone = by_path.run.time_zone
    seen = inspection_for(InspectRequest(track=(RUN[1],), time_zone=zone))
    assert seen.passes == by_path.passes
    monkeypatch.setattr(app_measure, "find_passes", None)
    loose = LooseRun(
        track=seen.track,
        turns=RUN[2],
        seeder=by_path.run.seeder,
        crops=by_path.run.crops,
        time_zone=zone,
        name=by_path.run.name,
    )
    found = measured_run_for(MeasureRequest(run=loose, passes=seen.passes, units="us")).result
    described = by_path.result.inputs[0]
    assert replace(found, inputs=(described, *found.inputs)) == by_path.result


def test_a_loose_run_is_called_after_its_track(by_path):
    loose = LooseRun(track=RUN[1], turns=by_path.run.turns)
    run = app_measure.run_for(MeasureRequest(run=loose))
    assert (run.name, run.time_zone, run.units) == ("track", "UTC", "metric")


def test_the_pages_of_a_result(by_path):
    pages = pages_of(by_path.result)
    assert set(pages) == {MAP, REPORT, RESULT}
    assert pages[RESULT] == sealed(result_to_json(by_path.result))
    assert pages_of(by_path.result, tiles=True)[MAP] != pages[MAP]


def test_choices_from_bytes(by_path, no_files, monkeypatch):
    ground = figure_of(by_path.result)
    asked = ChooseRequest(
        ground=ground, crops=CropsRequest(sheet=SHEETS["crops.csv"]), bench=SHEETS["bench.csv"]
    )
    found = choices_for(asked)
    card, on_card = card_for(CardRequest(choose=asked, made_on=date(2026, 5, 20), units="us"))
    assert on_card.choices == found.choices
    assert card.crops[0].setting == found.choices[0].option.setting
    curves, _ = lot_curves_for(BenchRequest(bench=SHEETS["bench.csv"], settings=ground.settings))
    assert {one.crop for one in curves} >= {c.crop.name for c in found.choices}
    monkeypatch.undo()
    files_ = replace(asked, crops=CropsRequest(sheet=DRY / "crops.csv"), bench=DRY / "bench.csv")
    assert choices_for(files_).choices == found.choices


def test_seed_stands_and_spacings_from_bytes(by_path, no_files):
    crops = CropsRequest(name="beet", spacing_m=0.04, germination=0.8, seeds_per_kg=60_000.0)
    (need,), _ = seed_needs_for(SeedNeedRequest(crops=crops, lengths_m=(50.0, 50.0)))
    assert need.need.seeds.value == pytest.approx(100 / 0.04 / 0.8)  # by hand
    emerged, _ = emergence_for(StandsRequest(stands=SHEETS["stands.csv"]))
    fed_back, _ = crops_for(replace(crops, stands=SHEETS["stands.csv"]))
    assert emerged
    assert fed_back[0].germination.value == 0.8
    assert spacing_for(SpacingRequest(spacings=SHEETS["spacings.csv"], wanted_m=0.05)).spacings > 9


def test_a_run_that_was_measured_goes_into_the_season(by_path, tmp_path):
    record = tmp_path / "season.gpkg"
    (added,) = added_runs_for(AddRunsRequest(record=record, sources=(by_path,), soil=" Dry "))
    assert added.outcome == "added"
    as_json = Source("result.json", result_to_json(by_path.result).encode())
    (again,) = added_runs_for(AddRunsRequest(record=record, sources=(as_json,), soil="dry"))
    assert again.outcome == "already there"
    assert add_bench_sheet(record, SHEETS["bench.csv"]).outcome == "added"
    chart, season = chart_for(ChartRequest(record=record, soil="dry"))
    assert len(chart.points) == len(season.runs) == 1


def test_a_refusal_carries_its_place():
    with pytest.raises(TrackFileError, match="not a track") as caught:
        measured_run_for(replace(ASKED, files=(Source("track.gpx", b"<html></html>"), RUN[2])))
    assert caught.value.file == "track.gpx"
    with pytest.raises(
        RunFileError, match=r"names turns\.csv, which was not handed over"
    ) as caught:
        measured_run_for(replace(ASKED, files=RUN[1:2]))
    assert (caught.value.file, caught.value.column) == ("run.toml", "turns")
    turns = Source("turns.csv", RUN[2].data.replace(b",93,", b",many,", 1))
    with pytest.raises(TurnSheetError) as caught:
        measured_run_for(replace(ASKED, files=(RUN[1], turns)))
    place = caught.value
    assert (place.file, place.line, place.column, place.cell) == ("turns.csv", 2, "turns", "many")
    with pytest.raises(InputError, match="no catch of leek") as caught:
        choices_for(
            ChooseRequest(
                ground=figure_of(measured_run_for(ASKED).result),
                crops=CropsRequest(name="leek", spacing_m=0.1),
                bench=SHEETS["bench.csv"],
            )
        )
    assert caught.value.file == "bench.csv"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"spacing_m": 0.1, "rate_kg_m2": 0.001}, "spacing and rate, not both"),
        ({"spacing_m": 0.1, "sheet": SHEETS["crops.csv"]}, "leave out the spacing or the sheet"),
        ({"spacing_m": 0.1, "seeds_per_kg": 0.0}, "seeds per gram is 0"),
    ],
)
def test_impossible_wishes_are_refused_at_birth(more, says):
    with pytest.raises(InputError, match=says):
        CropsRequest(**more)
