"""What the season's commands print as JSON is what its page says, key by key."""

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from test_record import run_of

from groundtruth.cli.main import main
from groundtruth.season import add_change, add_run
from groundtruth.season.query import read_season

HEAD = {"tool", "kind", "schema_version"}
PAGE = Path(__file__).parents[2] / "docs" / "season-json.md"


@pytest.fixture
def kept(season):
    for number in range(1, 9):
        run = run_of(number)
        run = replace(run, ground_per_turn=run.ground_per_turn.scaled(1 + 0.002 * (number % 3)))
        add_run(season, run, soil="wet" if number > 5 else "dry")
    add_change(season, day=date(2027, 6, 8), kind="tyre", note="new")
    return season


def keys(value):
    if isinstance(value, dict):
        return set(value) | {k for v in value.values() for k in keys(v)}
    if isinstance(value, list):
        return {k for v in value for k in keys(v)}
    return set()


def printed(kept, capsys, *words):
    assert main(["season", *words, "--json", "--season", str(kept)]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("season", ("show",)),
        ("comparison", ("compare", "--soil", "dry", "wet")),
        ("row units", ("compare", "--row-units")),
        ("chart", ("chart",)),
    ],
)
def test_every_key_is_in_the_page_and_no_other(kept, capsys, kind, words):
    found = printed(kept, capsys, *words)
    assert (found["tool"], found["kind"], found["schema_version"]) == ("groundtruth", kind, 2)
    parts = dict(re.findall(r"(?ms)^## `([\w ]+)`\n(.*?)(?=^## |\Z)", PAGE.read_text("utf-8")))
    assert keys(found) == set(re.findall(r"`(\w+)`", parts[kind])) | HEAD


def test_the_figures_are_those_of_the_record(kept, capsys):
    season = read_season(kept)
    found = printed(kept, capsys, "show")
    assert [r["ground_per_turn_m"] for r in found["runs"]] == pytest.approx(
        [r.ground_per_turn.value for r in season.runs]
    )
    assert [(s["bed"], s["pass"], s["sure"]) for s in found["sowings"]] == [
        (s.bed, s.number, pytest.approx(s.sure)) for s in season.sowings
    ]
    bed = season.sowings[0].bed
    assert {s["bed"] for s in printed(kept, capsys, "show", "--bed", bed)["sowings"]} == {bed}


def test_units_do_not_change_it(kept, capsys):
    assert printed(kept, capsys, "chart", "--units", "us") == printed(kept, capsys, "chart")
