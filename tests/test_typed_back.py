"""A run that was kept is read back into what was typed, and gives the same files again."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundtruth.app.typed_back import counts_of, form_of_run
from groundtruth.app.typed_run import TypedCrop, TypedPass, TypedRun, files_of
from groundtruth.core.errors import InputError, RunFileError, TurnSheetError
from groundtruth.io.files import Source

SAMPLE = Path(__file__).parents[1] / "sample_tracks" / "dry-firm"
STRIP = ("2027-04-27T13:08:46Z", "2027-04-27T13:09:55Z")


def test_what_was_typed_comes_back_and_is_written_as_before():
    typed = TypedRun(
        name="the east end",
        units="us",
        time_zone="America/Chicago",
        track_names=("a.gpx", "b.gpx"),
        row_units=("A", "B"),
        passes=(
            TypedPass(number=1, turns=("93", "41 1/2"), setting="F1", crop="beet", bed="L1"),
            TypedPass(number=9, turns=("92", ""), strip=STRIP, taped="230 ft ± 2 in"),
            TypedPass(number=3, turns=("", "90.5")),
        ),
        machine=(
            ("name", "the blue one"),
            ("turns_of", "gear"),
            ("wheel_circumference", "71.5 in ± 0.08 in"),
            ("gear_turns_per_wheel_turn", "2.4"),
            ("row_units", "4"),
            ("settings", "hole 9, hole 10"),
            ("tyre_pressure", "18 psi"),
        ),
        bed_length="230 ft",
        crops=(TypedCrop(crop="beet", spacing="1.75 in", germination="0.81"),),
        origin=(("farm", "Tindlewick"), ("farm_id", ""), ("field", "Long Piece"), ("phone", "")),
        soil=(("moisture", "moist"), ("texture", "sandy loam")),
    )
    files = files_of(typed)
    form, counts = form_of_run(files.run), counts_of(files.turns)
    assert (form.name, form.units, form.time_zone) == (typed.name, "us", "America/Chicago")
    assert form.files == ("a.gpx", "b.gpx", "turns.csv")
    assert dict(form.machine) == dict(typed.machine)
    assert (form.origin, form.soil, form.bed_length) == (typed.origin, typed.soil, "230 ft")
    assert form.crops == typed.crops
    assert form.left_out == ()
    assert counts.row_units == typed.row_units
    numbers = {"9": 1}  # a strip is numbered among the strips
    assert [p.number for p in counts.passes] == [1, numbers["9"], 3]
    assert [p.turns for p in counts.passes] == [p.turns for p in typed.passes]
    assert counts.passes[1].strip == STRIP
    again = files_of(
        TypedRun(
            name=form.name,
            units=form.units,
            time_zone=form.time_zone,
            track_names=form.files[:2],
            row_units=counts.row_units,
            passes=counts.passes,
            machine=form.machine,
            bed_length=form.bed_length,
            crops=form.crops,
            origin=form.origin,
            soil=form.soil,
        )
    )
    assert again.turns.data == files.turns.data
    assert again.run.data == files.run.data


def test_a_run_file_by_hand_is_taken_too_and_what_cannot_be_typed_is_named():
    text = (SAMPLE / "run.toml").read_text().replace("gear_turns_per_wheel_turn = 2.4\n", "")
    text = text.replace('turns_of = "gear"', "teeth = [[24, 12], [18, 15]]")
    text = 'receiver = "phone"\n' + text + '\n[beds]\nlength = "70 m"\nalike_within = "20 cm"\n'
    form = form_of_run(Source("run.toml", text.encode()))
    machine = dict(form.machine)
    assert machine["gear_turns_per_wheel_turn"] == "2.4"  # 24/12 · 18/15
    assert machine["settings"] == "hole 9, hole 10, hole 11, hole 12, hole 13"
    assert [c.crop for c in form.crops] == ["beet", "spinach"]
    assert form.left_out == ("receiver", "alike_within")


@pytest.mark.parametrize(
    "text",
    [
        "pass,turns\n1,93\n",
        "time,unit,turns\n2026-05-12T07:01:00Z,A,0\n2026-05-12T07:02:00Z,A,82\n",
        f"track_pass,start,end,turns\n1,{STRIP[0]},{STRIP[1]},93\n",
        "track_pass,unit,crop,turns\n1,A,beet,93\n1,B,leek,93\n",
        "track_pass,turns\nfour,93\n",
        f"track_pass,start,end,turns\nstrip 1,{STRIP[0]},,93\n",
    ],
    ids=["by the day", "counter", "timed", "two crops", "no number", "half a strip"],
)
def test_a_sheet_that_is_not_typed_beside_the_passes_stays_a_sheet(text):
    assert counts_of(Source("turns.csv", text.encode())) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the file is empty"),
        ("x = [", "is no TOML"),
        ('track = "a.gpx"\nturns = "b.csv"\n[seeder]\nwheel = 3\n', "unknown field 'wheel'"),
        ('track = "a.gpx"\nturns = "b.csv"\n[seeder]\ntyre = {a = 1}\n', "no text, number or list"),
        ('track = "a.gpx"\n', "turns is missing"),
    ],
)
def test_a_run_file_that_cannot_be_used_says_why(text, said):
    with pytest.raises(InputError, match=said):
        form_of_run(Source("run.toml", text.encode()))


def test_errors_are_those_of_the_readers():
    with pytest.raises(RunFileError):
        form_of_run(Source("run.toml", b"track = 3"))
    with pytest.raises(TurnSheetError, match="no header"):
        counts_of(Source("turns.csv", b"1,2\n3,4\n"))
