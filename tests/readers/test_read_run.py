"""Run files: every field, and every way in which one can be wrong."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import gpx, points, stamp

from groundtruth.core.errors import GroundtruthError, InputError, RunFileError
from groundtruth.core.origin import Origin, Soil
from groundtruth.core.seeder import Seeder
from groundtruth.io import read_run

RUN = """track = "track.gpx"
turns = "turns.csv"
time_zone = "Europe/Oslo"
units = "us"

[seeder]
turns_of = "wheel"
wheel_circumference = "1.87 m ± 4 mm"
teeth = [[22, 11], [20, 16]]
ground_per_gear_turn_in_use = "74 cm"
row_units = 5
row_spacing = "10 in"

[[sowing]]
crop = "chard"
spacing = "6 cm"
germination = 0.81
field_emergence = 0.9

[[sowing]]
crop = "turnip"
spacing = "2 1/2 in"
"""
TURNS = "pass,start,end,unit,turns\n1,09:00:01,09:00:05,A,4\n"


@pytest.fixture
def run(write):
    """Write a run's three files and read it."""

    def read(text: str = RUN, name: str = "run.toml"):
        write("beets/track.gpx", gpx(points(8)))
        write("beets/turns.csv", TURNS)
        return read_run(write(f"beets/{name}", text))

    return read


def test_every_field(run):
    read = run()
    seeder = read.seeder
    assert (read.name, read.units, read.time_zone) == ("beets", "us", "Europe/Oslo")
    assert seeder.turns_of == "wheel"
    assert seeder.wheel_circumference.value == 1.87
    assert seeder.wheel_circumference.std == pytest.approx(0.004 / math.sqrt(3))
    assert seeder.gear_turns_per_wheel_turn == pytest.approx(2.5)
    assert seeder.ground_per_gear_turn_in_use_m == 0.74
    assert (seeder.row_units, seeder.row_spacing_m) == (5, pytest.approx(0.254))
    first, second = read.crops
    assert (first.name, first.spacing_m, first.germination.value) == ("chard", 0.06, 0.81)
    assert first.field_emergence.value == 0.9
    assert (second.spacing_m, second.germination.value) == (pytest.approx(0.0635), 1.0)
    assert len(read.track) == 8
    # a time of day is taken on the local day of the track
    assert read.turns.counts[0].start_s == read.track.time_s[1]
    assert [file.name for file in read.inputs] == ["run.toml", "track.gpx", "turns.csv"]
    assert read.notices == (*read.track.notices, *read.turns.notices)


def test_the_least_that_is_needed(run):
    text = 'track = "track.gpx"\nturns = "turns.csv"\n'
    with pytest.raises(InputError, match="time zone"):
        run(text)
    read = run(text + 'time_zone = "Europe/Oslo"\n', name="morning.toml")
    assert (read.name, read.units, read.crops) == ("morning", "metric", ())
    assert read.seeder.wheel_circumference is None
    assert (read.origin, read.soil, read.seeder) == (Origin(), Soil(), Seeder())


def test_farm_field_machine_and_soil(run):
    top = 'farm = "Bramblehythe"\nfarm_id = "b-17"\nfield = "long meadow"\nphone = "an old one"\n'
    seeder = (
        '[seeder]\nname = "the blue one"\nid = "seeder-2"\ntyre = "4.00-8 ribbed"\n'
        'tyre_pressure = "18 psi"\nballast = "90 lb"\n'
    )
    soil = '[soil]\nmoisture = "moist"\ntexture = "silty clay loam"\n\n'
    text = RUN.replace("[seeder]\n", top + seeder).replace("[[sowing]]", soil + "[[sowing]]", 1)
    read = run(text)
    machine = read.seeder
    assert (machine.name, machine.id, machine.tyre) == ("the blue one", "seeder-2", "4.00-8 ribbed")
    assert machine.known_as == "seeder-2"
    # NIST SP 811 (2008), appendix B.8, from memory: 6.894 757 E+03 and 4.535 924 E-01
    assert machine.tyre_pressure_pa == pytest.approx(18 * 6894.757, rel=1e-6)
    assert machine.ballast_kg == pytest.approx(90 * 0.4535924, rel=1e-6)
    assert read.origin == Origin(
        farm="Bramblehythe", farm_id="b-17", field="long meadow", phone="an old one"
    )
    assert read.soil == Soil(moisture="moist", texture="silty clay loam")
    assert run(text.replace('id = "seeder-2"\n', "")).seeder.known_as == "the blue one"


@pytest.mark.parametrize(
    ("field", "says"),
    [
        ('tyre_pressure = "18"', "has no unit; write for example 1.2 bar or 18 psi"),
        ('tyre_pressure = "12 km"', "has the unit 'km', not known"),
        ('tyre_pressure = "0 bar"', "must be above 0"),
        ('tyre_pressure = "180 bar"', "tyre_pressure is 180 bar; a tyre holds 0.01 bar to 20 bar"),
        ('ballast = "-1 kg"', "a seeder carries 0 kg to 10000 kg of ballast"),
        ('ballast = "12 t"', "has the unit 't', not known"),
        ("name = 3", "name: 3 must be text in quotes"),
        ('[soil]\nmoisture = "moits"', "did you mean moist?"),
        ('[soil]\ntexture = "Lehm"', "'Lehm' is not known; write \"sand\" or"),
        ('[soil]\ntyre = "old"', "[soil] unknown field 'tyre'; it belongs into [seeder]"),
    ],
)
def test_no_description_of_machine_or_soil(run, field, says):
    text = RUN[: RUN.index("[seeder]")]
    with pytest.raises(InputError) as caught:
        run(f"{text}[seeder]\n{field}\n")
    assert says in str(caught.value)
    assert str(caught.value).startswith(f"run.toml, line {7 + field.count(chr(10))}: ")


def test_a_strange_pressure_is_asked_about(run):
    text = RUN.replace("[seeder]", '[seeder]\ntyre_pressure = "18 bar"')
    (doubt,) = [n for n in run(text).notices if n.where == "run.toml"]
    assert str(doubt) == (
        "run.toml: tyre_pressure is 18 bar; usual are 0.2 bar to 6 bar; is it right?"
    )


def test_several_tracks_and_a_name(write):
    write("a.gpx", gpx(points(3)))
    write("b.gpx", gpx(points(3, 10)))
    write("t.csv", f"time,turns\n{stamp(1)},1\n{stamp(9)},9\n")
    path = write("run.toml", 'track = ["b.gpx", "a.gpx"]\nturns = "t.csv"\nname = "Low field"\n')
    read = read_run(path)
    assert read.name == "Low field"
    assert len(read.track) == 6


CHANGES = {
    "unknown field": (
        ("wheel_circ", "whel_circ"),
        "run.toml, line 8: [seeder] unknown field 'whel_circumference'; "
        "did you mean wheel_circumference?",
    ),
    "unknown at the top": (
        ("units =", "unit ="),
        "run.toml, line 4: unknown field 'unit'; did you mean units?",
    ),
    "far from all": (
        ("units =", "colour ="),
        "run.toml, line 4: unknown field 'colour'; known here: name, farm, farm_id, field, phone, "
        "track, turns, time_zone, units, receiver, date_order, seeder, soil, beds, sowing",
    ),
    "in the wrong place": (
        ("units =", "row_units = 3\nunits ="),
        "run.toml, line 4: unknown field 'row_units'; it belongs into [seeder]",
    ),
    "in a table, not at the top": (
        ("row_units = 5", 'units = "us"'),
        "run.toml, line 11: [seeder] unknown field 'units'; it belongs to the top of the file, "
        "above the first [table]",
    ),
    "in the second crop": (
        ('spacing = "2 1/2 in"', 'spacing = "2 1/2 in"\ngermintion = 0.5'),
        "run.toml, line 23: [sowing] unknown field 'germintion'; did you mean germination?",
    ),
    "no unit": (
        ('"1.87 m ± 4 mm"', "1.87"),
        "run.toml, line 8: [seeder] wheel_circumference: 1.87 has no unit; write it in quotes "
        "with one, for example 61 cm or 25 1/2 in",
    ),
    "no unit in quotes": (
        ('"74 cm"', '"74"'),
        "run.toml, line 10: [seeder] ground_per_gear_turn_in_use: '74' has no unit; write for "
        "example 61 cm or 25 1/2 in (accepted: mm, cm, m, km, in, ft, yd, mi)",
    ),
    "unknown unit": (
        ('"10 in"', '"10 ich"'),
        "run.toml, line 12: [seeder] row_spacing: '10 ich' has the unit 'ich', not known; did you "
        "mean inch? Accepted: mm, cm, m, km, in, ft, yd, mi",
    ),
    "negative circumference": (
        ('"1.87 m ± 4 mm"', '"-1.87 m"'),
        "run.toml, line 8: [seeder] wheel_circumference: '-1.87 m' must be above 0",
    ),
    "zero spacing": (
        ('"6 cm"', '"0 cm"'),
        "run.toml, line 16: [sowing] spacing: '0 cm' must be above 0",
    ),
    "percent": (
        ("0.81", "81"),
        "run.toml, line 17: [sowing] crop chard: germination is 81; a share above 0 and up to 1; "
        "write 0.81 for 81 %",
    ),
    "share in quotes": (
        ("0.81", '"0.81"'),
        "run.toml, line 17: [sowing] germination: '0.81' must be a plain number without quotes",
    ),
    "no crop": (
        ('crop = "chard"\n', ""),
        'run.toml, line 15: [sowing] crop is missing; write crop = "beet"',
    ),
    "no spacing": (
        ('spacing = "6 cm"\n', ""),
        "run.toml, line 15: [sowing] spacing is missing for chard; write for example "
        'spacing = "4 cm"',
    ),
    "zone": (
        ("Europe/Oslo", "Europe/Olso"),
        "run.toml, line 3: time_zone 'Europe/Olso' is not known; did you mean Europe/Oslo?",
    ),
    "units": (
        ('units = "us"', 'units = "imperial"'),
        'run.toml, line 4: units: \'imperial\' is not known; write "metric" or "us"',
    ),
    "turns_of": (
        ('"wheel"', '"gears"'),
        "run.toml, line 7: [seeder] turns_of: 'gears' is not known; did you mean gear? write "
        '"gear" or "wheel"',
    ),
    "no track": (
        ('track = "track.gpx"\n', ""),
        'run.toml: track is missing; write for example track = "track.gpx"',
    ),
    "no turns": (
        ('turns = "turns.csv"\n', ""),
        'run.toml: turns is missing; write for example turns = "turns.csv"',
    ),
    "track of the wrong type": (
        ('"track.gpx"', "[1, 2]"),
        "run.toml, line 1: track: must be a file name in quotes, or a list of them: "
        '["a.gpx", "b.gpx"]',
    ),
    "missing track file": (
        ('"track.gpx"', '"trak.gpx"'),
        "trak.gpx: no such track file in the folder beets",
    ),
    "missing sheet": (
        ('"turns.csv"', '"turn.csv"'),
        "turn.csv: no such turn sheet in the folder beets",
    ),
    "teeth and ratio": (
        ("teeth =", "gear_turns_per_wheel_turn = 2.5\nteeth ="),
        "run.toml, line 10: [seeder] gives both teeth and gear_turns_per_wheel_turn; keep one",
    ),
    "no teeth": (
        ("[[22, 11], [20, 16]]", "[[22, 0]]"),
        "run.toml, line 9: [seeder] teeth: [22, 0]: teeth must be above 0",
    ),
    "half a pair": (
        ("[[22, 11], [20, 16]]", "[[22], [20, 16]]"),
        "run.toml, line 9: [seeder] teeth: must be pairs of [driving, driven] teeth, as in "
        "[[24, 12], [18, 12]]",
    ),
    "ratio below 0": (
        ("teeth = [[22, 11], [20, 16]]", "gear_turns_per_wheel_turn = -2.5"),
        "run.toml, line 9: [seeder] gear_turns_per_wheel_turn is -2.5; it must be above 0",
    ),
    "half a row unit": (
        ("row_units = 5", "row_units = 4.5"),
        "run.toml, line 11: [seeder] row_units: 4.5 must be a whole number of row units",
    ),
    "single brackets": (
        ("[[sowing]]", "[sowing]"),
        None,
    ),
    "no quotes": (
        ('"74 cm"', "74 cm"),
        "run.toml, line 10: is no TOML: Expected newline or end of document after a statement; "
        'text and quantities stand in quotes, as in "1.92 m"',
    ),
    "half a string": (
        ('"10 in"', '"10 in'),
        "run.toml, line 12: is no TOML: Illegal character '\\n'",
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_refused_in_one_line(run, change):
    (before, after), says = change
    assert before in RUN
    with pytest.raises(InputError) as caught:
        run(RUN.replace(before, after))
    if says is None:
        says = str(caught.value)
        assert says.startswith("run.toml")
    assert str(caught.value) == says
    assert "\n" not in says


@pytest.mark.parametrize(
    ("old", "new", "line", "column", "cell"),
    [
        ('"1.87 m ± 4 mm"', '"1.87"', 8, "wheel_circumference", "1.87"),
        ("row_units = 5", "row_units = 0", 11, "row_units", "0"),
        ('"10 in"', '"10 inn"', 12, "row_spacing", "10 inn"),
        ("0.81", "81", 17, "germination", "81"),
        ('crop = "turnip"\n', "", 21, "crop", ""),
        ("row_units", "row_unit", 11, "row_unit", "5"),
        ('"us"', '"imperial"', 4, "units", "imperial"),
        ('"74 cm"', "74", 10, "ground_per_gear_turn_in_use", "74"),
        ("[[22, 11], [20, 16]]", "[[22, 0]]", 9, "teeth", "[22, 0]"),
    ],
)
def test_a_refusal_tells_its_field(run, old, new, line, column, cell):
    with pytest.raises(InputError) as caught:
        run(RUN.replace(old, new))
    error = caught.value
    assert (error.file, error.line, error.column, error.cell) == ("run.toml", line, column, cell)
    assert str(error) == f"run.toml, line {line}: {error.reason}"


def test_single_brackets_for_a_crop(run):
    text = RUN[: RUN.rindex("[[sowing]]")].replace("[[sowing]]", "[sowing]")
    with pytest.raises(RunFileError, match=r"write \[\[sowing\]\] in double brackets"):
        run(text)


@pytest.mark.parametrize(
    "text",
    [
        "seeder = 3",
        "sowing = 3",
        "sowing = [1]",
        "[[seeder]]",
        "track = 3",
        "name = 3",
        "units = 1",
    ],
)
def test_fields_of_the_wrong_type(run, text):
    with pytest.raises(RunFileError, match=r"^run.toml"):
        run(text + "\n")


def test_a_run_file_that_is_a_folder(tmp_path):
    with pytest.raises(RunFileError, match="is a folder; name a run file"):
        read_run(tmp_path)


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=200),
        st.lists(st.sampled_from(RUN.splitlines()), max_size=25).map(
            lambda lines: "\n".join(lines).encode()
        ),
        st.tuples(st.integers(0, len(RUN)), st.binary(max_size=6)).map(
            lambda cut: RUN.encode()[: cut[0]] + cut[1] + RUN.encode()[cut[0] :]
        ),
    )
)
def test_any_text_is_read_or_refused(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("any")
    (folder / "track.gpx").write_text(gpx(points(8)), encoding="utf-8")
    (folder / "turns.csv").write_text(TURNS, encoding="utf-8")
    (folder / "run.toml").write_bytes(data)
    try:
        read_run(folder / "run.toml")
    except GroundtruthError as refusal:
        assert "\n" not in str(refusal)  # noqa: PT017 - nothing need be raised
