"""docs/bench.md tells the truth: its commands run on the sample, its keys are complete."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from factories import make_result

from groundtruth.cli.main import main
from groundtruth.io.result_json import result_to_json

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "bench.md").read_text(encoding="utf-8")
SAMPLE = ROOT / "sample_tracks" / "dry-firm"
ORDER = "hole 9,hole 10,hole 11,hole 12,hole 13"


@pytest.fixture
def result(tmp_path):
    path = tmp_path / "result.json"
    path.write_text(result_to_json(make_result()), encoding="utf-8")
    return str(path)


def documents(result):
    """A command for every kind of document, on the sample's sheets."""
    crops = ("--crops", str(SAMPLE / "crops.csv"))
    ground = ("--result", result)
    bench = str(SAMPLE / "bench.csv")
    order = ("--settings", ORDER)
    return {
        "target": ("target", *ground, *crops),
        "bench": ("bench", bench, *order),
        "choose": ("choose", bench, *ground, *crops, *order),
        "card": ("card", bench, *ground, *crops, *order),
        "seed": ("seed", "40 m", *crops, "--crop", "beet", "--in-bag", "300 g", "--loss", "0.03"),
        "stands": ("stands", str(SAMPLE / "stands.csv"), "--germination", "0.81"),
        "spacing": ("spacing", str(SAMPLE / "spacings.csv"), "--spacing", "1.75 in"),
        "turning": ("turning", "--speed", "3 km/h", *ground),
    }


def keys(value):
    """All keys anywhere in a JSON value."""
    if isinstance(value, dict):
        return set(value).union(*(keys(v) for v in value.values()))
    return set().union(*(keys(v) for v in value)) if isinstance(value, list) else set()


def test_every_key_is_documented(result, capsys):
    section = PAGE[PAGE.index("## Keys of the JSON") :]
    named = set(re.findall(r"`([a-z_0-9]+)`", section))
    for kind, argv in documents(result).items():
        assert main([*argv, "--json"]) == 0
        document = json.loads(capsys.readouterr().out)
        assert document["kind"] == kind
        unnamed = {
            key
            for key in keys(document)
            if key not in named and re.sub(r"_(u|95)(_m|_kg)?$", r"\2", key) not in named
        } - {"in_bed", "name", "expected", "remarks"}  # words on the card
        assert not unnamed, kind


def test_every_command_is_on_the_page(result):
    for kind in documents(result):
        assert f"`groundtruth {kind}`" in PAGE


def test_every_document_can_be_shown_too(result, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for argv in documents(result).values():
        for units in ("us", "metric"):
            assert main([*argv, "--units", units]) == 0
            assert capsys.readouterr().out.strip()


def test_the_python_example_runs(monkeypatch, capsys):
    """It chooses for 22.5 plants a metre: 0.81 of 21.7 seeds a turn over 0.78 m (by hand)."""
    monkeypatch.chdir(ROOT)
    (example,) = re.findall(r"(?s)```python\n(.*?)```", PAGE)
    exec(compile(example, "docs/bench.md", "exec"), {})
    assert capsys.readouterr().out.startswith("hole 11 ")


def test_the_sheets_columns_are_on_the_page():
    for sheet in ("bench.csv", "crops.csv", "stands.csv"):
        header = (SAMPLE / sheet).read_text(encoding="utf-8").splitlines()[0]
        for column in header.split(","):
            assert f"`{column}`" in PAGE, column


def test_no_figure_is_left_to_fill_in():
    for page in ("bench.md", "formulas.md"):
        assert "_TABLE" not in (ROOT / "docs" / page).read_text(encoding="utf-8")
