"""Rows of a fleet's data set, from the result of the program's own sample runs."""

import json
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median_low

import pyarrow as pa
import pytest

from groundtruth import measure, read_run
from groundtruth.fleet.columns import (
    PASS_COLUMNS,
    RUN_COLUMNS,
    failed_row,
    key_of,
    pass_rows,
    pass_schema,
    run_row,
    run_schema,
)
from groundtruth.io.result_json import result_to_json

SAMPLES = Path(__file__).parents[2] / "sample_tracks"


@pytest.fixture(scope="module")
def document():
    return json.loads(result_to_json(measure(read_run(SAMPLES / "wet-soil" / "run.toml"))))


def test_a_run_fills_every_column_and_fits_the_schema(document):
    row = run_row(document, source="wet-soil/run.toml")
    assert list(row) == [name for name, _ in RUN_COLUMNS] == run_schema().names
    table = pa.Table.from_pylist([row], schema=run_schema())
    assert table.to_pylist() == [row]
    assert row["ground_per_turn_m"] == document["ground_per_turn_m"]
    assert row["date"] == date.fromisoformat(document["date"])
    assert row["passes"] == len({p["number"] for p in document["passes"]})
    lines = document["lines"]
    assert min(x for one in lines for x in one["latitude_deg"]) < row["latitude_deg"]
    assert max(x for one in lines for x in one["longitude_deg"]) > row["longitude_deg"]


def test_slip_is_that_of_the_ground_over_the_zero_slip_travel(document):
    row = run_row(document)
    assert row["slip"] == pytest.approx(1 - row["zero_slip_travel_m"] / row["ground_per_turn_m"])


def test_passes_fill_every_column_with_their_median_unit(document):
    rows = pass_rows(document)
    assert list(rows[0]) == [name for name, _ in PASS_COLUMNS] == pass_schema().names
    assert pa.Table.from_pylist(rows, schema=pass_schema()).to_pylist() == rows
    first = [p for p in document["passes"] if p["number"] == rows[0]["number"]]
    assert rows[0]["ground_per_turn_m"] == median_low(p["ground_per_turn_m"] for p in first)
    assert rows[0]["start_at"] == datetime.fromisoformat(first[0]["start"]).astimezone(UTC)


def test_the_key_follows_inputs_and_version(document):
    other = document | {"tool_version": "9.9"}
    changed = document | {"inputs": [*document["inputs"], {"name": "x", "sha256": "0" * 64}]}
    turned = document | {"inputs": document["inputs"][::-1]}
    assert key_of(document) == key_of(turned) == run_row(document)["run_key"]
    assert len({key_of(document), key_of(other), key_of(changed)}) == 3
    assert pass_rows(document, run_key="a")[0]["run_key"] == "a"


def test_a_failure_is_a_row_too():
    row = failed_row(run_key="a", source="b", status="refused", message="no pass", version="1")
    assert list(row) == run_schema().names
    assert pa.Table.from_pylist([row], schema=run_schema()).to_pylist() == [row]


def test_passes_on_both_sides_of_the_date_line_have_their_middle_there(document):
    lines = [{"number": 1, "axis": [[179.9998, 1.0], [-179.9996, 1.002]], "speed_m_s": 1.0}]
    row = run_row(document | {"lines": lines})
    assert row["longitude_deg"] == pytest.approx(-179.9999)
    assert row["latitude_deg"] == pytest.approx(1.001)
