"""Out of the record and back in, without loss; and the grower's own map of beds."""

import csv
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from datetime import date
from itertools import pairwise

import pytest
from browser import PAYLOADS
from factories import make_result
from shapely import LineString, Polygon
from test_record import run_of, whole

from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.io.bed_map import read_beds
from groundtruth.io.geopackage import from_blob, from_wkt, to_blob, to_wkt
from groundtruth.season import SeasonError, add_change, add_run, set_map
from groundtruth.season.exchange import FORMATS, MANIFEST, export_season, import_season
from groundtruth.season.schema import MIGRATIONS


@pytest.fixture
def full(season):
    """A record with a little of everything."""
    add_run(season, run_of(1, passes=5), soil="dry", note="=1+1")
    add_run(season, run_of(30, passes=4, slip=False), seeder="-two")
    add_change(season, day=date(2027, 6, 8), kind="tyre", note="'quoted'")
    return season


def everything(path):
    with closing(sqlite3.connect(path)) as db:
        names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY 1")]
        names.remove("checksums")  # of one file
        return {n: db.execute(f"SELECT * FROM {n} ORDER BY id").fetchall() for n in names}


@pytest.mark.parametrize("form", FORMATS)
def test_there_and_back_without_loss(full, tmp_path, form):
    if form == "parquet":
        pytest.importorskip("pyarrow")
    export_season(full, tmp_path / "out", form)
    back = tmp_path / "back.gpkg"
    assert import_season(tmp_path / "out", back) == 2
    assert everything(back) == everything(full)
    assert {type(v) for rows in everything(back).values() for r in rows for v in r} == {
        type(v) for rows in everything(full).values() for r in rows for v in r
    }
    add_run(back, run_of(60))  # and it goes on


def test_an_export_of_an_earlier_form_comes_in(full, tmp_path):
    """The form before `fits` had the column `settled` and runs farm and field, with anomalies as
    sentences."""
    out = tmp_path / "out"
    export_season(full, out, "csv")
    manifest = json.loads((out / MANIFEST).read_text())
    manifest |= {"version": 2, "tables": [*manifest["tables"], "oddities"]}
    (out / MANIFEST).write_text(json.dumps(manifest))
    (out / "oddities.csv").write_text(
        "id,run_id,kind,block,bed,number,day,text,sure\n"
        "1,1,short,A,A1,1,2026-05-12,bed A1 was sown short,0.9\n"
    )
    for name, change in (
        ("fits", lambda row: row[:-1]),
        ("runs", lambda row: row[:-4]),
        ("settings", lambda row: row[:-1]),
        ("season_migrations", lambda row: row if row[0] in ("id", "1", "2") else None),
    ):
        with open(out / f"{name}.csv", encoding="utf-8", newline="") as lines:
            rows = [change(row) for row in csv.reader(lines)]
        with open(out / f"{name}.csv", "w", encoding="utf-8", newline="") as lines:
            csv.writer(lines, lineterminator="\n").writerows(r for r in rows if r)
    back = tmp_path / "back.gpkg"
    with pytest.raises(InputError, match="is not as the export in this folder left it"):
        import_season(out, back)
    assert import_season(out, back, unchecked=True) == 2
    for table in ("strips", "anomalies"):
        assert whole(back)[table] == whole(full)[table]
    assert len(whole(back)["season_migrations"]) == len(MIGRATIONS)


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_any_text_comes_back(season, tmp_path, payload):
    shown = payload.encode("utf-8", "replace").decode()
    add_run(season, make_result(passes=2, text=lambda t: shown + t))
    for form in ("csv", "geojson"):
        export_season(season, tmp_path / form, form)
        back = tmp_path / f"{form}.gpkg"
        import_season(tmp_path / form, back)
        assert everything(back) == everything(season)


def test_no_cell_of_the_csv_acts_in_a_spreadsheet(full, tmp_path):
    export_season(full, tmp_path / "out", "csv")
    for file in (tmp_path / "out").glob("*.csv"):
        with open(file, encoding="utf-8", newline="") as lines:
            for row in csv.reader(lines):
                for cell in row:
                    acts = cell[:1] in ("=", "@", "\t", "\r")
                    if cell[:1] in ("+", "-"):
                        float(cell)  # a number may carry its sign
                    assert not acts


def test_the_geojson_is_geojson_and_gdal_reads_it_alike(full, tmp_path):
    pyogrio = pytest.importorskip("pyogrio")
    export_season(full, tmp_path / "out", "geojson")
    for layer in ("strips", "beds", "passes"):
        file = tmp_path / "out" / f"{layer}.geojson"
        assert json.loads(file.read_text())["type"] == "FeatureCollection"
        ours = [r[1][40:] for r in everything(full)[layer]]
        _, _, shapes, _ = pyogrio.raw.read(file)
        assert [bytes(s) for s in shapes] == ours
    ring = json.loads((tmp_path / "out" / "strips.geojson").read_text())["features"][0]
    points = ring["geometry"]["coordinates"][0]
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(points))
    assert area > 0  # counter-clockwise, RFC 7946, 3.1.6


def test_what_was_changed_outside_is_refused_in_one_line(full, tmp_path):
    export_season(full, tmp_path / "out", "csv")
    back = tmp_path / "back.gpkg"
    strips = tmp_path / "out" / "strips.csv"
    whole_text = strips.read_text()
    cases = {
        whole_text.replace("POLYGON", "CIRCLE"): "is damaged or was changed",
        whole_text.replace("pass_id", "pass"): "the columns differ",
        whole_text.replace("\n", "\n9", 1).replace("\n91,", "\n1,"): "",
    }
    for text, says in list(cases.items())[:2]:
        strips.write_text(text)
        with pytest.raises(InputError, match=r"strips.csv: is not as the export in this folder"):
            import_season(tmp_path / "out", back)
        with pytest.raises(InputError, match=says):
            import_season(tmp_path / "out", back, unchecked=True)
    strips.write_text(whole_text)
    passes = tmp_path / "out" / "passes.csv"
    kept = passes.read_text()
    passes.write_text("\n".join(kept.splitlines()[:3]) + "\n")
    with pytest.raises((InputError, SeasonError), match=r"points to a row|record refused"):
        import_season(tmp_path / "out", back, unchecked=True)
    passes.unlink()
    with pytest.raises(InputError, match=r"passes.csv: no such file of the export"):
        import_season(tmp_path / "out", back)
    (tmp_path / "out" / MANIFEST).write_text("{}")
    with pytest.raises(InputError, match="no manifest of an export"):
        import_season(tmp_path / "out", back)
    assert not back.exists()  # a refusal leaves nothing behind
    assert not list(tmp_path.glob(".*"))


@pytest.mark.parametrize("form", ["csv", "geojson"])
def test_a_carriage_return_in_a_note_comes_back(season, tmp_path, form):
    notes = ["one\rtwo", "one\r\ntwo", "\r", "\n\r", 'say "a"\r,b', "\rx"]
    for number, note in enumerate(notes):
        add_run(season, run_of(number, passes=2), note=note)
    export_season(season, tmp_path / "out", form)
    import_season(tmp_path / "out", tmp_path / "back.gpkg")
    assert everything(tmp_path / "back.gpkg") == everything(season)


def test_files_of_two_exports_are_never_mixed(full, tmp_path, capsys):
    """An export killed before each of its renames over an older one: what lies there is taken
    only where it is one export or the other."""
    out, old = tmp_path / "out", tmp_path / "old"
    export_season(full, out, "csv")
    shutil.copytree(out, old)
    states = [everything(full)]
    add_run(full, run_of(60, passes=2))
    add_change(full, day=date(2027, 7, 1), kind="wheel")
    states.append(everything(full))
    real, taken = os.replace, []
    for kill_at in range(1, 40):
        shutil.rmtree(out)
        shutil.copytree(old, out)
        calls = []

        def replace(a, b, calls=calls, kill_at=kill_at):
            calls.append(b)
            if len(calls) == kill_at:
                raise KeyboardInterrupt
            real(a, b)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("groundtruth.io.writing.os.replace", replace)
            try:
                export_season(full, out, "csv")
            except KeyboardInterrupt:
                killed = True
            else:
                killed = False
        back = tmp_path / f"{kill_at}.gpkg"
        said = main(["season", "--season", str(back), "import", str(out)])
        if said == 0:
            taken.append(kill_at)
            assert everything(back) == states[not killed]
        else:
            assert "is not as the export in this folder left it" in capsys.readouterr().err
            assert not back.exists()
        if not killed:
            break
        export_season(full, out, "csv")  # and the next one is not in the way of itself
    assert not killed
    assert kill_at > 15
    assert taken == [1, kill_at]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked children")
def test_a_killed_import_leaves_nothing_that_blocks_the_next(full, tmp_path):
    export_season(full, tmp_path / "out", "csv")
    back = tmp_path / "back.gpkg"
    began = time.perf_counter()
    import_season(tmp_path / "out", tmp_path / "first.gpkg")
    usual = time.perf_counter() - began
    unfinished = 0
    for trial in range(12):
        child = os.fork()
        if child == 0:
            try:
                import_season(tmp_path / "out", back)
            finally:
                os._exit(0)
        time.sleep(usual * trial / 12)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        unfinished += not back.exists()
        if back.exists():
            assert everything(back) == everything(full)
            back.unlink()
    assert unfinished
    assert import_season(tmp_path / "out", back) == 2
    assert everything(back) == everything(full)
    assert not list(tmp_path.glob(".*"))


def test_what_a_killed_first_writing_left_is_no_record(full, tmp_path):
    """A file whose only content is still to be rolled back is as good as none."""
    export_season(full, tmp_path / "out", "csv")
    back = tmp_path / "back.gpkg"
    code = (
        "import os, sqlite3, sys\n"
        "db = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "db.execute('PRAGMA cache_size = 2')\n"
        "db.execute('BEGIN')\n"
        "db.execute('CREATE TABLE a (b)')\n"
        "db.executemany('INSERT INTO a VALUES (?)', [('x' * 4000,)] * 200)\n"
        "os._exit(9)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(back)], check=False)
    assert back.stat().st_size
    assert back.with_name("back.gpkg-journal").stat().st_size
    assert import_season(tmp_path / "out", back) == 2
    assert everything(back) == everything(full)


def test_what_another_program_put_beside_is_left_in_peace_and_named(full, tmp_path, capsys):
    pyogrio = pytest.importorskip("pyogrio")
    source = tmp_path / "beds.geojson"
    source.write_text(beds_text(kind="Polygon"))
    meta, _, shapes, fields = pyogrio.raw.read(source)
    pyogrio.raw.write(
        full, shapes, fields, fields=meta["fields"], crs="EPSG:4326", geometry_type="Polygon",
        layer="my fences", append=True,
    )  # fmt: skip
    add_run(full, run_of(60, passes=2))
    out = tmp_path / "out"
    assert main(["season", "--season", str(full), "export", str(out)]) == 0
    assert "Not exported, since another program made it: my fences" in capsys.readouterr().out
    assert import_season(out, tmp_path / "back.gpkg") == 3
    assert "my fences" in dict(pyogrio.list_layers(full).tolist())
    assert len(pyogrio.raw.read(full, layer="my fences")[2]) == 2


def test_a_record_is_never_imported_over(full, tmp_path):
    export_season(full, tmp_path / "out", "csv")
    with pytest.raises(SeasonError, match="is there already; name a new file"):
        import_season(tmp_path / "out", full)


def test_parquet_carries_the_geometry_by_the_book(full, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    export_season(full, tmp_path / "out", "parquet")
    table = parquet.read_table(tmp_path / "out" / "strips.parquet")
    geo = json.loads(table.schema.metadata[b"geo"])  # GeoParquet 1.1.0
    assert (geo["version"], geo["primary_column"]) == ("1.1.0", "geom")
    assert geo["columns"]["geom"] == {"encoding": "WKB", "geometry_types": ["Polygon"]}
    assert table.column("geom")[0].as_py() == everything(full)["strips"][0][1][40:]


LINE = LineString([(-41.123456789012345, 43.1), (-41.1, 1e-17)])
RING = Polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)])


@pytest.mark.parametrize("shape", [LINE, RING], ids=["line", "polygon"])
def test_geometries_there_and_back(shape):
    assert from_blob(to_blob(shape)) == shape
    assert from_wkt(to_wkt(shape)) == shape


@pytest.mark.parametrize("blob", [b"", b"GP\x00\x03", to_blob(LINE)[:-1], b"X" * 90])
def test_a_blob_that_is_none_of_ours(blob):
    with pytest.raises(ValueError, match="geometry"):
        from_blob(blob)


# The grower's own map ----------------------------------------------------------------------------


def beds_text(names=("E1", "E2"), kind="LineString"):
    features = []
    for i, name in enumerate(names):
        lon = -41.3 + i * 2e-5
        at = [[lon, 43.5], [lon, 43.501]]
        if kind == "Polygon":
            at = [[*at, [lon + 1.5e-5, 43.501], [lon + 1.5e-5, 43.5], [lon, 43.5]]]
        properties = {"name": name, "block": "East"}
        geometry = {"type": kind, "coordinates": at}
        features.append({"type": "Feature", "geometry": geometry, "properties": properties})
    return json.dumps({"type": "FeatureCollection", "features": features})


def test_a_map_of_lines(tmp_path):
    file = tmp_path / "beds.geojson"
    file.write_text(beds_text())
    first, second = read_beds(file)
    assert (first.name, first.block, second.name) == ("E1", "East", "E2")
    assert first.ends == ((-41.3, 43.5), (-41.3, 43.501))


def test_a_map_of_polygons_gives_their_middle_line_and_width(tmp_path):
    file = tmp_path / "beds.geojson"
    file.write_text(beds_text(kind="Polygon"))
    bed = read_beds(file)[0]
    assert {round(lon, 7) for lon, _ in bed.ends} == {-41.2999925}
    assert sorted(round(lat, 7) for _, lat in bed.ends) == [43.5, 43.501]
    # 1.5e-5 degree of longitude at 43.5° N on the ellipsoid (geographiclib)
    from geographiclib.geodesic import Geodesic

    across = Geodesic.WGS84.Inverse(43.5, -41.3, 43.5, -41.3 + 1.5e-5)["s12"]
    assert bed.width_m == pytest.approx(across, rel=0.01)


def test_a_map_from_a_geopackage_written_by_gdal(tmp_path):
    pyogrio = pytest.importorskip("pyogrio")
    source, file = tmp_path / "beds.geojson", tmp_path / "beds.gpkg"
    for kind in ("LineString", "Polygon"):
        source.write_text(beds_text(kind=kind))
        meta, _, shapes, fields = pyogrio.raw.read(source)
        pyogrio.raw.write(
            file, shapes, fields, fields=meta["fields"], crs="EPSG:4326", geometry_type=kind,
            layer="beds",
        )  # fmt: skip
        assert read_beds(file) == read_beds(source)
    pyogrio.raw.write(
        file, shapes, fields, fields=meta["fields"], crs="EPSG:3857", geometry_type=kind,
        layer="beds",
    )  # fmt: skip
    with pytest.raises(InputError, match="save it in EPSG:4326"):
        read_beds(file)


def test_a_map_in_a_sheet(tmp_path):
    file = tmp_path / "beds.csv"
    file.write_text(
        "name,block,start_longitude,start_latitude,end_longitude,end_latitude,width\n"
        "E1,East,-41.3,43.5,-41.3,43.501,1.3 m\n"
    )
    (bed,) = read_beds(file)
    assert bed.ends == ((-41.3, 43.5), (-41.3, 43.501))
    assert bed.width_m == pytest.approx(1.3)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("beds.geojson", "{", "is no GeoJSON"),
        ("beds.geojson", beds_text(names=("", "E2")), "feature 1: the bed has no name"),
        ("beds.geojson", beds_text(names=()), "holds no bed"),
        ("beds.geojson", beds_text(kind="MultiPoint"), "is a MultiPoint, neither a line nor"),
        ("beds.geojson", beds_text(kind="Point"), "feature 1: is no GeoJSON geometry; draw"),
        ("beds.geojson", beds_text().replace("43.501", "143.5"), "longitude and latitude"),
        ("beds.geojson", beds_text().replace("-41.3", "-341.3"), "longitude and latitude"),
        ("beds.gpkg", "not a file of that kind", "is no readable GeoPackage"),
        ("beds.shp", "x", "give a map of beds as"),
    ],
)
def test_a_map_that_cannot_be_used_gets_one_clear_line(tmp_path, name, text, says):
    file = tmp_path / name
    file.write_text(text)
    with pytest.raises(InputError, match=says) as refusal:
        read_beds(file)
    assert "\n" not in str(refusal.value)


def test_a_map_is_taken_once_and_names_the_beds(season, tmp_path):
    file = tmp_path / "beds.geojson"
    file.write_text(beds_text())
    assert set_map(season, read_beds(file)).outcome == "added"
    assert set_map(season, read_beds(file)).outcome == "already there"
    file.write_text(beds_text(names=("E1", "E1")))
    with pytest.raises(SeasonError, match="two beds of the map are called 'E1'"):
        set_map(season, read_beds(file))
    assert [r[2] for r in everything(season)["map_beds"]] == ["E1", "E2"]
    assert len(whole(season)["beds"]) == 2
