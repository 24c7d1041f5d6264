"""The pages on run file, turn sheet and tracks name every field, and no other."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from making import feature, geojson, gpx, point, points, stamp

from groundtruth.core.origin import TEXTURES
from groundtruth.io import read_run, read_track
from groundtruth.io import run_table as runtable
from groundtruth.io.sheets import turns as turnsheet
from groundtruth.io.tracks.field_names import field_named

DOCS = Path(__file__).parents[2] / "docs"
RUN_PAGE = (DOCS / "run-file.md").read_text(encoding="utf-8")
TRACK_PAGE = (DOCS / "tracks.md").read_text(encoding="utf-8")
SHEET_PAGE = (DOCS / "turn-sheet.md").read_text(encoding="utf-8")


def documented(page: str, heading: str) -> set[str]:
    """Names in the first column of the table under a heading."""
    part = page.partition(f"## {heading}\n")[2].partition("\n## ")[0]
    return {
        name
        for cell in re.findall(r"(?m)^\| (`[^|]*`) \|", part)
        for name in re.findall(r"`([^`]+)`", cell)
    }


def test_every_field_of_the_run_file_is_documented():
    top = set(runtable.TOP) - {"seeder", "soil", "beds", "sowing"}
    assert documented(RUN_PAGE, "At the top") == top
    assert documented(RUN_PAGE, "`[seeder]`") == set(runtable.SEEDER)
    assert documented(RUN_PAGE, "`[soil]`") == set(runtable.SOIL)
    assert set(re.findall(r'`"([a-z ]+)"`', RUN_PAGE.partition("`texture`")[2])) == set(TEXTURES)
    assert documented(RUN_PAGE, "`[beds]`") == set(runtable.BEDS)
    assert documented(RUN_PAGE, "`[[sowing]]`") == set(runtable.SOWING)


def test_every_column_of_the_sheet_is_documented():
    columns = documented(SHEET_PAGE, "A count for each pass") | {"time", "date"}
    assert columns == set(turnsheet.COLUMNS)


def test_the_examples_can_be_read(write):
    write("track.gpx", gpx(points(8)))
    counts, readings = re.findall(r"(?s)```csv\n(.*?)```", SHEET_PAGE)
    example = re.findall(r"(?s)```toml\n(.*?)```", RUN_PAGE)[0]
    assert set(tomllib.loads(example)["seeder"]) == set(runtable.SEEDER) - {"teeth"}
    path = write("run.toml", example)
    for sheet, units in ((counts, ("A", "B")), (readings, ("A",))):
        write("turns.csv", sheet)
        run = read_run(path)
        assert run.turns.units == units
        assert run.turns.notices == ()


def documented_rows(heading: str) -> list[list[str]]:
    """Cells of the table under a heading of the page on tracks."""
    part = TRACK_PAGE.partition(heading)[2].partition("\n\n")[2].partition("\n\n")[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in part.splitlines()][2:]


def test_every_documented_column_is_known():
    names = {"latitude": "lat", "longitude": "lon", "HDOP": "hdop"}
    rows = documented_rows("Columns of a CSV, and")
    assert len(rows) == 12
    for field, written, _ in rows:
        for name in written.replace(", …", "").split(", "):
            assert field_named(name).name == names.get(field, field), name


def test_every_documented_spelling_of_times_and_fields_is_read(write):
    (row,) = (row for row in documented_rows("## Formats") if row[0] == "GeoJSON")
    spellings = re.findall(r"`(\w+)`", row[2])
    lines = spellings[spellings.index("coordTimes") : spellings.index("Point")]
    assert len(lines) == 6
    dated = spellings[spellings.index("Point") + 1 :]
    assert len(dated) == 4
    for name in lines:
        line = feature("LineString", [[7.1, 48.7], [7.1, 48.70001]], **{name: [stamp(0), stamp(1)]})
        assert len(read_track(write("a.geojson", geojson(line)))) == 2
    for name in dated:
        fixes = [feature("Point", [7.1, 48.7 + s * 1e-5], **{name: stamp(s)}) for s in range(2)]
        assert len(read_track(write("a.geojson", geojson(*fixes)))) == 2
    (row,) = (row for row in documented_rows("## Formats") if row[0] == "GPX 1.0 and 1.1")
    accuracies = re.findall(r"`(\w+)`", row[2].partition("`speed`, ")[2].partition(")")[0])
    assert len(accuracies) == 4
    for name in accuracies:
        body = "".join(point(s, inner=f"<x:{name}>3</x:{name}>") for s in range(2))
        assert read_track(write("a.gpx", gpx(body))).accuracy_m.tolist() == [3, 3]
