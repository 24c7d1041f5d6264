"""One more column on a recorded run or pass is one definition: tried on a copy of the package.

Insert, select, JSON, the table that people read, the data frame and the step that brings older
files forward all have to follow from the line that is put in.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from test_record import run_of

from groundtruth.io.result_json import result_to_json
from groundtruth.season import add_run
from groundtruth.season.forms import NEWEST

PACKAGE = Path(__file__).parents[2] / "groundtruth"

ON_A_RUN = (
    'RecordColumn("note", "TEXT", lambda r: r.note),',
    'RecordColumn("counts", "INTEGER", lambda r: len(r.result.passes), json="counts", '
    f'heading="counts", shown="count", since={NEWEST + 1}),',
)
ON_A_PASS = (
    'RecordColumn("speed", "DOUBLE", lambda p: p.line.speed_m_s, unit="_m_s"),',
    'RecordColumn("took", "DOUBLE", lambda p: p.end_s - p.start_s, unit="_s", json="took", '
    f'heading="took, s", shown="count", since={NEWEST + 2}),',
)


@pytest.fixture(scope="module")
def changed(tmp_path_factory):
    """The package with the two definitions put in, and nothing else."""
    folder = tmp_path_factory.mktemp("changed")
    copy = shutil.copytree(
        PACKAGE, folder / "groundtruth", ignore=shutil.ignore_patterns("__pycache__")
    )
    file = copy / "season" / "run_tables.py"
    text = file.read_text("utf-8")
    for before, new in (ON_A_RUN, ON_A_PASS):
        assert text.count(before) == 1
        text = text.replace(before, f"{before}\n        {new}")
    file.write_text(text, "utf-8")
    return folder


def asked(changed, *words):
    done = subprocess.run(
        [sys.executable, *words],
        cwd=changed,
        env={**os.environ, "PYTHONPATH": str(changed), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("recorded_by", ["the package as it is", "the changed package"])
def test_a_column_is_kept_read_and_shown_by_its_definition_alone(changed, tmp_path, recorded_by):
    """Also in a file of the form before, whose runs get the figure from their whole results."""
    record, result = tmp_path / "season.gpkg", tmp_path / "result.json"
    run = run_of(1)
    result.write_text(result_to_json(run), "utf-8")
    season = ("-m", "groundtruth", "season", "--season", str(record))
    if recorded_by == "the changed package":
        asked(changed, *season, "add", str(result))
    else:
        add_run(record, run)
    found = json.loads(asked(changed, *season, "show", "--json"))
    assert [r["counts"] for r in found["runs"]] == [len(run.passes)]
    took = {f.number: f.end_s - f.start_s for f in run.passes}
    assert [s["took_s"] for s in found["sowings"]] == pytest.approx(
        [took[s["pass"]] for s in found["sowings"]]
    )
    shown = asked(changed, *season, "show", "--all-beds")
    (heading,) = (line for line in shown.splitlines() if "counts" in line)
    assert heading.split()[:3] == ["day", "run", "passes"]
    assert "took, s" in shown
    frame = asked(
        changed, "-c", "from pathlib import Path; from groundtruth.season import read_season;"
        f"season = read_season(Path({str(record)!r})); print(*season.to_frame('runs')['counts']);"
        "print(len(season.to_frame('passes')['took_s'].dropna()))",
    )  # fmt: skip
    assert frame.split() == [str(len(run.passes)), str(len(took))]
    asked(changed, *season, "add", str(result))  # and the file goes on
    assert "sound" in asked(changed, *season, "check")


def test_the_definitions_are_the_columns_of_the_file(season):
    from groundtruth.season.bed_tables import TABLES
    from groundtruth.season.forms import columns_of

    kept = columns_of(NEWEST)
    for table in TABLES:
        defined = {(n, k) for c in table.columns for n, k in c.fields}
        refers = {(n, "INTEGER") for n in ("id", *table.refers_to)}
        assert defined | refers == set(kept[table.name]), table.name
