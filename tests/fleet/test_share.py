"""The row that may leave a farm: what it holds, what it never holds, and how a fleet takes it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from math import log
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from made import filled, made_fleet, write

from groundtruth import measure, read_run
from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.core.origin import Origin, Soil
from groundtruth.fleet.columns import RUN_COLUMNS
from groundtruth.fleet.data_set import open_fleet
from groundtruth.fleet.shared_files import read_row, row_to_json
from groundtruth.fleet.shared_row import Cell, shared_row
from groundtruth.fleet.slip import slip_answer
from groundtruth.io.result_json import result_to_json

SAMPLE = Path(__file__).parents[2] / "sample_tracks" / "wet-soil" / "run.toml"


@pytest.fixture(scope="module")
def result():
    found = measure(read_run(SAMPLE))
    return replace(
        found,
        origin=Origin(farm="Secretholm", farm_id="sh-1", field="Behind Barn", phone="Old One"),
        soil=Soil(moisture="wet", texture="loam"),
        seeder=replace(found.seeder, name="Bertha", id="b-7", tyre="smooth"),
    )


@pytest.fixture(scope="module")
def file(result, tmp_path_factory):
    place = tmp_path_factory.mktemp("share") / "result.json"
    place.write_text(result_to_json(result), encoding="utf-8")
    return place


def test_the_row_holds_these_keys_and_no_name_line_or_instant(result, file, tmp_path, capsys):
    out = tmp_path / "row.json"
    assert main(["share", str(file), "--out", str(out), "--model", "four rows"]) == 0
    text, said = out.read_text(encoding="utf-8"), capsys.readouterr().out
    row = json.loads(text)
    assert set(row) == {
        "tool", "kind", "schema_version", "cell", "week", "model", "tyre", "moisture", "texture",
        "log_ratio_in_use", "log_ratio_rolled", "u", "passes", "version",
    }  # fmt: skip
    for name in ("Secretholm", "sh-1", "Barn", "Old One", "Bertha", "b-7", result.run_name):
        assert name not in text
        assert name not in said
    assert not re.search(r"\d{4}-\d\d-\d\d|\d\d:\d\d", text)
    assert row["log_ratio_in_use"] == pytest.approx(log(1 + result.change.value), abs=1e-4)
    assert row["log_ratio_rolled"] == pytest.approx(-log(1 - result.slip.value), abs=1e-4)
    assert row["week"] == "2027-W17"  # 2 May 2027 is a Sunday, and 4 January that week's Monday
    for value in ("four rows", "smooth", "wet loam", row["week"], f"{row['u']:.4f}"):
        assert value in said


def test_everything_is_shown_before_anything_is_written(file, tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr("groundtruth.cli.commands.share.show", lambda _: shown.append(out.exists()))
    out = tmp_path / "row.json"
    assert main(["share", str(file), "--out", str(out)]) == 0
    assert shown == [False]


def test_the_cell_is_half_a_degree_or_holds_five_farms_of_the_fleet(result, tmp_path):
    lon, lat = result.lines[0].axis[0]
    assert shared_row(result).cell.size_deg == 0.5

    def fleet_of(*places):
        rows = [
            filled(
                RUN_COLUMNS, run_key=str(i), status="measured", farm=f"Farm {i}", seeder="A",
                date=date(2027, 4, 1), ground_per_turn_m=0.6, ground_per_turn_std_m=0.01,
                latitude_deg=lat + north, longitude_deg=lon, passes=1,
            )
            for i, north in enumerate(places)
        ]  # fmt: skip
        return write(tmp_path / str(len(list(tmp_path.iterdir()))), rows, [])

    for places, size in (((0,) * 5, 0.5), ((0,) * 4 + (1.0,), 5.0), ((0,) * 4, None)):
        with open_fleet(fleet_of(*places)) as fleet:
            cell = shared_row(result, fleet=fleet).cell
        assert (cell and cell.size_deg) == size, places
        if cell:
            assert cell.south_deg <= lat < cell.south_deg + cell.size_deg


def test_a_fleet_takes_each_row_once_and_counts_it_for_slip(file, tmp_path, capsys):
    out = tmp_path / "row.json"
    fleet = made_fleet(tmp_path / "fleet")
    assert main(["share", str(file), "--out", str(out)]) == 0
    for _ in range(2):
        assert main(["fleet", "add", str(fleet), str(out), str(out)]) == 0
    said = capsys.readouterr().out
    assert "1 of 2 rows are new" in said
    assert "0 of 2 rows are new" in said
    assert len(pq.read_table(fleet / "shared").to_pylist()) == 1
    with open_fleet(fleet) as opened:
        assert slip_answer(opened).runs == 301


def test_a_run_with_nothing_to_share_is_refused(result, tmp_path, capsys):
    bare = replace(result, change=None, slip=None, slip_95=None)
    with pytest.raises(InputError, match="nothing to share"):
        shared_row(bare)
    out = tmp_path / "row.json"
    assert main(["share", str(SAMPLE), "--out", str(out)]) == 2
    assert "not a result" in capsys.readouterr().err
    assert not out.exists()


def test_the_file_comes_back_as_it_was(result, tmp_path):
    row = shared_row(result, model="four rows")
    for one in (row, replace(row, cell=None, log_ratio_rolled=None)):
        place = tmp_path / "row.json"
        place.write_text(row_to_json(one), encoding="utf-8")
        assert read_row(place) == one


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"kind": "x"}, "this is no shared row"),
        ({"schema_version": 2}, "another version"),
        ({"u": 0}, "u is 0"),
        ({"u": True}, "should be a number"),
        ({"passes": 0}, "passes is 0"),
        ({"log_ratio_in_use": 5}, "beyond 1"),
        ({"log_ratio_in_use": None, "log_ratio_rolled": None}, "nothing to share"),
        ({"week": "2027-W60"}, "it must be as 2027-W19"),
        ({"week": "2027-05-02"}, "it must be as 2027-W19"),
        ({"moisture": "damp"}, "moisture is"),
        ({"cell": {"south_deg": 43.51, "west_deg": 0.0, "size_deg": 0.5}}, "no cell begins there"),
        ({"cell": {"south_deg": 43.5, "west_deg": 0.0, "size_deg": 0.01}}, "size_deg is 0.01"),
    ],
)
def test_a_bad_row_is_refused_and_none_is_taken(changed, why, result, tmp_path, capsys):
    good, bad, fleet = tmp_path / "good.json", tmp_path / "bad.json", tmp_path / "fleet"
    fleet.mkdir()
    text = row_to_json(shared_row(result))
    good.write_text(text, encoding="utf-8")
    bad.write_text(json.dumps(json.loads(text) | changed), encoding="utf-8")
    assert main(["fleet", "add", str(fleet), str(good), str(bad)]) == 2
    said = capsys.readouterr().err
    assert why in said
    assert "bad.json" in said
    assert list(fleet.iterdir()) == []


def test_cells_begin_on_their_grid():
    with pytest.raises(InputError, match="no cell begins there"):
        Cell(south_deg=90.0, west_deg=0.0, size_deg=0.5)
