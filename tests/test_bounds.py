"""What is handed over is a regular file of bounded size, and reading it costs bounded memory."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import tracemalloc
import zlib
from contextlib import closing
from pathlib import Path

import pytest

from groundtruth.cli.main import main
from groundtruth.core.errors import InputError, RunFileError, SheetError
from groundtruth.io import read_bench, read_run
from groundtruth.io.bed_map import read_beds
from groundtruth.io.bounded_json import MAX_DEPTH, memory_of, nested_too_deeply, parse_json
from groundtruth.io.files import MAX_RESULT_BYTES
from groundtruth.io.geopackage import line, to_blob
from groundtruth.io.geopackage_tables import GEOPACKAGE
from groundtruth.season.packing import pack, unpack

posix = pytest.mark.skipif(os.name == "nt", reason="pipes and devices are POSIX matters")

# Run files ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "part", ["a", '"a"', "'!'", '"a b"', '"\\u0041"', '"a\\"."', '""', "'x.y'", "a \t"]
)
@pytest.mark.parametrize("place", ["{} = 1", "[{}]", "[[{}]]", "a = {{ {} = 1 }}"])
def test_a_key_of_many_parts_is_refused_however_it_is_written(tmp_path, part, place):
    """tomllib takes memory by the square of the number of parts: 3.6 GB for a file of 120 kB."""
    run = tmp_path / "run.toml"
    run.write_text(place.format(".".join([part] * 3000)))
    with pytest.raises(RunFileError, match="a key of more than 30 parts"):
        read_run(run)


@pytest.mark.parametrize(
    "text",
    [
        'name = "' + "a." * 5000 + '"',
        "name = '" + "a." * 5000 + "'",
        'name = """' + "a.\n" * 5000 + '"""',
        "# " + "a." * 5000,
        "\n".join("# a.b" for _ in range(5000)),
        "x = [" + "1.5, " * 5000 + "]",
        '"' * 60_000,
        "'" * 60_000,
        '"\\"' * 30_000,
        "a" * 120_000,
        ". " * 20,
    ],
)
def test_dots_elsewhere_are_no_key(tmp_path, text):
    run = tmp_path / "run.toml"
    run.write_text(text)
    with pytest.raises(RunFileError) as refusal:
        read_run(run)
    assert "parts" not in str(refusal.value)


@pytest.mark.parametrize(
    "number", ["9" * 5000, "0x" + "f" * 5000, "0x8000000000000000", "-9223372036854775809"]
)
def test_an_integer_that_toml_does_not_know_is_refused(tmp_path, number):
    """64 bits with a sign [TOML 1.0.0, "Integer"]."""
    run = tmp_path / "run.toml"
    run.write_text(f"[seeder]\nrow_units = {number}\n")
    with pytest.raises(RunFileError) as refusal:
        read_run(run)
    assert "\n" not in str(refusal.value)


# Files that are none -----------------------------------------------------------------------------


@posix
@pytest.mark.parametrize("kind", ["pipe", "/dev/zero", "folder"])
@pytest.mark.parametrize(
    "words",
    [
        ("season", "show", "--season", "{}"),
        ("season", "check", "--season", "{}"),
        ("season", "change", "tyre", "--day", "2027-01-01", "--season", "{}"),
        ("season", "rescue", "new.gpkg", "--season", "{}"),
        ("season", "restore", "{}", "--season", "other.gpkg"),
        ("season", "beds", "{}", "--season", "other.gpkg"),
        ("season", "add", "{}", "--season", "other.gpkg"),
        ("season", "export", "out", "--season", "{}"),
        ("measure", "{}"),
        ("inspect", "{}"),
        ("bench", "{}"),
        ("stands", "{}"),
        ("card", "{}", "--crop", "leek", "--ground-per-turn", "60 cm", "--spacing", "3 cm"),
        ("target", "--ground-per-turn", "60 cm", "--crops", "{}"),
        ("measure", "track.gpx", "--turns", "{}"),
    ],
    ids=" ".join,
)
def test_no_door_waits_for_a_pipe_or_reads_a_device(tmp_path, monkeypatch, capsys, kind, words):
    monkeypatch.chdir(tmp_path)
    name = kind if kind.startswith("/") else f"{kind}.gpkg"
    if kind == "pipe":
        os.mkfifo(name)
    elif kind == "folder":
        os.mkdir(name)
    assert main([word.format(name) for word in words]) == 2
    printed = capsys.readouterr()
    assert printed.err.count("\n") == 1
    assert {p.name for p in tmp_path.iterdir()} <= {name}


@posix
def test_a_pipe_in_an_exported_folder_is_refused(tmp_path, capsys):
    from season.test_record import run_of

    from groundtruth.season import add_run, export_season

    record, out = tmp_path / "s.gpkg", tmp_path / "out"
    add_run(record, run_of(1))
    export_season(record, out, "csv")
    for name in ("runs.csv", "season.json"):
        (out / name).unlink()
        os.mkfifo(out / name)
        code = main(["season", "import", str(out), "--season", str(tmp_path / "new.gpkg")])
        assert code == 2
        assert f"{name}: is a device or pipe" in capsys.readouterr().err


# GeoPackages -------------------------------------------------------------------------------------

BLOB = to_blob(line([(7.1, 48.7), (7.1, 48.8)])).hex()
ENDLESS = "WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c) SELECT i AS id,"
ROW = f"(1, 'A', x'{BLOB}')"


def a_map(folder, *statements):
    """A GeoPackage with one registered layer of lines called b."""
    file = folder / "beds.gpkg"
    with closing(sqlite3.connect(file)) as db:
        db.executescript(GEOPACKAGE)
        for statement in (
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id)"
            " VALUES ('b', 'features', 'b', 4326)",
            "INSERT INTO gpkg_geometry_columns VALUES ('b', 'geom', 'LINESTRING', 4326, 0, 0)",
            *statements,
        ):
            db.execute(statement)
        db.commit()
    return file


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        (f"CREATE VIEW b AS {ENDLESS} 1 AS name, x'{BLOB}' AS geom FROM c", "more than 20000 beds"),
        (f"CREATE VIEW b AS {ENDLESS} 1 AS geom FROM c WHERE i < 0", "takes too long"),
        ("CREATE VIEW b AS SELECT 1 AS id, zeroblob(900000000) AS geom", "too big"),
        ("CREATE TABLE b (id, name, shape)", "layer b has no column geom"),
        ("UPDATE gpkg_geometry_columns SET column_name = 7", "has no column 7|no such table"),
        ("UPDATE gpkg_geometry_columns SET column_name = x'00'", "is no text"),
        (
            "UPDATE gpkg_spatial_ref_sys SET organization_coordsys_id = '\x1b[31m' || char(10)",
            r"is in EPSG: ?\[31m; save",
        ),
    ],
)  # fmt: skip
def test_a_map_program_s_file_may_hold_anything(tmp_path, statement, says):
    with pytest.raises(InputError, match=says) as refusal:
        read_beds(a_map(tmp_path, statement))
    assert str(refusal.value).isprintable()


def test_names_of_columns_do_not_tell_capitals_apart(tmp_path):
    file = a_map(tmp_path, "CREATE TABLE b (ID, NAME, GEOM)", f"INSERT INTO b VALUES {ROW}")
    assert [bed.name for bed in read_beds(file)] == ["A"]


def test_a_layer_s_name_is_only_ever_a_name(tmp_path):
    evil = 'x"; DROP TABLE gpkg_contents; --'
    quoted = evil.replace('"', '""')
    file = a_map(
        tmp_path,
        f'CREATE TABLE "{quoted}" (id, name, geom)',
        f'INSERT INTO "{quoted}" VALUES {ROW}',
        f"UPDATE gpkg_geometry_columns SET table_name = '{evil}'",
    )
    assert [bed.name for bed in read_beds(file)] == ["A"]


@pytest.mark.parametrize(
    "properties",
    ["[]", "[[1, 2]]", '"A"', "7", "null", '{"name": {"a": 1}}', '{"name": [1]}', '{"name": true}',
     '{"name": null}', '{"name": ""}', '{"name": "\\u202e\\u0000"}', '{"name": 1e999}'],
)  # fmt: skip
def test_odd_properties_of_a_bed_are_refused_in_one_line(tmp_path, properties):
    file = tmp_path / "beds.geojson"
    file.write_text(
        '{"features": [{"geometry": {"type": "LineString", "coordinates": [[7, 48], [7, 49]]},'
        f' "properties": {properties}}}]}}'
    )
    with pytest.raises(InputError, match=r"has no name|is no GeoJSON feature") as refusal:
        read_beds(file)
    assert str(refusal.value).isprintable()


# Packed and JSON ---------------------------------------------------------------------------------


def test_a_packed_text_is_unpacked_no_further_than_ours_go():
    assert unpack(pack("{}")) == "{}"
    bomb = zlib.compress(bytes(MAX_RESULT_BYTES + 1))
    assert len(bomb) < 100_000
    tracemalloc.start()
    for wrong in (bomb, bomb[:-9], b"", b"x", None, "text", zlib.compress(b"\xff")):
        with pytest.raises(ValueError):  # noqa: PT011 - what it says is nobody's to read
            unpack(wrong)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 3 * MAX_RESULT_BYTES


def test_a_bomb_in_the_record_is_a_lost_run(tmp_path):
    from season.test_record import run_of

    from groundtruth.season import add_run
    from groundtruth.season.checking import accept, rescue
    from groundtruth.season.refusals import SeasonError

    record = tmp_path / "s.gpkg"
    add_run(record, run_of(1))
    add_run(record, run_of(2))
    with closing(sqlite3.connect(record)) as db:
        db.execute(
            "UPDATE results SET json_zlib = ? WHERE run_id = 1",
            (zlib.compress(bytes(2 * MAX_RESULT_BYTES)),),
        )
        db.commit()
    said = rescue(record, tmp_path / "new.gpkg")
    assert any("run 1" in text and "lost" in text for text in said)
    with pytest.raises(
        SeasonError, match="results, row 1: a packed text that is cut off or too large"
    ):
        accept(record)
    assert main(["season", "add", "x.json", "--season", str(record)]) == 2


SHAPES = {
    "empty objects": "{}",
    "objects": '{"a": 1}',
    "empty lists": "[]",
    "positions": "[7.1234567, 48.7654321, 210.5]",
    "numbers": "1234567",
    "texts": '"2026-05-12T07:00:00Z"',
    "short texts": '"a"',
    "points": '{"type": "Feature", "geometry": {"type": "Point", "coordinates": [7.1, 48.7]}, '
    '"properties": {"time": "2026-05-12T07:00:00Z"}}',
}


@pytest.mark.parametrize("shape", SHAPES)
def test_json_never_takes_more_memory_than_was_reckoned(shape):
    text = "[" + ", ".join([SHAPES[shape].replace("1", str(k)) for k in range(1000, 9000)]) + "]"
    tracemalloc.start()
    value = json.loads(text)
    taken = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(value) == 8000
    assert taken < memory_of(text.encode()) < 20 * taken


INNER = ["1", '"[[[["', r'"\"]]]]"', r'{"a\\": "\\"}', '[{"]": []}]', r'"\u005b\\"']


@pytest.mark.parametrize("inner", INNER)
@pytest.mark.parametrize("way", ['[{},"]]]"]', '{{"}}[\\"": {}}}', '[[], {}, {{}}, "\\\\"]'])
def test_depth_is_counted_without_what_stands_in_texts(inner, way):
    def deep(value):
        parts = value.values() if isinstance(value, dict) else value
        return 1 + max(map(deep, parts), default=0) if isinstance(value, dict | list) else 0

    text, depth = inner, 0
    while depth <= MAX_DEPTH + 2:
        text = way.format(text)
        depth = deep(json.loads(text))
        assert nested_too_deeply(text) is (depth > MAX_DEPTH)


def test_what_is_nested_too_deeply_is_not_parsed():
    for text in ("[" * 1_000_000, '{"a":' * 200 + "1" + "}" * 200):
        with pytest.raises(ValueError, match="nested too deeply"):
            parse_json(text)


# Sheets ------------------------------------------------------------------------------------------


def test_columns_and_settings_of_a_sheet_are_counted(tmp_path):
    sheet = tmp_path / "bench.csv"
    sheet.write_text(f"setting,turns,seeds,{','.join('0' * 300)}\n1,2,3\n")
    with pytest.raises(SheetError, match=r"line 1: 303 columns; this is no bench sheet"):
        read_bench(sheet)
    sheet.write_text("setting,turns,seeds\n" + "".join(f"{i},20,118\n" for i in range(1001)))
    with pytest.raises(SheetError, match="1001 settings of crops; up to 1000"):
        read_bench(sheet)
    sheet.write_text("setting,turns,seeds\n" + "".join(f"{i},20,118\n" for i in range(1000)))
    assert len(read_bench(sheet).counts) == 1000


def test_the_unit_in_a_heading_is_sought_in_short_ones_only(tmp_path):
    sheet = tmp_path / "bench.csv"
    sheet.write_text(f"setting,turns,seeds,{'_ ' * 900}m\n1,2,3,\n")
    assert len(read_bench(sheet).counts) == 1


# No zone database --------------------------------------------------------------------------------


NO_ZONES = "this computer has no database of time zones; python -m pip install tzdata"


def test_a_machine_without_time_zones_is_served_or_told(tmp_path):
    sample = Path(__file__).parents[1] / "sample_tracks" / "dry-firm" / "run.toml"
    code = (
        "import sys\n"
        "if sys.argv[1] == 'bare': sys.modules['tzdata'] = None\n"
        "from groundtruth.cli.main import main\n"
        "sys.exit(main(['measure', sys.argv[2], '--out', sys.argv[3]]))\n"
    )
    for kind in ("with tzdata", "bare"):
        done = subprocess.run(
            [sys.executable, "-c", code, kind, str(sample), str(tmp_path)],
            capture_output=True, text=True, check=False, env={**os.environ, "PYTHONTZPATH": ""},
        )  # fmt: skip
        assert "Traceback" not in done.stderr
        if kind == "bare":
            assert done.returncode == 2
            assert NO_ZONES in done.stderr
        else:
            assert done.returncode == 0, done.stderr
