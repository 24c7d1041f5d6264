"""The season's pages say what the code does."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from groundtruth.cli.main import build_parser
from groundtruth.season import writing

DOCS = Path(__file__).parents[2] / "docs"


def test_every_column_is_in_the_page_of_the_form(season):
    with writing(season):
        pass
    page = (DOCS / "season-format.md").read_text(encoding="utf-8")
    parts = dict(re.findall(r"(?m)^\*\*`(\w+)`\*\*: .* Columns: (.*)$", page))
    with closing(sqlite3.connect(season)) as db:
        tables = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents")]
        assert set(parts) == set(tables)
        for table in tables:
            columns = {r[1] for r in db.execute(f"PRAGMA table_info({table})")}
            written = set()
            for name, both in re.findall(r"(?:^|, )`(\w+)`(±?)", parts[table]):
                stem = name.removesuffix("_m")
                written |= {name, f"{stem}_u{name[len(stem) :]}"} if both else {name}
            assert written == columns - {"id", "geom"}, table


def test_every_command_of_the_pages_is_understood():
    page = (DOCS / "season.md").read_text(encoding="utf-8")
    lines = re.findall(r"(?m)^    groundtruth (season .*?)(?:   .*)?$", page)
    assert len(lines) > 8
    for line in lines:
        build_parser().parse_args(line.strip().split())


def test_every_action_is_in_the_page():
    from groundtruth.cli.commands import season_actions, season_mending

    page = (DOCS / "season.md").read_text(encoding="utf-8")
    for name in (*dir(season_actions), *dir(season_mending)):
        if name.startswith("do_"):
            assert re.search(rf"\b{name[3:]}\b", page), name
