"""What is typed becomes open files that `measure` reads, with every cell known again."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from browser import PAYLOADS

from groundtruth.app.measure import MeasureRequest, measured_run_for
from groundtruth.app.typed_run import (
    TypedCellError,
    TypedCrop,
    TypedPass,
    TypedRun,
    files_of,
)
from groundtruth.core.errors import InputError
from groundtruth.core.origin import Origin, Soil
from groundtruth.core.seeder import Seeder
from groundtruth.io import read_run, read_turns
from groundtruth.io.files import Source

SAMPLE = Path(__file__).parents[1] / "sample_tracks" / "new-tyres"
TRACK = Source("track.gpx", (SAMPLE / "track.gpx").read_bytes())


def typed(passes, **how):
    given = {"name": "", "units": "metric", "time_zone": "", "track_names": ("track.gpx",)}
    return TypedRun(**{**given, "row_units": ("A",), "passes": tuple(passes), **how})


def test_counts_go_to_the_passes_beside_which_they_stand_whatever_was_struck():
    whole = measured_run_for(MeasureRequest(run=SAMPLE / "run.toml"))
    count = len(whole.passes)
    rows = [TypedPass(number=n, turns=("90",), struck=n in (2, count)) for n in range(1, count + 1)]
    files = files_of(typed(rows))
    run = measured_run_for(MeasureRequest(run=files.run, files=(files.turns, TRACK)))
    starts = {p.number: p.start.time_s for p in whole.passes}
    found = {p.number: p.start_s for p in run.result.passes}
    assert set(found) <= set(starts) - {2, count}
    for number, start_s in found.items():
        assert start_s == pytest.approx(starts[number], abs=1.0)


def test_farm_machine_and_soil_are_kept_as_typed():
    rows = [TypedPass(number=1, turns=("93",))]
    machine = (("name", "the \x1b blue one"), ("tyre_pressure", "1,2"), ("ballast", " 40 "))
    how = {
        "origin": (("farm", "Bramblehythe"), ("farm_id", ""), ("field", 'the "long" one')),
        "soil": (("moisture", "wet"), ("texture", "")),
    }
    described = {}
    for units in ("metric", "us"):
        files = files_of(typed(rows, machine=machine, units=units, **how))
        described[units] = read_run(files.run, files=(files.turns, TRACK))
    run, us = described["metric"], described["us"]
    assert run.origin == us.origin == Origin(farm="Bramblehythe", field='the "long" one')
    assert run.soil == Soil(moisture="wet")
    assert run.seeder == Seeder(name="the blue one", tyre_pressure_pa=120_000.0, ballast_kg=40.0)
    assert us.seeder.tyre_pressure_pa == pytest.approx(8273.7, abs=0.1)  # 1.2 psi
    assert us.seeder.ballast_kg == pytest.approx(18.14369, abs=1e-5)  # 40 lb


def test_cells_are_found_again_by_their_line():
    rows = [TypedPass(number=1, turns=("93", "")), TypedPass(number=3, turns=("", "41 1/2"))]
    files = files_of(typed(rows, row_units=("A", "B")))
    assert files.cells == {2: (1, 0), 3: (3, 1)}
    sheet = read_turns(files.turns)
    assert [(c.line, c.pass_number, c.unit, c.turns) for c in sheet.counts] == [
        (2, 1, "A", 93.0),
        (3, 3, "B", 41.5),
    ]


def test_counter_readings_are_subtracted_to_their_own_step():
    rows = [
        TypedPass(number=1, at_start=("858.5",), at_end=("936.0",)),
        TypedPass(number=2, at_end=("1014,2",)),  # goes on where the pass before ended
        TypedPass(number=3, at_end=("1100",), struck=True),
        TypedPass(number=4, at_end=("1190",)),
    ]
    lines = files_of(typed(rows, by_counter=True)).turns.data.decode().splitlines()[1:]
    assert [line.split(",")[2] for line in lines] == ["77.5", "78.2", "90"]


@pytest.mark.parametrize(
    ("start", "end", "column"),
    [("", "5", "start"), ("9", "8", "end"), ("x", "8", "start"), ("1", "1e400", "end")],
)
def test_a_reading_that_cannot_be_is_refused_at_its_cell(start, end, column):
    rows = [TypedPass(number=4, at_start=("1", start), at_end=("2", end))]
    with pytest.raises(TypedCellError) as refused:
        files_of(typed(rows, row_units=("A", "B"), by_counter=True))
    assert (refused.value.number, refused.value.place, refused.value.column) == (4, 1, column)


def test_bare_lengths_get_the_unit_of_the_switch():
    files = files_of(
        typed(
            [TypedPass(number=1, turns=("9",), taped="230")],
            units="us",
            machine=(("wheel_circumference", "76 1/2"), ("row_spacing", "61 cm")),
            crops=(TypedCrop(crop="beet", spacing="2", germination="81", field_emergence="0.9"),),
        )
    )
    run = tomllib.loads(files.run.data.decode())
    assert run["seeder"] == {"wheel_circumference": "76 1/2 in", "row_spacing": "61 cm"}
    assert run["sowing"] == [
        {"crop": "beet", "spacing": "2 in", "germination": 0.81, "field_emergence": 0.9}
    ]
    assert read_turns(files.turns).counts[0].taped.value == pytest.approx(230 * 0.3048)


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_hostile_text_in_every_field_stays_text(text):
    one = TypedPass(number=1, turns=("9",), setting=text, crop=text, bed=text)
    files = files_of(
        typed(
            [one],
            name=text,
            row_units=(text,),
            machine=(("settings", text),),
            crops=(TypedCrop(crop=text, spacing="2 cm"),),
        )
    )
    top = tomllib.loads(files.run.data.decode())
    assert set(top) <= {"name", "track", "turns", "units", "seeder", "sowing"}
    said = []
    try:
        said = [c.unit for c in read_run(files.run, files=(files.turns, TRACK)).turns.counts]
    except InputError as refused:
        said = [str(refused)]
    assert len(said) == 1
    assert "\n" not in said[0]


def test_nothing_typed_is_said_so():
    with pytest.raises(InputError, match="no turns yet"):
        files_of(typed([TypedPass(number=1, turns=("",))]))


def test_a_sheet_numbers_its_passes_one_way():
    with pytest.raises(InputError, match=r"has both pass and track_pass columns; keep one"):
        read_turns(Source("turns.csv", b"pass,track_pass,turns\n1,1,9\n"))


def test_a_pass_that_the_track_does_not_have_is_left_out_and_named():
    files = files_of(typed([TypedPass(number=n, turns=("90",)) for n in (1, 2, 3, 99)]))
    result = measured_run_for(MeasureRequest(run=files.run, files=(files.turns, TRACK))).result
    assert {p.number for p in result.passes} <= {1, 2, 3}
    assert 99 in {n for f in result.findings for n in f.passes}
