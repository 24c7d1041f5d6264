"""What stands behind the maps: read from GeoJSON and KML, bounded, and drawn by every map."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from browser import PAYLOADS, PHONE

from groundtruth.app.measure import MeasureRequest, measured_run_for
from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.io import read_backdrop
from groundtruth.io.backdrop import MOST_DRAWN
from groundtruth.io.files import Source
from groundtruth.views import field_map_html

SAMPLE = Path(__file__).parents[1] / "sample_tracks" / "dry-firm"
RESULT = measured_run_for(MeasureRequest(run=SAMPLE / "run.toml")).result
LON, LAT = RESULT.lines[0].axis[0]
FIELD = [[LON - 0.001, LAT - 0.001], [LON + 0.001, LAT - 0.001], [LON + 0.001, LAT + 0.001],
         [LON - 0.001, LAT + 0.001], [LON - 0.001, LAT - 0.001]]  # fmt: skip
PATH = [[LON - 0.002, LAT - 0.0008], [LON + 0.002, LAT - 0.0008]]


def geojson(*features) -> Source:
    text = json.dumps({"type": "FeatureCollection", "features": list(features)})
    return Source("farm.geojson", text.encode())


def feature(kind, coordinates, **values):
    shape = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": values, "geometry": shape}


def kml(inner: str) -> Source:
    text = f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2">{inner}</kml>'
    return Source("farm.kml", text.encode())


def test_every_geometry_of_geojson_with_lines_or_areas():
    """The kinds of RFC 7946, 3.1; a position may carry a height (3.1.1)."""
    hole = [[LON, LAT], [LON + 1e-4, LAT], [LON, LAT + 1e-4], [LON, LAT]]
    parts = [
        {"type": "LineString", "coordinates": PATH},
        {"type": "Point", "coordinates": [1, 2]},
    ]
    collection = {"type": "GeometryCollection", "geometries": parts}
    found = read_backdrop(
        geojson(
            feature("Polygon", [FIELD, hole], name="Long Piece"),
            feature("MultiPolygon", [[FIELD], [hole]], Name="Two"),
            feature("LineString", [[*p, 80.0] for p in PATH], title="track"),
            feature("MultiLineString", [PATH, PATH]),
            feature("MultiPoint", [[1, 2], [3, 4]]),
            {"type": "Feature", "properties": None, "geometry": collection},
            {"type": "Feature", "properties": {}, "geometry": None},
        )
    )
    said = [(one.name, one.is_area, len(one.places)) for one in found.shapes]
    assert said == [
        ("Long Piece", True, 5),
        ("Long Piece", True, 4),
        ("Two", True, 5),
        ("Two", True, 4),
        ("track", False, 2),
        ("", False, 2),
        ("", False, 2),
        ("", False, 2),
    ]
    assert found.shapes[4].places == tuple(map(tuple, PATH))
    assert [n.text for n in found.notices] == ["3 points are not drawn; lines and areas are"]


def test_kml_with_names_before_or_behind_and_in_folders():
    """Placemark, Polygon, LineString and MultiGeometry of OGC 12-007r2."""
    ring = " ".join(f"{lon},{lat},0" for lon, lat in FIELD)
    line = "\n".join(f"{lon}, {lat}" for lon, lat in PATH)
    found = read_backdrop(
        kml(
            f"""<Document><name>Farm</name><Folder><name>Fields</name>
            <Placemark><name>Long Piece</name><MultiGeometry><Polygon><outerBoundaryIs><LinearRing>
            <coordinates>{ring}</coordinates></LinearRing></outerBoundaryIs></Polygon><LineString>
            <coordinates>{line}</coordinates></LineString></MultiGeometry></Placemark></Folder>
            <Placemark><LineString><coordinates>{line}</coordinates></LineString>
            <name>lane</name></Placemark>
            <Placemark><Point><coordinates>1,2</coordinates></Point></Placemark></Document>"""
        )
    )
    said = [(one.name, one.is_area, len(one.places)) for one in found.shapes]
    assert said == [("Long Piece", True, 5), ("Long Piece", False, 2), ("lane", False, 2)]
    assert found.shapes[0].places == tuple(map(tuple, FIELD))


def test_much_detail_is_left_out_and_the_shape_stays():
    angle = np.linspace(0, 2 * np.pi, 300_000)
    circle = np.column_stack([LON + 0.01 * np.cos(angle), LAT + 0.01 * np.sin(angle)])
    circle[-1] = circle[0]
    wiggle = circle + np.random.default_rng(1).normal(0, 2e-6, circle.shape)
    found = read_backdrop(geojson(feature("LineString", wiggle.round(8).tolist())))
    (shape,) = found.shapes
    assert 50 < len(shape.places) <= MOST_DRAWN
    away = np.hypot(*(np.array(shape.places) - [LON, LAT]).T)
    assert away.min() > 0.0098
    assert away.max() < 0.0102


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (Source("a.geojson", b""), "the file is empty"),
        (Source("a.geojson", b"[1"), "is no GeoJSON"),
        (Source("a.geojson", b"[1]"), "is no GeoJSON"),
        (Source("a.geojson", b'{"type": "FeatureCollection", "features": 3}'), "is no GeoJSON"),
        (geojson(3), "feature 1 is no GeoJSON feature"),
        (geojson(feature("Line", PATH)), "feature 1 is no GeoJSON geometry"),
        (geojson(feature("LineString", [[1, "2"], [3, 4]])), "feature 1 is no GeoJSON geometry"),
        (geojson(feature("LineString", [[1], [2]])), "feature 1 is no GeoJSON geometry"),
        (geojson(feature(3, [[1], [2]])), "feature 1 is no GeoJSON geometry"),
        (geojson(feature("LineString", [[10**400, 2], [3, 4]])), "is no GeoJSON geometry"),
        (geojson(feature("Polygon", {"a": 3})), "feature 1 is no GeoJSON geometry"),
        (geojson(feature("Point", [1, 2])), "holds no line and no area"),
        (geojson(feature("LineString", [[4.2e6, 5.1e6], [4.3e6, 5.2e6]])), "save it in WGS 84"),
        (Source("a.geojson", b"[" * 100_000), "is no GeoJSON"),
        (Source("a.gpx", b"<gpx/>"), "as .geojson or .kml"),
        (Source("a.kml", b"<kml><a></kml>"), "is no whole KML (mismatched tag, line 1)"),
        (Source("a.kml", b"<gpx></gpx>"), "is no KML"),
        (kml(""), "holds no line and no area"),
        (Source("a.kml", b'<!DOCTYPE kml [<!ENTITY a "b">]><kml/>'), "has a DOCTYPE"),
        (Source("a.kml", b"<kml>" + b"<a>" * 99), "nested deeper than 64"),
        (
            kml("<Placemark><LineString><coordinates>1,x 2,3</coordinates></LineString>"
                "</Placemark>"),
            "'1,x' is no longitude,latitude",
        ),
        (
            kml("<Placemark><LineString><coordinates>nan,1 2,3</coordinates></LineString>"
                "</Placemark>"),
            "'nan,1' is no longitude,latitude",
        ),
        (Source("a.kml", b'<?xml version="1.0" encoding="x-none"?><kml/>'), "a.kml: is "),
    ],
    ids=range(23),
)  # fmt: skip
def test_what_cannot_be_used_is_refused_in_one_line(source, said):
    with pytest.raises(InputError) as refused:
        read_backdrop(source)
    assert said in str(refused.value)
    assert str(refused.value).startswith(source.name)
    assert "\n" not in str(refused.value)


def test_more_than_a_farm_has_is_refused():
    many = [feature("LineString", PATH)] * 20_001
    with pytest.raises(InputError, match=r"more than 20,000 shapes or 1,000,000 positions"):
        read_backdrop(geojson(*many))


LOOK = """() => { const canvas = document.querySelector(".leaflet-backdrop-pane canvas");
  if (!canvas) return { drawn: false, names: [] };
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  return { drawn: data.some((v, i) => i % 4 === 3 && v > 0),
    names: [...document.querySelectorAll(".backdrop-name")].map((one) => one.textContent) }; }"""


@pytest.mark.parametrize("size", [(1280, 900), PHONE], ids=["laptop", "phone"])
def test_the_run_map_draws_it_behind_the_passes(browser, tmp_path, size):
    shapes = geojson(feature("Polygon", [FIELD], name="Long Piece"), feature("LineString", PATH))
    html = field_map_html(RESULT, backdrop=read_backdrop(shapes))
    with browser.opened(html, tmp_path, size) as opened:
        opened.page.wait_for_selector("body.ready")
        seen = opened.page.evaluate(LOOK)
        assert seen == {"drawn": True, "names": ["Long Piece"]}
        order = opened.page.evaluate(
            """() => ["backdrop", "overlay"].map((name) =>
            Number(getComputedStyle(document.querySelector(`.leaflet-${name}-pane`)).zIndex))"""
        )
        assert order[0] < order[1]
        for _ in range(9):  # far out the name has no room
            opened.page.click(".leaflet-control-zoom-out")
            opened.page.wait_for_timeout(350)
        opened.page.wait_for_selector(".backdrop-name", state="detached")
        opened.assert_quiet()


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_names_from_the_file_are_only_ever_shown(browser, tmp_path, text):
    text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    shapes = geojson(feature("Polygon", [FIELD], name=text))
    html = field_map_html(RESULT, backdrop=read_backdrop(shapes))
    with browser.opened(html, tmp_path) as opened:
        opened.page.wait_for_selector("body.ready")
        assert (
            opened.page.evaluate("document.querySelectorAll('img, iframe, b, svg[onload]').length")
            == 0
        )
        opened.assert_quiet()


def test_commands_take_it_for_the_run_map_and_the_season_map(tmp_path, capsys):
    farm = tmp_path / "farm.geojson"
    farm.write_bytes(geojson(feature("Polygon", [FIELD], name="Long Piece")).data)
    run, record = str(SAMPLE / "run.toml"), ("season", "--season", str(tmp_path / "s.gpkg"))
    out = tmp_path / "out"
    assert main(["measure", run, "--out", str(out), "--backdrop", str(farm)]) == 0
    assert "Long Piece" in (out / "map.html").read_text()
    assert main([*record, "add", str(out / "result.json")]) == 0
    season = tmp_path / "season.html"
    assert main([*record, "map", "--out", str(season), "--backdrop", str(farm)]) == 0
    assert "Long Piece" in season.read_text()
    farm.write_text("{}")
    capsys.readouterr()
    again = tmp_path / "again.html"
    assert main([*record, "map", "--out", str(again), "--backdrop", str(farm)]) == 2
    assert "farm.geojson" in capsys.readouterr().err
    assert not again.exists()
