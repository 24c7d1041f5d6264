"""From result and bench sheet to the printed card on the command line, and every bad input."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest
from factories import make_result

from groundtruth.cli.main import main
from groundtruth.io.result_json import result_to_json
from groundtruth.season import add_change

BENCH = """crop,seed_lot,setting,turns,seeds,seconds
beetroot,K7,F2,6,148,5
beetroot,K7,F2,6,139,5
beetroot,K7,F2,6,151,5
beetroot,K7,F3,6,187,
beetroot,K7,F3,6,178,
beetroot,K7,F3,6,196,
parsnip,,F1,8,96,
parsnip,,F1,8,104,
parsnip,,F3,8,151,
parsnip,,F3,8,160,
"""
CROPS = """crop,seed_lot,spacing,germination,germination_tested,field_emergence,accept,\
seeds_per_gram,depth,lines
beetroot,K7,3.5 cm,0.82,200,0.9 ± 0.05,24-33,62 ± 4,2 cm,4
parsnip,,6 cm,71 %,,0.85,13-20 per m,230,1.5 cm,4
"""
ORDER = ("--settings", "F1,F2,F3,C1")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GROUNDTRUTH_SEASON", str(tmp_path / "none.gpkg"))  # nobody's own record
    (tmp_path / "result.json").write_text(result_to_json(make_result()), encoding="utf-8")
    (tmp_path / "bench.csv").write_text(BENCH, encoding="utf-8")
    (tmp_path / "crops.csv").write_text(CROPS, encoding="utf-8")
    return tmp_path


def printed(capsys, *argv):
    """Output of a command that succeeds."""
    assert main([*argv]) == 0
    return capsys.readouterr().out


def as_json(capsys, *argv):
    found = json.loads(printed(capsys, *argv, "--json"))
    assert found["tool"] == "groundtruth"
    return found


def refusal(capsys, *argv):
    """The one line of a command that is refused with exit code 2."""
    assert main([*argv]) == 2
    out = capsys.readouterr()
    assert out.out == ""
    (line,) = out.err.strip().splitlines()
    return line


def test_inch_spacing_two_feet_a_turn(capsys):
    """A seed each inch, two feet a turn: 24 (by hand)."""
    argv = ("target", "--spacing", "1 in", "--ground-per-turn", "2 ft")
    assert as_json(capsys, *argv)["seeds_per_turn"] == 24
    found = as_json(capsys, *argv, "--germination", "0.85", "--emergence", "0.9")
    assert found["seeds_per_turn"] == pytest.approx(24 / 0.85 / 0.9)


def test_targets_of_a_result(folder, capsys):
    """The crops of the run with old and corrected figure: 0.622 against 0.6387 m a turn."""
    found = as_json(capsys, "target", "--result", "result.json")
    beet = found["targets"][0]
    assert beet["seeds_per_turn"] == pytest.approx(0.6387 / 0.035 / 0.82)
    assert beet["seeds_per_turn_in_use"] == pytest.approx(0.622 / 0.035 / 0.82)
    table = printed(capsys, "target", "--result", "result.json")
    assert "figure in use" in table
    assert "every 1.378 in" in table  # the run's own units; 35 mm
    assert "every 3.5 cm" in printed(
        capsys, "target", "--result", "result.json", "--units", "metric"
    )


def test_bench(folder, capsys):
    found = as_json(capsys, "bench", "bench.csv", *ORDER)
    beet = found["curves"][0]
    assert [s["setting"] for s in beet["settings"]] == ["F2", "F3"]
    assert beet["settings"][0]["seeds_per_turn"] == pytest.approx((148 + 139 + 151) / 18)
    assert beet["beyond"] == ["F1", "C1"]
    assert [s["tried"] for s in found["curves"][1]["settings"]] == [True, False, True]
    assert "not tried" in printed(capsys, "bench", "bench.csv", *ORDER)


def test_walk_from_result_and_bench_to_card_in_two_commands(folder, capsys):
    """Choose, then print: both name the same setting and the same count."""
    common = ("bench.csv", "--result", "result.json", "--crops", "crops.csv", *ORDER)
    chosen = as_json(capsys, "choose", *common)["choices"][0]
    assert chosen["setting"] == "F2"
    printed(capsys, "card", *common)
    page = (folder / "card.html").read_text(encoding="utf-8")
    assert f"{chosen['check']['seeds_from']}–{chosen['check']['seeds_to']}" in page
    assert "12 May 2026" in page
    text = printed(capsys, "card", *common, "--text")
    assert "SETTING   F2" in text
    found = as_json(capsys, "card", *common)
    assert found["card"]["crops"][0]["setting"] == "F2"


def test_order_of_settings_comes_from_the_seeder(folder, capsys):
    """The run file names it, the result keeps it; a setting outside it is refused."""
    result = make_result()
    machine = replace(result.seeder, settings=("F1", "F2", "F3", "C1"))
    (folder / "own.json").write_text(result_to_json(replace(result, seeder=machine)))
    found = as_json(capsys, "bench", "bench.csv", "--result", "own.json")
    assert found["curves"][0]["beyond"] == ["F1", "C1"]
    short = replace(machine, settings=("F2", "F1"))
    (folder / "own.json").write_text(result_to_json(replace(result, seeder=short)))
    line = refusal(capsys, "choose", "bench.csv", "--result", "own.json", "--crops", "crops.csv")
    assert "'F3' is not in the seeder's order" in line


@pytest.mark.parametrize(
    ("written", "says"),
    [('"F1"', "must be a list"), ('["F1", "F1"]', "stands in the order twice"), ('[""]', "empty")],
)
def test_bad_order_in_the_run_file(tmp_path, capsys, written, says):
    (tmp_path / "run.toml").write_text(
        f'track = "t.gpx"\nturns = "t.csv"\n[seeder]\nsettings = {written}\n'
    )
    line = refusal(capsys, "measure", str(tmp_path / "run.toml"))
    assert says in line
    assert "run.toml, line 4" in line


def test_choose_says_how_to_turn_and_to_thin(folder, capsys):
    out = printed(
        capsys, "choose", "bench.csv", "--ground-per-turn", "64 cm ± 1 cm", "--crop", "beetroot",
        "--spacing", "5 cm", "--speed", "1 km/h", *ORDER,
    )  # fmt: skip
    assert "Choose setting F2" in out
    assert "comes out" in out
    assert "much faster than the field" in out  # 72 turns a minute at the bench, 26 in the field


def test_seed(folder, capsys):
    """75 m of bed in 4 lines at 28.6/0.82/0.9 seeds a metre, 62 a gram, 5 % lost (by hand)."""
    argv = ("seed", "40 m", "35 m", "--crops", "crops.csv", "--crop", "beetroot", "--loss", "0.05")
    (found,) = as_json(capsys, *argv, "--in-bag", "300 g", "--left-in-hopper", "20 g")["needed"]
    per_m = 1 / 0.035 / 0.82 / 0.9
    assert found["mass_kg"] == pytest.approx(300 * per_m / 0.95 / 62_000 + 0.020)
    assert found["probability_enough"] > 0.99
    assert "enough" in printed(capsys, *argv, "--in-bag", "300 g")
    run = ("seed", "--from-run", "--result", "result.json", "--crops", "crops.csv")
    beds = as_json(capsys, *run, "--bench", "bench.csv", *ORDER)["needed"]
    assert [b["crop"] for b in beds] == ["beetroot", "parsnip"]


def test_stand_counts_close_the_loop(folder, capsys):
    """140 plants of 200 seeds are 70 %; with 82 % able to grow that is 85 % emergence, and the
    next target is divided by it."""
    (folder / "stands.csv").write_text(
        "date,crop,seed_lot,bed,line,length,plants,seeds_per_metre\n"
        "2026-06-01,beetroot,K7,N1,1,2 m,69,50\n2026-06-01,beetroot,K7,N2,1,2 m,71,50\n"
    )
    (found,) = as_json(capsys, "stands", "stands.csv", "--germination", "0.82")["emergence"]
    assert found["of_seeds"] == pytest.approx(0.70)
    assert found["field_emergence"] == pytest.approx(0.70 / 0.82)
    target = as_json(
        capsys, "target", "--result", "result.json", "--crops", "crops.csv", "--crop", "beetroot",
        "--stands", "stands.csv",
    )  # fmt: skip
    assert target["seeds_per_turn"] == pytest.approx(0.6387 / 0.035 / 0.70)
    assert "Field emergence" in printed(capsys, "stands", "stands.csv", "--units", "us")


def test_spacing_and_turning(folder, capsys):
    (folder / "s.csv").write_text("spacing cm\n4\n5\n5.1\n8\n10\n12\n15\n15.1\n21\n26\n")
    found = as_json(capsys, "spacing", "s.csv", "--spacing", "10 cm")
    assert (found["multiples"], found["quality_of_feed"], found["misses"]) == (0.2, 0.5, 0.3)
    assert "37.8 %" in printed(capsys, "spacing", "s.csv", "--spacing", "10 cm")
    turning = ("turning", "--speed", "3.6 km/h", "--ground-per-turn", "60 cm")
    assert as_json(capsys, *turning)["turns_per_minute"] == pytest.approx(100)
    assert "100 times a minute" in printed(capsys, *turning)


def test_weighed_catches(folder, capsys):
    (folder / "w.csv").write_text("setting,turns,grams,seeds_per_gram\n1,10,4.1,62 ± 4\n")
    (curve,) = as_json(capsys, "bench", "w.csv")["curves"]
    figure = curve["settings"][0]
    assert figure["seeds_per_turn"] == pytest.approx(4.1 * 62 / 10)
    counted = (4.1 * 62) ** 0.5 / 10
    shared = 4.1 * 62 / 10 * (4 / 3**0.5 / 62)
    weighed = 0.1 / 6**0.5 * 62 / 10
    assert figure["seeds_per_turn_u"] == pytest.approx(
        (counted**2 + shared**2 + weighed**2) ** 0.5, rel=1e-6
    )


GROUND = ("--ground-per-turn", "64 cm")


@pytest.mark.parametrize(
    ("sheet", "argv", "says"),
    [
        ("crop,setting,turns,seeds\nx,1,5,-3\n", ("bench", "b.csv"), "b.csv, line 2: seeds is -3"),
        ("crop,setting,turns,seeds\nx,1,0,50\n", ("bench", "b.csv"), "b.csv, line 2: turns is 0"),
        ("crop,setting,turns,seeds\nx,1,,50\n", ("bench", "b.csv"), "line 2: turns is empty"),
        ("crop,setting,turns,seeds\nx,1,5,\n", ("bench", "b.csv"), "line 2: neither seeds nor"),
        ("crop,setting,turns,seeds\nx,,5,9\n", ("bench", "b.csv"), "line 2: setting is empty"),
        ("crop,setting,turns\nx,1,5\n", ("bench", "b.csv"), "no column seeds or grams"),
        ("crop,setting,turns,grams\nx,1,5,3\n", ("bench", "b.csv"), "grams without seeds_per_gram"),
        (
            "crop,setting,turns,seeds\nx,F9,5,50\n",
            ("bench", "b.csv", "--settings", "F1,F2"),
            "'F9' is not in the seeder's order of settings",
        ),
        (
            "crop,setting,turns,seeds\nx,A,5,5\nx,B,5,9\n",
            ("bench", "b.csv"),
            "their order is not known",
        ),
        ("", ("bench", "b.csv"), "b.csv: the file is empty"),
        (
            "crop,setting,turns,seeds\nx,1,5,50\n",
            ("choose", "b.csv", *GROUND, "--spacing", "5 cm", "--crop", "y"),
            "no catch of y",
        ),
        (
            "crop,seed_lot,setting,turns,seeds\nx,a,1,5,50\nx,b,1,5,50\n",
            ("choose", "b.csv", *GROUND, "--spacing", "5 cm", "--crop", "x"),
            "several seed lots (a, b)",
        ),
        ("x", ("target", *GROUND, "--spacing", "5 cm", "--germination", "85"), "write 0.85 for 85"),
        ("x", ("target", *GROUND, "--spacing", "0 cm"), "--spacing: '0 cm' must be above 0"),
        ("x", ("target", "--spacing", "1 in"), "either --result or --ground-per-turn"),
        ("x", ("target", *GROUND), "nothing is wanted yet"),
        ("x", ("target", *GROUND, "--spacing", "5 cm", "--rate", "9 lb/ac"), "not both"),
        ("x", ("target", *GROUND, "--rate", "9 lb/ac"), "a rate needs the row spacing"),
        ("x", ("target", *GROUND, "--spacing", "5 cm", "--accept", "9"), "is no range"),
        ("x", ("target", "--result", "b.csv"), "b.csv: not a result"),
        ("x", ("seed", "--spacing", "5 cm", *GROUND), "name the beds one way"),
        ("x", ("seed", "0 m", "--spacing", "5 cm"), "length of a bed: '0 m' must be above 0"),
        ("x", ("seed", "9 m", "--spacing", "5 cm", "--in-bag", "1 g"), "seeds per gram is missing"),
        ("x", ("turning", "--speed", "0 mph", *GROUND), "--speed: '0 mph' must be above 0"),
        ("spacing\n5 cm\n", ("spacing", "b.csv", "--spacing", "0 in"), "must be above 0"),
        ("crop,length,plants\nx,2 m,9\n", ("stands", "b.csv"), "give seeds_per_metre"),
    ],
)  # fmt: skip
def test_bad_input_gets_one_clear_line(tmp_path, monkeypatch, capsys, sheet, argv, says):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "b.csv").write_text(sheet)
    assert says in refusal(capsys, *argv)


def test_old_figure_gets_no_card(folder, capsys):
    argv = ("card", "bench.csv", "--result", "result.json", "--crops", "crops.csv", *ORDER,
            "--wheel-changed", "2026-05-20")  # fmt: skip
    line = refusal(capsys, *argv)
    assert "No card is printed" in line
    assert not (folder / "card.html").exists()
    printed(capsys, *argv, "--print-stale")
    assert "Do not trust this card" in (folder / "card.html").read_text(encoding="utf-8")
    assert "no day" in refusal(capsys, *argv[:-1], "20.5.2026")


def test_tyre_change_on_record_is_heeded(folder, capsys, monkeypatch):
    """Found in the record where it usually lies, and only for the seeder asked for."""
    record = folder / "season.gpkg"
    add_change(record, day=date(2026, 4, 2), kind="pressure")
    add_change(record, day=date(2026, 5, 20), kind="tyre", seeder="blue")
    add_change(record, day=date(2026, 6, 1), kind="unit serviced")
    argv = ("card", "bench.csv", "--result", "result.json", "--crops", "crops.csv", *ORDER)
    printed(capsys, *argv)
    line = refusal(capsys, *argv, "--season", str(record))
    assert "tyre was changed on 20 May 2026" in line
    printed(capsys, *argv, "--season", str(record), "--seeder", "red")
    monkeypatch.setenv("GROUNDTRUTH_SEASON", str(record))
    assert "No card is printed" in refusal(capsys, *argv)
    assert "none.gpkg" in refusal(capsys, *argv, "--season", "none.gpkg")


def test_typed_figure_carries_its_day(folder, capsys):
    argv = ("card", "bench.csv", *GROUND, "--crops", "crops.csv", *ORDER)
    assert "when it was measured is not" in printed(capsys, *argv, "--text")
    dated = printed(capsys, *argv, "--text", "--measured-on", "2026-05-30")
    assert "measured 30 May 2026" in dated
    again = ("card", "bench.csv", "--result", "result.json", *ORDER)
    assert "leave it out" in refusal(capsys, *again, "--measured-on", "2026-05-30")
