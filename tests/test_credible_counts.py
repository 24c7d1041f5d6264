"""Counts that cannot be true are found, named and left out; those that scatter by chance are not.

Simulated benches are ours (tests/benches.py); what must be found are slips of a pen.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import date

import numpy as np
import pytest
from benches import seeds_falling, simulated_bench

from groundtruth.cli.main import main
from groundtruth.core.counts import StandCount
from groundtruth.core.measured import Measured
from groundtruth.core.written import spelt_alike
from groundtruth.io.files import Source
from groundtruth.io.sheets.bench import read_bench
from groundtruth.io.sheets.stands import read_stands
from groundtruth.io.sheets.turns import read_turns
from groundtruth.seeding import BenchCount, doubtful_catches, doubtful_stands

RATES = {"9": 17.0, "10": 19.5, "11": 22.5, "12": 26.0}
ORDER = tuple(RATES)


def with_seeds(counts, at, seeds):
    old = counts[at]
    new = BenchCount(
        crop=old.crop, seed_lot="", setting=old.setting, turns=old.turns, seeds=Measured(seeds)
    )
    return [*counts[:at], new, *counts[at + 1 :]]


@pytest.mark.parametrize("dispersion", [0.25, 1.0, 3.0])
@pytest.mark.parametrize("catches", [1, 2, 3])
def test_counts_that_scatter_by_chance_are_believed(dispersion, catches):
    """At most one of 300 simulated benches holds a catch that is doubted (seeds 1 to 300)."""
    doubted = 0
    for seed in range(1, 301):
        rng = np.random.default_rng(seed)
        counts = simulated_bench(rng, RATES, dispersion=dispersion, catches=catches)
        doubted += bool(doubtful_catches(counts, ORDER))
    assert doubted <= 1


@pytest.mark.parametrize("catches", [1, 2, 3])
def test_a_digit_too_many_or_too_few_is_found_and_put_right(catches):
    found = right = 0
    for seed in range(1, 101):
        rng = np.random.default_rng(seed)
        counts = simulated_bench(rng, RATES, catches=catches)
        at = int(rng.integers(len(counts)))
        true = int(counts[at].seeds.value)
        wrong = true * 10 + int(rng.integers(10)) if seed % 2 else true // 10
        doubtful = doubtful_catches(with_seeds(counts, at, wrong), ORDER)
        found += list(doubtful) == [at]
        one = doubtful.get(at)
        right += one is not None and one.expected[0] <= true <= one.expected[1]
    assert found >= 95
    assert right >= 90


def test_a_gap_in_the_stand_is_believed():
    plants = (52, 61, 0, 47, 3)
    counts = [StandCount(crop="beet", seed_lot="", length_m=3, plants=n) for n in plants]
    assert not doubtful_stands(counts)


def test_steep_settings_are_believed():
    """Holes whose seeds double from one to the next, as in the plates of some seeders."""
    rng = np.random.default_rng(5)
    rates = {"1": 2.0, "2": 4.0, "3": 8.0, "4": 16.0, "5": 32.0}
    for _ in range(50):
        assert not doubtful_catches(simulated_bench(rng, rates, catches=2), tuple(rates))


def test_stands_that_scatter_are_believed_and_a_digit_is_found():
    found = 0
    for seed in range(1, 101):
        rng = np.random.default_rng(seed)
        plants = [seeds_falling(rng, 55, 4.0) for _ in range(5)]
        counts = [
            StandCount(crop="beet", seed_lot="", length_m=3, plants=n, day=date(2027, 5, 19))
            for n in plants
        ]
        assert not doubtful_stands(counts), plants
        wrong = StandCount(crop="beet", seed_lot="", length_m=3, plants=plants[0] * 10)
        found += list(doubtful_stands([wrong, *counts[1:]])) == [0]
    assert found >= 85


BENCH = """crop,setting,turns,seeds
beet,hole 9,6,281
beet,hole 9,6,2850
beet,hole 9,6,290
beet,hole 10,6,331
beet,hole 10,6,322
"""
GROUND = ("--ground-per-turn", "60 cm")
ORDERED = ("--settings", "hole 9,hole 10")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GROUNDTRUTH_SEASON", str(tmp_path / "none.gpkg"))
    (tmp_path / "b.csv").write_text(BENCH, encoding="utf-8")
    return tmp_path


def said(capsys, *argv):
    code = main([*argv])
    out = capsys.readouterr()
    return code, " ".join(out.out.split()), " ".join(out.err.split())


def test_the_bench_names_line_count_and_what_was_meant(folder, capsys):
    code, out, _ = said(capsys, "bench", "b.csv", *ORDERED)
    assert code == 0
    assert "setting hole 9: 2850 seeds in 6 turns" in out
    assert "is it 285?" in out
    assert "2850" not in out.partition("What they say")[0]


def test_the_card_is_made_without_what_is_not_credible(folder, capsys):
    wanted = ("--crop", "beet", "--spacing", "1.25 cm", *GROUND, *ORDERED, "--text")
    code, out, err = said(capsys, "card", "b.csv", *wanted)
    assert code == 0
    assert "is it 285? (left out)" in err
    assert "2850" not in out
    typed = said(capsys, "card", "b.csv", *wanted, "--as-typed")
    assert "(taken as typed)" in typed[2]
    assert typed[1] != out


def test_no_card_of_a_length_out_of_all_reason(folder, capsys):
    call = ("card", "b.csv", "--crop", "beet", "--spacing", "4 cm", *ORDERED, "--text")
    code, out, err = said(capsys, *call, "--ground-per-turn", "60 mm")
    assert (code, out) == (2, "")
    assert err == (
        "groundtruth: ground per turn is 6 cm; usual are 10 cm to 10 m; is it 60 cm? No card is "
        "made; put it right, or add --as-typed"
    )
    assert said(capsys, *call, "--ground-per-turn", "60 mm", "--as-typed")[0] == 0


STANDS = "crop,length,plants,seeds_per_metre\n" + "".join(
    f"beet,3 m,{plants},24\n" for plants in (52, 61, 540, 47, 55)
)
WANTED = ("--crop", "beet", "--spacing", "1.25 cm", *GROUND)


@pytest.mark.parametrize(
    "call",
    [
        ("target", *WANTED, "--stands", "s.csv"),
        ("choose", "b.csv", *WANTED, *ORDERED, "--stands", "s.csv"),
        ("seed", "40 m", *WANTED, "--stands", "s.csv"),
        ("seed", "40 m", *WANTED, *ORDERED, "--bench", "b.csv"),
    ],
)
def test_every_command_says_which_counts_it_left_out(folder, capsys, call):
    (folder / "s.csv").write_text(STANDS, encoding="utf-8")
    found = {
        "s.csv": "beet: 540 plants on 3 m; the others lead to",
        "b.csv": "setting hole 9: 2850 seeds in 6 turns; the others lead to",
    }
    code, out, _ = said(capsys, *call)
    assert code == 0
    assert main([*call, "--json"]) == 0
    notices = json.loads(capsys.readouterr().out)["notices"]
    for file, text in found.items():
        if file in call:
            assert text in out
            (notice,) = (n for n in notices if n["where"].startswith(f"{file}, line "))
            assert notice["text"].startswith(text)
            assert notice["text"].endswith("(left out)")
    assert len(notices) == sum(file in call for file in found)


def test_two_catches_that_contradict_each_other(folder, capsys):
    (folder / "two.csv").write_text("setting,turns,seeds\n9,6,285\n9,6,2850\n", encoding="utf-8")
    code, _, err = said(capsys, "bench", "two.csv")
    assert code == 2
    assert err == (
        "groundtruth: two.csv: the catches in lines 2, 3 contradict each other; catch that setting "
        "once more, or take them as they are with --as-typed"
    )


def test_the_refusal_without_an_order_names_the_sheet_and_both_ways_out(folder, capsys):
    code, _, err = said(capsys, "bench", "b.csv")
    assert code == 2
    assert err == (
        "groundtruth: b.csv: settings hole 9, hole 10 are no numbers, and their order is not "
        'known; give it from fewest to most seeds with --settings "hole 9,hole 10", put right, or '
        "with --result RESULT.json of a run whose run file has settings"
    )


@pytest.mark.parametrize("ordered", [True, False])
def test_the_record_asks_too(folder, capsys, ordered):
    text = BENCH.replace("hole ", "") if ordered else BENCH
    (folder / "n.csv").write_text(text, encoding="utf-8")
    code, out, _ = said(capsys, "season", "--season", "s.gpkg", "bench", "n.csv")
    assert code == 0
    assert "is it 285? (kept as typed; the record's figures by setting leave it out)" in out
    with closing(sqlite3.connect("s.gpkg")) as db:
        rows = db.execute("SELECT setting, catches, left_out, turns FROM settings").fetchall()
    hole = "" if ordered else "hole "
    assert rows == [(f"{hole}9", 2, 1, 12.0), (f"{hole}10", 2, 0, 12.0)]


@pytest.mark.parametrize(
    ("names", "pairs"),
    [
        (["A", "a"], [("A", "a")]),
        (["A", "B", "C1", "C2", "L1", "L11"], []),
        (["beet", "beets"], [("beet", "beets")]),
        (["beet", "beat"], [("beet", "beat")]),
        (["block1", "block2"], []),
        (["beet", "chard", "Chard"], [("chard", "Chard")]),
    ],
)
def test_names_that_may_be_one(names, pairs):
    assert list(spelt_alike(names)) == pairs


@pytest.mark.parametrize(
    ("read", "text", "says"),
    [
        (read_turns, "pass,unit,turns\n1,A,41\n1,B,41\n2,a,40\n", "line 4: unit 'A' and 'a'"),
        (read_turns, "pass,turns,crop\n1,41,beet\n2,40,beets\n", "line 3: crop 'beet' and 'beets'"),
        (read_bench, "crop,setting,turns,seeds\nBeet,9,6,9\nbeet,9,6,8\n", "3: crop 'Beet' and"),
        (read_stands, "crop,length,plants\nbeet,2 m,9\nbeat,2 m,8\n", "3: crop 'beet' and 'beat'"),
    ],
)
def test_names_that_may_be_one_are_asked_about(read, text, says):
    (notice,) = read(Source("t.csv", text.encode())).notices
    assert says in str(notice)
    assert str(notice).endswith(": are they one? Then spell them alike")
