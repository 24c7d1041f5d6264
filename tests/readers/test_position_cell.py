"""Latitude and longitude in one cell, in every way that people and programs write them.

The three strings of ISO 6709:2008, annex H, write one place in degrees, in degrees with minutes,
and with seconds (from memory). Other ways of writing it are common practice, no source.
"""

from datetime import datetime, timedelta

import pytest
from making import LATITUDE_DEG, LONGITUDE_DEG, START, STEP_DEG, stamp, table, workbook

from groundtruth.io import Source, read_track
from groundtruth.io.tracks.position_cell import parse_pair

ISO_6709 = ["+40.20361-075.00417/", "+4012.22-07500.25/", "+401213-0750015/"]
WAYS = [
    "40.20361, -75.00417",
    "40.20361 -75.00417",
    "40,20361 -75,00417",
    "40,20361; -75,00417",
    "40,20361, -75,00417",
    "(40.20361, -75.00417)",
    "[40.20361 | -75.00417]",
    "40.20361/-75.00417",
    "40.20361N 75.00417W",
    "N40.20361 W75.00417",
    "N 40.20361, W 75.00417",
    "W 75.00417; N 40.20361",
    "40°12.2166'N 75°0.2502'W",
    "40°12'13.0\"N 75°00'15.0\"W",
    "40 12 13.0 N, 75 00 15.0 W",
    "40 12.2166 -75 0.2502",
    "N 40 12 13, W 75 00 15",
]


@pytest.mark.parametrize("written", [*ISO_6709, *WAYS])
def test_one_place_is_one_place_however_it_is_written(written):
    one, other, first = parse_pair(written)
    lat, lon = (other, one) if first == "lon" else (one, other)
    assert (lat, lon) == pytest.approx((40.20361, -75.00417), abs=6e-5)  # as coarse as 0.01'


@pytest.mark.parametrize(
    "written",
    [
        "",
        "north field",
        "59.1234",
        "N59.1 N10.2",
        "E59.1 W10.2",
        "1 2 3 4 5 6 7 8 9",
        "1, 2, 3",
        "59.1, 361",
        "59 61.0, 10 2.0",
        "+5960.0+01000.0/",
        "+5+6/",
        "1," * 40,
        "1" * 200,
    ],
)
def test_what_is_no_position_is_refused(written):
    with pytest.raises(ValueError, match=r".*"):
        parse_pair(written)


def places(track):
    return list(zip(track.latitude_deg.tolist(), track.longitude_deg.tolist(), strict=True))


ROWS = {
    "lat lon": "{time};{lat:.7f}, {lon}",
    "latitude/longitude": "{time};{lat:.7f} {lon}",
    "Coordinates": "{time};N{lat:.7f} E{lon}",
    "position": "{time};{lon}E {lat:.7f}N",
    "lon/lat": "{time};{lon} {lat:.7f}",
    "GPS": "{time};{lon}O {lat:.7f}N",
}


@pytest.mark.parametrize("heading", ROWS)
def test_a_track_is_what_it_is_in_two_columns(heading):
    plain = read_track(Source("a.csv", table(9).encode()))
    one = read_track(Source("b.csv", table(9, f"time;{heading}", ROWS[heading]).encode()))
    assert places(one) == places(plain)


def test_letters_of_some_rows_tell_the_order_of_all():
    rows = [f"{stamp(s)};{7.1} {48.7 + s * 1e-5}" for s in range(5)]
    rows[3] = rows[3].replace(";7.1", ";E7.1")
    track = read_track(Source("a.csv", "\n".join(["time;position", *rows]).encode()))
    assert track.latitude_deg == pytest.approx([48.7 + s * 1e-5 for s in range(5)])
    assert set(track.longitude_deg) == {7.1}


def test_columns_of_their_own_come_first():
    text = table(3, "time;position;lat;lon", "{time};north field;{lat:.7f};{lon}")
    assert len(read_track(Source("a.csv", text.encode()))) == 3


@pytest.mark.parametrize("together", [True, False])
def test_a_sheet_of_a_workbook_gives_what_its_csv_gives(together):
    """Dates as the spreadsheet's own, which have no zone."""
    start = datetime.fromisoformat(START.isoformat()).replace(tzinfo=None)
    rows = [["time", "position"] if together else ["time", "lat", "lon"]]
    for s in range(9):
        place = [round(LATITUDE_DEG + s * STEP_DEG, 7), LONGITUDE_DEG]
        cells = [", ".join(map(str, place))] if together else place
        rows.append([start + timedelta(seconds=s), *cells])
    book = workbook([["my track"], [], *rows])
    track = read_track(Source("a.xlsx", book), time_zone="UTC")
    plain = read_track(Source("a.csv", table(9).encode()))
    assert places(track) == places(plain)
    assert track.time_s.tolist() == plain.time_s.tolist()
    if together:  # as the spreadsheet counts the lines
        assert [str(n) for n in track.notices if n.kind == "repair"] == [
            "a.xlsx, line 4: position without letters read as latitude, longitude (9 times)"
        ]
