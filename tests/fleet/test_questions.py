"""The questions to a fleet, on an invented one whose truth is known (see made.py)."""

from __future__ import annotations

import json
import shutil
from datetime import date

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pyogrio
import pytest
from made import FASTER, OFF, ROLLED_M, SLOW_TYRE, WET, filled, made_fleet, write

from groundtruth.cli.main import main
from groundtruth.fleet.columns import RUN_COLUMNS
from groundtruth.fleet.data_set import open_fleet
from groundtruth.fleet.phones import phone_standings
from groundtruth.fleet.seeders import seeder_history, seeders_off
from groundtruth.fleet.slip import PRESSURE_STEP_PA, SPEED_STEP_M_S, slip_answer
from groundtruth.fleet.versions import version_change


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return made_fleet(tmp_path_factory.mktemp("fleet"))


@pytest.fixture(scope="module")
def fleet(folder):
    with open_fleet(folder) as fleet:
        yield fleet


def test_the_seeders_that_are_off_are_named_and_no_other(fleet):
    found = seeders_off(fleet, tolerance=0.04)
    assert len(found.seeders) == 60
    named = [one for one in found.seeders if one.is_off]
    assert {(one.farm, one.seeder) for one in named} == {(f"Farm {f}", "A") for f in OFF}
    for one in named:
        assert one.off.value == pytest.approx(np.expm1(OFF[int(one.farm[5:])]), abs=0.03)
    assert [abs(one.off.value) for one in named] == sorted(
        (abs(one.off.value) for one in named), reverse=True
    )
    assert (found.unnamed, found.without_figure) == (0, 0)


def test_of_many_seeders_within_the_tolerance_few_are_named(tmp_path):
    """All within 3 % of their figure, many of them near the edge: what multiplicity is about."""
    edge = dict.fromkeys(range(200), 0.02)
    with open_fleet(made_fleet(tmp_path, farms=200, days=2, seed=8, off=edge)) as fleet:
        found = seeders_off(fleet, tolerance=0.05)
    assert sum(one.is_off for one in found.seeders) <= 2


def test_a_seeder_is_judged_by_the_figure_and_tyre_of_today(tmp_path):
    def run(day, ground, in_use, tyre):
        return filled(
            RUN_COLUMNS, run_key=str(day), status="measured", date=date(2027, 4, day),
            farm="Home", seeder="A", tyre=tyre, ground_per_turn_m=ground,
            ground_per_turn_std_m=0.002, in_use_m=in_use, change=ground / in_use - 1,
            change_std=0.003, passes=2,
        )  # fmt: skip

    rows = [run(1, 0.70, 0.60, "old"), run(2, 0.66, 0.60, "new"), run(3, 0.66, 0.66, "new")]
    with open_fleet(write(tmp_path, rows, [])) as fleet:
        (one,) = seeders_off(fleet, tolerance=0.03).seeders
    assert (one.runs, one.tyre, one.in_use_m) == (2, "new", 0.66)
    assert one.off.value == pytest.approx(0.0, abs=1e-9)
    assert not one.is_off


def test_the_effects_on_slip_are_those_put_in(fleet):
    found = slip_answer(fleet)
    effects = {(e.what, e.kind): e for e in found.effects}
    rolled = 1 - found.usual.value
    for key, truth in (
        (("soil_moisture", "wet"), WET),
        (("tyre", "smooth"), SLOW_TYRE),
        (("speed_m_s", "step"), FASTER),
    ):
        more = effects[key].more
        assert abs(more.value - rolled * truth) < 3.5 * more.std, key
        assert more.std < 0.5 * truth
    assert found.runs == 300


def test_cells_of_slip_are_those_of_pandas(folder, fleet):
    runs, passes = (
        pd.concat(pq.read_table(f).to_pandas() for f in (folder / kind).rglob("*.parquet"))
        for kind in ("runs", "passes")
    )
    both = passes.merge(runs, on="run_key", suffixes=("", "_run"))
    both["pressure"] = both.tyre_pressure_pa.fillna(-1) // PRESSURE_STEP_PA * PRESSURE_STEP_PA
    both["speed"] = both.speed_m_s // SPEED_STEP_M_S * SPEED_STEP_M_S
    keys = ["soil_moisture", "soil_texture", "tyre", "pressure", "speed"]
    wanted = both.groupby(keys).slip.agg(["mean", "std", "size"])
    found = slip_answer(fleet).cells
    assert len(found) == len(wanted)
    for cell in found:
        pressure = -PRESSURE_STEP_PA if cell["pressure_pa"] is None else cell["pressure_pa"]
        at = (cell["moisture"], cell["texture"], cell["tyre"], pressure, cell["speed_m_s"])
        mean, std, size = wanted.loc[at]
        assert (cell["slip"], cell["slip_spread"]) == pytest.approx((mean, std))
        assert cell["passes"] == size


def test_the_poor_phone_falls_short_and_the_others_do_not(fleet):
    found = phone_standings(fleet)
    assert [one.phone for one in found if one.falls_short] == ["phone C"]
    assert found[0].against_others == pytest.approx(2.4, rel=0.05)
    assert found[0].set_aside == pytest.approx(0.05)


def test_a_version_that_moves_figures_is_seen(folder, tmp_path):
    other = shutil.copytree(folder, tmp_path / "new")
    file = next((other / "runs").rglob("*.parquet"))
    rows = pq.read_table(file).to_pylist()
    schema = pq.read_schema(file)
    for row in rows:
        row["version"] = "2"
        row["ground_per_turn_m"] *= 1.001
    rows[0] |= {"ground_per_turn_m": rows[0]["ground_per_turn_m"] * 1.1, "verdict": "keep it"}
    rows[1] |= {"status": "refused", "message": "no pass", "ground_per_turn_m": None}
    pq.write_table(pa.Table.from_pylist(rows, schema=schema), file)
    with open_fleet(folder) as before, open_fleet(other) as now:
        found = version_change(before, now)
    assert (found.before, found.now, found.runs, found.other_verdict) == ("1", "2", 299, 1)
    assert found.moved == pytest.approx(0.001, rel=1e-6)
    assert found.most_moved[0]["source"] == rows[0]["source"]
    assert [(one["source"], one["message"]) for one in found.lost] == [
        (rows[1]["source"], "no pass")
    ]
    assert found.won == ()


def test_a_seeder_is_found_by_farm_and_name(fleet):
    found = seeder_history(fleet, "farm 7/b")
    assert (found.farm, found.seeder, len(found.runs)) == ("Farm 7", "B", 5)
    assert [r["date"] for r in found.runs] == sorted(r["date"] for r in found.runs)


def test_cells_are_read_by_a_map_program_and_hold_five_farms(folder, tmp_path):
    out = tmp_path / "cells.gpkg"
    assert main(["fleet", "map", str(folder), "--out", str(out)]) == 0
    meta, _, shapes, data = pyogrio.raw.read(out, layer="fleet_cells")
    columns = dict(zip(meta["fields"], data, strict=True))
    assert meta["crs"] == "EPSG:4326"
    assert columns["farms"].tolist() == [15, 15]
    assert columns["runs"].sum() == 300
    assert len(shapes) == 2


@pytest.mark.parametrize("action", ["seeders", "slip", "phones"])
def test_each_question_answers_as_tables_as_json_and_as_a_page(action, folder, tmp_path, capsys):
    page = tmp_path / "answer.html"
    assert main(["fleet", action, str(folder), "--out", str(page)]) == 0
    said = capsys.readouterr().out
    assert "Farm 3" in said or action != "seeders"
    assert main(["fleet", action, str(folder), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["tool"], document["kind"]) == ("groundtruth", "fleet")
    text = page.read_text(encoding="utf-8")
    assert "default-src 'none'" in text
    assert "<svg" in text
    assert "<script" not in text
    assert main(["fleet", action, str(folder), "--out", str(page)]) == 0  # over its own page


def test_a_history_is_told_in_inches_too(folder, capsys):
    assert main(["fleet", "history", str(folder), "Farm 7/B", "--units", "us"]) == 0
    assert "ground per turn, in" in capsys.readouterr().out
    assert main(["fleet", "versions", str(folder), str(folder)]) == 0
    assert "moved by 0.00 %" in capsys.readouterr().out


def test_text_of_the_files_is_only_text(tmp_path, capsys):
    row = filled(
        RUN_COLUMNS, run_key="x", status="measured", date=date(2027, 4, 1),
        farm="<script>alert(1)</script>", seeder="\x1b[31mA", ground_per_turn_m=0.6,
        ground_per_turn_std_m=0.01, in_use_m=0.6, change=0.0, change_std=0.02, passes=1,
        ground_per_turn_low_m=0.58, ground_per_turn_high_m=0.62,
    )  # fmt: skip
    write(tmp_path, [row], [])
    page = tmp_path / "p.html"
    assert main(["fleet", "seeders", str(tmp_path), "--out", str(page)]) == 0
    assert "\x1b" not in capsys.readouterr().out
    assert "<script>" not in page.read_text(encoding="utf-8")


def said_of(capsys, *words):
    code = main(["fleet", *map(str, words)])
    return code, capsys.readouterr().err


def test_what_is_no_fleet_is_refused_in_one_line(folder, tmp_path, capsys):
    code, why = said_of(capsys, "seeders", tmp_path)
    assert code == 2
    assert "holds no fleet; groundtruth many FOLDER --out" in why
    broken = shutil.copytree(folder, tmp_path / "broken")
    file = next((broken / "runs").rglob("*.parquet"))
    file.write_bytes(file.read_bytes()[:2000])
    code, why = said_of(capsys, "slip", broken)
    assert code == 2
    assert "season=2027/part-1.parquet: is no Parquet file that can be read" in why
    table = pq.read_table(next((folder / "runs").rglob("*.parquet")))
    odd = table.set_column(table.column_names.index("slip"), "slip", table["farm"])
    pq.write_table(odd, file)
    code, why = said_of(capsys, "slip", broken)
    assert code == 2
    assert "slip is of the kind string; it should be double" in why
    code, why = said_of(capsys, "history", folder, "A")
    assert code == 2
    assert "several seeders are called so; the fleet has Farm 0/A" in why
    code, why = said_of(capsys, "history", folder, "nobody")
    assert code == 2
    assert "no such seeder" in why
    code, why = said_of(capsys, "seeders", folder, "--tolerance", "80 %")
    assert code == 2
    code, why = said_of(capsys, "map", folder, "--out", tmp_path / "x.gpkg", "--cell", "0.001")
    assert code == 2
    assert not (tmp_path / "x.gpkg").exists()


def test_figures_that_are_none_are_left_out(tmp_path):
    """A row with a figure that is not finite or not above 0 says nothing, and stops nothing."""
    good = {
        "status": "measured", "farm": "Home", "seeder": "A",
        "date": date(2027, 4, 1), "ground_per_turn_m": 0.6,
        "ground_per_turn_std_m": 0.01, "in_use_m": 0.6, "passes": 1, "slip": 1 - ROLLED_M / 0.6,
        "slip_std": 0.02,
    }  # fmt: skip
    spoilt = [{"ground_per_turn_m": v} for v in (0.0, -1.0, float("nan"), float("inf"))]
    rows = [
        filled(RUN_COLUMNS, run_key=str(i), **(good | one)) for i, one in enumerate([{}, *spoilt])
    ]
    with open_fleet(write(tmp_path, rows, [])) as fleet:
        assert [one.runs for one in seeders_off(fleet, tolerance=0.03).seeders] == [1]
