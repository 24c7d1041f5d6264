"""Whatever stands in any field of a run file, cell of a sheet or key of a result: used or refused.

Fields, columns and keys come from the readers' own tables and from a result as it is written, so
that a new one is tried too.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import hostile
import pytest
from factories import make_result

from groundtruth.core.crops import Crop
from groundtruth.core.errors import GroundtruthError
from groundtruth.core.measured import Measured
from groundtruth.io import read_run, read_track
from groundtruth.io import run_file as run_files
from groundtruth.io.files import Source
from groundtruth.io.result_json import result_from_json, result_to_json
from groundtruth.io.run_table import BEDS, SEEDER, SOIL, SOWING, TOP
from groundtruth.io.sheets import bed_lengths, bench, crops, spacings, stands, turns
from groundtruth.seeding import choose, emergence, figure_of, setting_curve, spacing_indices
from groundtruth.seeding.seed_need import seed_needed
from groundtruth.views.json.documents import bench_document

SAMPLE = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"


def refusal_of(use, *given):
    """What our own errors say, "" where all was used; anything else is a defect."""
    try:
        use(*given)
    except GroundtruthError as error:
        return str(error)
    return ""


def check_words(says, value, file):
    if says:
        assert says.startswith(f"{file}"), (value, says)
        assert "\n" not in says
        assert len(says) < 900, value


# Run files ---------------------------------------------------------------------------------------

RUN_FIELDS = [
    *(("", name) for name in TOP if name not in ("seeder", "soil", "beds", "sowing")),
    *(("seeder", name) for name in SEEDER),
    *(("soil", name) for name in SOIL),
    *(("beds", name) for name in BEDS),
    *(("sowing", name) for name in SOWING),
]
USUAL_RUN = {
    ("", "track"): '"track.gpx"', ("", "turns"): '"turns.csv"',
    ("", "time_zone"): '"America/Chicago"', ("sowing", "crop"): '"beet"',
    ("sowing", "spacing"): '"5 cm"',
}  # fmt: skip
BESIDE = {"teeth": "gear_turns_per_wheel_turn"}


def run_text(title, field, value):
    fields = {**USUAL_RUN, (title, field): value}
    text = ""
    for table in ("", "seeder", "soil", "beds", "sowing"):
        text += {"": "", "sowing": "[[sowing]]\n"}.get(table, f"[{table}]\n")
        text += "".join(f"{n} = {v}\n" for (t, n), v in fields.items() if t == table)
    return text


@pytest.fixture(scope="module")
def sample():
    return {name: Source(name, (SAMPLE / name).read_bytes()) for name in ("track.gpx", "turns.csv")}


@pytest.mark.parametrize(("title", "field"), RUN_FIELDS)
def test_any_value_of_any_field_of_a_run_file(sample, monkeypatch, title, field):
    track = read_track(sample["track.gpx"])
    monkeypatch.setattr(run_files, "read_track", lambda *_, **__: track)
    for value in (*hostile.TOML, *(json.dumps(text) for text in hostile.ALL)):
        data = run_text(title, field, value).encode("utf-8", "surrogatepass")

        def use(data=data):
            run = read_run(Source("run.toml", data), files=sample.values())
            assert not any(map(hostile.raw_in, (run.name, run.seeder.name, run.seeder.tyre)))
            assert not any(map(hostile.raw_in, asdict(run.origin).values()))
            assert not any(map(hostile.raw_in, run.seeder.settings))
            for crop in run.crops:
                crop.target(Measured(0.6, 0.01), (0.58, 0.62))
                assert not hostile.raw_in(crop.name)
            travel = run.seeder.zero_slip_travel
            assert travel is None or 1e-5 < travel.value < 1e5

        check_words(refusal_of(use), value, "")


# Sheets ------------------------------------------------------------------------------------------

SHEETS = {
    "turns.csv": (turns.read_turns, turns.COLUMNS, {
        "pass": "1", "start": "2027-04-27 08:08:46Z", "end": "2027-04-27 08:09:55Z", "turns": "93"
    }, ("time",)),
    "counter.csv": (turns.read_turns, ("time", "date", "unit", "turns"), {
        "time": "2027-04-27 08:08:46Z", "turns": "93"
    }, ()),
    "bench.csv": (bench.read_bench, bench.COLUMNS, {
        "setting": "9", "turns": "6", "weight": "3", "seeds_per_gram": "60 ± 3"
    }, ()),
    "crops.csv": (crops.read_crops, crops.COLUMNS, {"crop": "beet", "seeds_per_gram": "60",
        "row_spacing": "30 cm"}, ()),
    "stands.csv": (stands.read_stands, stands.COLUMNS, {
        "crop": "beet", "length": "2 m", "plants": "50", "seeds_per_metre": "30"
    }, ()),
    "beds.csv": (bed_lengths.read_bed_lengths, bed_lengths.COLUMNS, {"length": "40 m"}, ()),
    "spacings.csv": (spacings.read_spacings, spacings.COLUMNS, {"spacing": "4 cm"}, ()),
}  # fmt: skip
CELLS = [
    (file, column)
    for file, (_, columns, _, left_out) in SHEETS.items()
    for column in columns
    if column not in left_out
]


def use_of(file, found):
    """Reckon with what a sheet holds, as the commands do."""
    if file == "bench.csv":
        curve = setting_curve(found.counts)
        choose(Crop(name="x", plants_per_m=20), Measured(0.6, 0.01), curve)
        json.dumps(bench_document([("", "", curve)], ()), allow_nan=False)
    elif file == "crops.csv":
        for crop in found.crops:
            target = crop.target(Measured(0.6, 0.01), (0.58, 0.62))
            assert target.seeds_per_turn.value < 1e9
    elif file == "stands.csv":
        emergence(found.counts, seeds_per_m=Measured(30.0, 1.0))
    elif file == "beds.csv":
        seed_needed(found, Measured(30.0, 1.0), seeds_per_kg=Measured(6e4, 1e3))
    elif file == "spacings.csv":
        spacing_indices(found, 0.05)


@pytest.mark.parametrize(("file", "column"), CELLS)
def test_any_value_of_any_cell_of_a_sheet(file, column):
    read, _, usual, _ = SHEETS[file]
    if file == "crops.csv" and column not in (
        "plants_per_bed_metre",
        "plants_per_bed_foot",
        "rate",
    ):
        usual = {**usual, "spacing": "5 cm"}
    for value in hostile.ALL:
        cells = {**usual, column: value.replace('"', "'")}
        line = ";".join(f'"{cell}"' for cell in cells.values())
        second = line.replace('"93"', '"97"').replace("08:08:46", "08:09:46").replace('"1"', '"2"')
        text = ";".join(cells) + f"\n{line}\n" + (second if file == "counter.csv" else "")
        data = text.encode("utf-8", "surrogatepass")
        says = refusal_of(lambda d=data: use_of(file, read(Source(file, d))))
        check_words(says, value, "")


# Results -----------------------------------------------------------------------------------------

RESULT = json.loads(result_to_json(make_result(passes=2)))


def paths(node, path=()):
    """The way to every key of a document; of a list its first entry stands for all."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield (*path, key)
            yield from paths(value, (*path, key))
    elif isinstance(node, list) and node:
        yield (*path, 0)
        yield from paths(node[0], (*path, 0))


def with_value(path, value):
    """The result's text with something else at a place."""
    document = json.loads(json.dumps(RESULT))
    at = document
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = "here"
    return json.dumps(document).replace('"here"', value)


def texts_in(node):
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        for value in node.values():
            yield from texts_in(value)
    elif isinstance(node, list):
        for value in node:
            yield from texts_in(value)


@pytest.mark.parametrize("path", list(paths(RESULT)), ids=str)
def test_any_value_of_any_key_of_a_result(path):
    for value in hostile.JSON:

        def use(value=value):
            result = result_from_json(with_value(path, value))
            figure = figure_of(result)
            for crop in figure.crops:
                assert figure.target(crop).seeds_per_turn.value < 1e9
            written = json.loads(result_to_json(result), parse_constant=pytest.fail)
            assert not any(map(hostile.raw_in, texts_in(written)))

        check_words(refusal_of(use), value, "")
