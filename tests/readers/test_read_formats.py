"""KML, KMZ, GeoJSON, NMEA, CSV and packed files: the same fixes whatever the format.

GDAL (through pyogrio) is the second reader where it keeps times. The NMEA sentences of
`test_published_sentences` are the examples printed in receiver manuals and textbooks.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import (
    LATITUDE_DEG,
    LONGITUDE_DEG,
    START_S,
    STEP_DEG,
    feature,
    geojson,
    gpx,
    gzipped,
    kml,
    kml_track,
    nmea,
    point,
    points,
    position,
    sentence,
    stamp,
    table,
    zipped,
)

from groundtruth.core.errors import TrackFileError
from groundtruth.io import read_track
from groundtruth.io.tracks.formats.nmea import checksum

LINE = [position(second) for second in range(5)]
TIMES = [stamp(second) for second in range(5)]
SPLIT = [LINE[:2], LINE[2:]]
DATED = [feature("Point", LINE[second], time=TIMES[second]) for second in range(5)]

SAME = {
    "gpx": gpx(points(5)),
    "kml": kml_track(5),
    "kml, coordinates first": kml(
        [],
        [],
        inner="".join(
            f"<gx:coord>{LONGITUDE_DEG} {LATITUDE_DEG + s * STEP_DEG:.7f}</gx:coord>"
            f"<when>{stamp(s)}</when>"
            for s in range(5)
        ),
    ),
    "kml without prefix": kml_track(5).replace("gx:", "").replace("xmlns:gx", "xmlns:x"),
    "kml in two tracks": kml_track(2, closed=False)
    + "</gx:Track><gx:Track>"
    + kml_track(5)
    .partition("<gx:Track>")[2]
    .replace(f"<when>{stamp(0)}</when>\n", "")
    .replace(f"<when>{stamp(1)}</when>\n", "")
    .replace("<gx:coord>7.1 48.7000000 210.5</gx:coord>\n", "")
    .replace("<gx:coord>7.1 48.7000100 210.5</gx:coord>\n", ""),
    "kml of dated points": "<kml><Document>"
    + "".join(
        f"<Placemark><TimeStamp><when>{stamp(s)}</when></TimeStamp><Point><coordinates>"
        f"{LONGITUDE_DEG},{LATITUDE_DEG + s * STEP_DEG:.7f},210.5</coordinates></Point></Placemark>"
        for s in range(5)
    )
    + "</Document></kml>",
    "geojson coordTimes": geojson(feature("LineString", LINE, coordTimes=TIMES)),
    "geojson times": geojson(feature("LineString", LINE, times=TIMES)),
    "geojson nested": geojson(feature("LineString", LINE, coordinateProperties={"times": TIMES})),
    "geojson epoch ms": geojson(
        feature("LineString", LINE, timestamps=[1000 * (START_S + s) for s in range(5)])
    ),
    "geojson epoch s as text": geojson(
        feature("LineString", LINE, times=[str(int(START_S + s)) for s in range(5)])
    ),
    "geojson multi": geojson(feature("MultiLineString", SPLIT, coordTimes=[TIMES[:2], TIMES[2:]])),
    "geojson multi, one list": geojson(feature("MultiLineString", SPLIT, coordTimes=TIMES)),
    "geojson fourth number": geojson(
        feature("LineString", [[*place, START_S + s] for s, place in enumerate(LINE)])
    ),
    "geojson points": geojson(*DATED),
    "geojson bare features": json.dumps(DATED),
    "geojson points, timestamp": geojson(
        *(feature("Point", LINE[s], timestamp=START_S + s) for s in range(5))
    ),
    "geojson with a mark": geojson(feature("Point", [7.1, 48.7], name="Gate"), *DATED),
    "nmea": nmea(5),
    "nmea GGA with one RMC": sentence("GPRMC,070000.00,A,4842.00000,N,00706.00000,E,,,120526,,,A")
    + nmea(5, rmc=False),
    "nmea GGA before RMC": nmea(4, rmc=False) + nmea(1, 4),
    "nmea glued": nmea(5).replace("\r\n", ""),
    "nmea with a logger's stamps": nmea(5).replace("$", "1778569200 > $"),
    "nmea without checksums": "\n".join(line.partition("*")[0] for line in nmea(5).splitlines()),
    "csv": table(5),
    "csv semicolons and commas": table(5, "Zeit;time;lat;lon", "x;{time};{lat:.7f};{lon}").replace(
        ".", ","
    ),
    "csv tabs": table(5).replace(",", "\t"),
    "csv any order": table(5, "lon,unused,lat,timestamp", "{lon},x,{lat:.7f},{time}"),
    "csv epoch s": table(5, "epoch,lat,lng", "{s:.0f},{lat:.7f},{lon}"),
    "csv epoch ms": table(5, "timestamp (ms),lat,lng", "{s:.0f}000,{lat:.7f},{lon}"),
    "csv epoch ns": table(5, "time,lat,lng", "{s:.0f}000000000,{lat:.7f},{lon}"),
    "csv 1e-7 degrees": table(
        5, "timestampMs,latitudeE7,longitude_e7", "{s:.0f}000,487000{second}00,71000000"
    ),
    "csv utc column": table(5, "Time UTC,Latitude,Longitude").replace("Z", ""),
    "csv date and time": table(
        5, "date;time;Latitude [deg];Longitude [deg]", "12.05.2026;07:00:0{second}Z;{lat:.7f};{lon}"
    ),
    "csv date and utc time": table(
        5, "date,utc time,lat,lon", "2026-05-12,07:00:0{second},{lat:.7f},{lon}"
    ),
    "csv hemispheres": table(5, "time,lat,N/S,lon,E/W", "{time},{lat:.7f},N,{lon},E"),
    "csv letters": table(5, row="{time},{lat:.7f} N,E {lon}"),
    "csv preamble": "My recorder 3.1\n\n# exported,today\n" + table(5),
    "csv comments": table(5).replace("2026-05-12T07:00:03Z", "# pause\n2026-05-12T07:00:03Z"),
    "csv utf-16": table(5).encode("utf-16"),
    "csv quoted": table(5, row='"{time}","{lat:.7f}","{lon}"'),
    "gz of gpx": gzipped(gpx(points(5))),
    "gz of csv": gzipped(table(5)),
    "kmz": zipped(doc_kml=kml_track(5), icon_png=b"\x89PNG\r\n\x1a\n\0\0"),
    "zip of gpx": zipped(read_me="hello", day_gpx=gpx(points(5))),
    "zip of two": zipped(b_gpx=gpx(points(3, 2)), a_nmea=nmea(2)),
    "zip of csv": zipped(day_csv=table(5)),
}


@pytest.mark.parametrize("content", SAME.values(), ids=SAME.keys())
def test_the_same_fixes_from_every_format(write, content):
    track = read_track(write("day.bin", content))
    assert track.time_s.tolist() == [START_S + s for s in range(5)]
    expected = [round(LATITUDE_DEG + s * STEP_DEG, 7) for s in range(5)]
    # a fifth decimal of a minute is 2 cm
    np.testing.assert_allclose(track.latitude_deg, expected, rtol=0, atol=1e-7)
    np.testing.assert_allclose(track.longitude_deg, LONGITUDE_DEG, rtol=0, atol=1e-7)
    assert all(notice.kind != "warning" for notice in track.notices)
    assert len(track.inputs) == 1


TEXTS = ("gpx", "kml", "geojson times", "nmea", "csv")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("kind", TEXTS)
def test_every_text_in_every_encoding(write, kind, encoding):
    text = SAME[kind]
    if kind in ("gpx", "kml") and encoding.startswith("utf-16"):
        text = text.replace("UTF-8", "UTF-16")
    track = read_track(write("day.bin", text.encode(encoding)))
    assert track.time_s.tolist() == [START_S + s for s in range(5)]
    assert [notice.kind for notice in track.notices] == ["fact"]


def test_fields_of_kml(write):
    arrays = "".join(
        f'<gx:SimpleArrayData name="{name}">'
        + "".join(f"<gx:value>{value}</gx:value>" for value in values)
        + "</gx:SimpleArrayData>"
        for name, values in (
            ("speed_kmh", (3.6, 7.2, "")),
            ("accuracy", (3, 4, 5)),
            ("bearing", (1, 2, 3)),
        )
    )
    inner = f"<ExtendedData><SchemaData>{arrays}</SchemaData></ExtendedData>"
    track = read_track(write("a.kml", kml_track(3, inner=inner)))
    assert track.height_m.tolist() == [210.5] * 3
    assert track.accuracy_m.tolist() == [3, 4, 5]
    assert track.speed_m_s[:2].tolist() == pytest.approx([1, 2])
    assert math.isnan(track.speed_m_s[2])
    assert track.name == "Field day"


def test_marks_of_kml(write):
    mark = (
        "<Placemark><name>Gate</name><Point><coordinates>7.1,48.7</coordinates></Point>"
        "</Placemark></Document>"
    )
    track = read_track(write("a.kml", kml_track(3).replace("</Document>", mark)))
    assert [(m.name, m.longitude_deg, m.latitude_deg) for m in track.waypoints] == [
        ("Gate", 7.1, 48.7)
    ]


def test_a_dated_mark_without_zone_does_not_stop_a_kml_track(write):
    mark = (
        "<Placemark><TimeStamp><when>2026-05-12T09:00:00</when></TimeStamp><Point>"
        "<coordinates>7.1,48.7</coordinates></Point></Placemark></Document>"
    )
    assert len(read_track(write("a.kml", kml_track(3).replace("</Document>", mark)))) == 3
    points_only = "<kml><Document>" + mark.replace("</Document>", "") * 2 + "</Document></kml>"
    with pytest.raises(TrackFileError, match="times carry no time zone"):
        read_track(write("b.kml", points_only))


def test_fields_of_geojson(write):
    line = feature(
        "LineString",
        [place[:2] for place in LINE],
        coordTimes=TIMES,
        coordinateProperties={"speeds": [1, 2, 3, 4, None], "heights": [5, 6, 7, 8, 9]},
        accuracies=[3, "4", 5, 6, 7],
    )
    track = read_track(write("a.geojson", geojson(line)))
    assert track.speed_m_s[:4].tolist() == [1, 2, 3, 4]
    assert math.isnan(track.speed_m_s[4])
    assert track.height_m.tolist() == [5, 6, 7, 8, 9]
    assert track.accuracy_m.tolist() == [3, 4, 5, 6, 7]
    dated = [
        feature("Point", place[:2], time=time, speed=1.5, altitude=7, accuracy=3, hdop=0.9)
        for place, time in zip(LINE, TIMES, strict=True)
    ]
    track = read_track(write("b.geojson", geojson(*dated)))
    assert track.speed_m_s.tolist() == [1.5] * 5
    assert track.height_m.tolist() == [7] * 5
    assert track.hdop.tolist() == [0.9] * 5


def test_fields_of_nmea(write):
    vtg = sentence("GPVTG,0.0,T,,M,2.43,N,4.50,K,A")
    text = "".join(
        line.replace("2.43", "") if "RMC" in line else line for line in nmea(3).splitlines(True)
    )
    text = "".join(
        sentence(line[1:].partition("*")[0]) + (vtg if "GGA" in line else "")
        for line in text.splitlines()
    )
    track = read_track(write("a.nmea", text))
    assert track.speed_m_s.tolist() == pytest.approx([1.25] * 3)  # 4.5 km/h
    assert track.hdop.tolist() == [0.8] * 3
    assert track.height_m.tolist() == [210.5] * 3
    track = read_track(write("b.nmea", nmea(3)))
    assert track.speed_m_s.tolist() == pytest.approx([2.43 * 1852 / 3600] * 3)


def test_published_sentences(write):
    """The RMC and GGA sentences that manuals print most: 48°07.038'N 11°31.000'E, 22.4 kn.

    D. DePriest, "NMEA data" (web page, from memory); both checksums are the printed ones.
    """
    text = (
        "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"
        "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n"
    )
    track = read_track(
        write("a.nmea", text + sentence("GPRMC,123520,A,4807.039,N,01131.000,E,022.4,,230394,,"))
    )
    assert track.time_s[0] == 764426119.0  # 1994-03-23 12:35:19 UTC, by GNU date
    assert track.latitude_deg[0] == pytest.approx(48.1173, abs=5e-9)
    assert track.longitude_deg[0] == pytest.approx(11 + 31 / 60, abs=1e-12)
    assert track.speed_m_s[0] == pytest.approx(22.4 * 0.514444, abs=1e-4)
    assert track.height_m[0] == 545.4
    assert track.hdop[0] == 0.9


@given(st.binary(max_size=200))
def test_the_checksum_is_the_exclusive_or_of_all_bytes(body):
    expected = 0
    for byte in body:
        expected ^= byte
    assert checksum(body) == expected


def test_south_and_west(write):
    text = "".join(
        sentence(f"GPRMC,07000{s}.00,A,3357.00000,S,01825.2{s}000,W,2.0,,120526,,,A")
        for s in range(3)
    )
    track = read_track(write("a.nmea", text))
    assert track.latitude_deg.tolist() == pytest.approx([-33.95] * 3)
    assert track.longitude_deg[0] == pytest.approx(-18.42)


def test_midnight_in_nmea(write):
    """GGA has no date: it takes the day that lies within 12 hours of the last RMC."""
    rmc = "GPRMC,{},A,4842.00000,N,00706.0{}000,E,2.0,,{},,,A"
    gga = "GPGGA,{},4842.00000,N,00706.0{}000,E,1,12,0.8,210,M,48,M,,"
    text = (
        sentence(gga.format("235957.00", 1))
        + sentence(rmc.format("235958.00", 2, "120526"))
        + sentence(gga.format("235959.00", 3))
        + sentence(gga.format("000000.00", 4))
        + sentence(rmc.format("000001.00", 5, "130526"))
        + sentence(gga.format("000002.00", 6))
    )
    track = read_track(write("a.nmea", text))
    assert np.diff(track.time_s).tolist() == [1.0] * 5
    assert track.time_s[3] == START_S + 17 * 3600
    before = sentence(gga.format("235959.00", 1)) + sentence(rmc.format("000000.00", 2, "130526"))
    track = read_track(write("b.nmea", before))
    assert track.time_s.tolist() == [START_S + 17 * 3600 - 1, START_S + 17 * 3600]


def test_the_quality_of_an_nmea_fix_is_kept(write):
    """Field 6 of GGA (NMEA 0183, from memory): 1 alone, 4 and 5 with carrier-phase corrections."""
    gga = "GPGGA,07000{}.00,4842.00000,N,00706.0{}000,E,{},12,0.8,210,M,48,M,,"
    rmc = sentence("GPRMC,070000.00,A,4842.00000,N,00706.00000,E,2.0,,120526,,,A")
    text = rmc + "".join(sentence(gga.format(n, n, q)) for n, q in enumerate("0145"[1:], start=1))
    track = read_track(write("a.nmea", text))
    assert np.isnan(track.fix_quality[0])
    assert track.fix_quality[1:].tolist() == [1.0, 4.0, 5.0]


def test_a_wrong_sentence_changes_nothing(write):
    lines = nmea(3).splitlines(keepends=True)
    spoilt = lines[2].replace(",A,48", ",A,58")  # its checksum no longer fits
    track = read_track(write("a.nmea", "".join([*lines[:2], spoilt, *lines[3:]])))
    assert len(track) == 3
    assert track.latitude_deg.max() < 49


@pytest.mark.parametrize(
    ("header", "written", "metres_per_second"),
    [
        ("speed", "1.25", 1.25),
        ("Speed (m/s)", "1.25", 1.25),
        ("speed_kmh", "4.5", 1.25),
        ("Speed [km/h]", "4,5", 1.25),
        ("speed_mph", "2.5", 1.1176),
        ("Speed (knots)", "2", 1.0288889),
    ],
)
def test_units_in_headings(write, header, written, metres_per_second):
    text = table(3, f"time;lat;lon;{header}", "{time};{lat:.7f};{lon};" + written)
    track = read_track(write("a.csv", text))
    assert track.speed_m_s.tolist() == pytest.approx([metres_per_second] * 3)


def test_other_fields_of_csv(write):
    text = table(
        3,
        "time,lat,lon,Altitude (ft),hAcc,HDOP,segment",
        "{time},{lat:.7f},{lon},1000,3.5,0.9,{second}",
    )
    track = read_track(write("a.csv", text))
    assert track.height_m.tolist() == pytest.approx([304.8] * 3)
    assert track.accuracy_m.tolist() == [3.5] * 3
    assert track.hdop.tolist() == [0.9] * 3
    assert track.segment.tolist() == [0, 1, 2]


def test_local_times_of_csv_take_the_zone_given(write):
    path = write("a.csv", table(3).replace("T07", " 09").replace("Z", ""))
    with pytest.raises(TrackFileError, match=r"a.csv, line 2: times carry no time zone"):
        read_track(path)
    assert read_track(path, time_zone="Europe/Oslo").time_s[0] == START_S


def test_agrees_with_gdal(write):
    """GDAL reads the same positions and times from GPX and from GeoJSON points."""
    pyogrio = pytest.importorskip("pyogrio")
    body = "".join(point(s, inner="<ele>210.5</ele>") for s in range(50))
    for name, content, layer in (
        ("a.gpx", gpx(body), "track_points"),
        ("a.geojson", geojson(*(feature("Point", position(s), time=stamp(s)) for s in range(50))),
         None),
    ):  # fmt: skip
        path = write(name, content)
        meta, _, geometry, data = pyogrio.raw.read(path, layer=layer)
        track = read_track(path)
        xy = np.array([np.frombuffer(wkb[5:21]) for wkb in geometry])
        assert xy[:, 0].tolist() == track.longitude_deg.tolist()
        assert xy[:, 1].tolist() == track.latitude_deg.tolist()
        times = data[list(meta["fields"]).index("time")].astype("datetime64[ms]")
        assert (times.astype(float) / 1000).tolist() == track.time_s.tolist()
