"""docs/fleet.md: its commands work as written, and it names every column."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

from groundtruth.cli.main import main
from groundtruth.fleet.columns import PASS_COLUMNS, RUN_COLUMNS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "fleet.md").read_text(encoding="utf-8")


def test_the_commands_work_as_written(tmp_path, monkeypatch):
    lines = re.search(r"```sh\n(.*?)```", PAGE, re.S)[1].splitlines()
    assert len(lines) == 11
    (tmp_path / "sample_tracks").symlink_to(ROOT / "sample_tracks")
    program, *words = shlex.split(lines[0])
    assert program == "python"
    subprocess.run(
        [sys.executable, *words[:2], str(tmp_path / words[2]), *words[3:]], cwd=ROOT, check=True
    )
    monkeypatch.chdir(tmp_path)
    for line in lines[1:]:
        program, *words = shlex.split(line)
        assert program == "groundtruth"
        assert main(words) == 0, line
    for name in ("seeders.html", "cells.gpkg", "prior.json", "row.json"):
        assert (tmp_path / name).stat().st_size > 100, name


def test_the_page_names_every_column():
    for heading, columns in (("runs", RUN_COLUMNS), ("passes", PASS_COLUMNS)):
        text = re.search(rf"\*\*{heading}\*\*[^\n]*", PAGE.split("## Columns")[1])[0]
        assert set(re.findall(r"`([a-z_]+)`", text)) == {name for name, _ in columns}
