"""Beds as GPX, read back by gpxpy; distances against geographiclib."""

from dataclasses import replace
from datetime import date

import gpxpy
import numpy as np
import pytest
from days import PLANE, SPACING_M, sown_day
from geographiclib.geodesic import Geodesic
from test_record import run_of

from groundtruth.beds import lay_out
from groundtruth.cli.main import main
from groundtruth.core.plane import Axis
from groundtruth.io.gpx_beds import gpx_of_beds
from groundtruth.season import add_change, add_run
from groundtruth.season.query import read_season

STILL = {"slow": (0.01, 100.0), "offset_m": (0.0, 0.0)}


@pytest.fixture(scope="module")
def beds():
    return lay_out({"a": sown_day(np.random.default_rng(2), range(5), run="a", **STILL)}).beds


def turned(passes, bearing_deg):
    """The same passes in a field that is turned, clockwise."""
    axis = Axis.towards(bearing_deg)

    def turn(lon, lat):
        east, north = PLANE.to_metres([lon], [lat])
        found = PLANE.to_degrees(*axis.from_origin(north, east))
        return float(found[0][0]), float(found[1][0])

    return [
        replace(
            p,
            axis=tuple(turn(*end) for end in p.axis),
            positions=tuple((t, *turn(lon, lat)) for t, lon, lat in p.positions),
        )
        for p in passes
    ]


def metres(a, b):
    return Geodesic.WGS84.Inverse(a.latitude, a.longitude, b.latitude, b.longitude)["s12"]


def test_each_bed_has_its_corners_and_its_centre_line(beds):
    read = gpxpy.parse(gpx_of_beds(beds))
    assert [r.name for r in read.routes] == [b.name for b in beds] == ["A1", "A2", "A3", "A4", "A5"]
    assert len(read.waypoints) == 4 * len(beds)
    for bed, route in zip(beds, read.routes, strict=True):
        corners = {w.name: w for w in read.waypoints if w.name.startswith(f"{bed.name} ")}
        assert set(corners) == {
            f"{bed.name} {end} end, {side} side" for end in "NS" for side in "EW"
        }
        outline = {(round(lon, 8), round(lat, 8)) for lon, lat in bed.outline.exterior.coords}
        assert {(w.longitude, w.latitude) for w in corners.values()} == outline
        south, north = route.points
        assert metres(south, north) == pytest.approx(90, abs=1)
        for end, at in (("S", south), ("N", north)):
            sides = [corners[f"{bed.name} {end} end, {side} side"] for side in "EW"]
            assert metres(*sides) == pytest.approx(1.28, abs=0.01)
            assert [metres(at, side) for side in sides] == pytest.approx([0.64, 0.64], abs=0.01)
        east, west = (corners[f"{bed.name} S end, {side} side"].longitude for side in "EW")
        assert east > west
    starts = [r.points[0] for r in read.routes]
    assert metres(starts[0], starts[4]) == pytest.approx(4 * SPACING_M, abs=0.2)


@pytest.mark.parametrize(
    ("bearing_deg", "ends", "sides"), [(90, "EW", "NS"), (45, ("NE", "SW"), ("NW", "SE"))]
)
def test_corners_are_called_by_the_way_the_beds_run(bearing_deg, ends, sides):
    passes = turned(sown_day(np.random.default_rng(2), [0, 1], run="a", **STILL), bearing_deg)
    read = gpxpy.parse(gpx_of_beds(lay_out({"a": passes}).beds))
    assert {w.name.split(" ", 1)[1] for w in read.waypoints} == {
        f"{end} end, {side} side" for end in ends for side in sides
    }
    for route in read.routes:
        middle = np.mean([(p.longitude, p.latitude) for p in route.points], axis=0)
        for corner in read.waypoints:
            if corner.name.startswith(f"{route.name} "):
                end = corner.name.split()[1]
                assert ("E" in end) == (corner.longitude > middle[0])


def test_any_name_is_xml(beds):
    bed = replace(beds[0], name='<&"\x01\u202e>', block="]]>")
    read = gpxpy.parse(gpx_of_beds([bed]))
    assert read.routes[0].name == '<&"\\x01\\u202e>'
    assert "block ]]>" in read.routes[0].description


def test_the_season_writes_its_beds_as_one_file_again_and_again(season, tmp_path, capsys):
    add_run(season, run_of(1))
    out = tmp_path / "out"
    words = ["season", "export", str(out), "--format", "gpx", "--season", str(season)]
    for run in (2, 3):
        assert main(words) == 0
        assert capsys.readouterr().out == f"Written: 1 file in {out}\n"
        read = gpxpy.parse((out / "beds.gpx").read_text("utf-8"))
        assert [r.name for r in read.routes] == [b.name for b in read_season(season).beds]
        assert read.creator == "groundtruth"
        add_run(season, run_of(run))
    assert [f.name for f in out.iterdir()] == ["beds.gpx"]
    (out / "beds.gpx").write_text("<gpx/>")
    assert main(words) == 2
    assert "replace it with --overwrite" in capsys.readouterr().err


def test_without_a_bed_there_is_nothing_to_write(season, tmp_path, capsys):
    add_change(season, day=date(2027, 6, 8), kind="tyre")
    out = tmp_path / "out"
    assert main(["season", "export", str(out), "--format", "gpx", "--season", str(season)]) == 2
    assert "no bed is laid out yet" in capsys.readouterr().err
    assert not out.exists()
