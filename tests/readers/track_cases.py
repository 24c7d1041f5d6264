"""Damaged, odd and hostile track files, each with the exact words that it must be met with.

`test_messages.py` reads each file and lets no message of the code stay untested.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

from making import (
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
    workbook,
    zip_of,
    zipped,
)


@dataclass(frozen=True)
class Case:
    """One file: ``repaired`` and ``warned`` are its notices, ``refused`` its error, word by word.

    ``points`` is the number of fixes that must be left.
    """

    id: str
    content: str | bytes
    notice: str = ""
    refused: str = ""
    points: int = 0
    zone: str | None = None
    name: str = "a.gpx"


SWAPPED = (
    "{}: every latitude is beyond 72°, where nothing is sown; latitude and longitude look swapped: "
    "exchange them"
)

GPX = [
    Case(
        "no position",
        gpx(points(3) + point(3, lat="") + point(4, lon=None) + points(3, 5)),
        "a.gpx, point 4: point without a readable position left out (2 times)",
        points=6,
    ),
    Case(
        "position that is no number",
        gpx(points(3) + point(3, lat="NaN") + point(4, lat="inf") + point(5, lon="east")),
        "a.gpx, point 4: point without a readable position left out (3 times)",
        points=3,
    ),
    Case(
        "beyond 90",
        gpx(points(3) + point(3, lat="95") + point(4, lon="-181") + point(5, lat="-90.1")),
        "a.gpx, point 4: point with a latitude beyond 90° or a longitude beyond 180° left out "
        "(3 times)",
        points=3,
    ),
    Case(
        "longitude from 0 to 360",
        gpx("".join(point(s, lon="352.5") for s in range(3))),
        "a.gpx, point 1: longitude above 180° brought back by 360° (3 times)",
        points=3,
    ),
    Case(
        "at 0, 0",
        gpx(point(0, lat="0", lon="0.0") + points(3, 1)),
        "a.gpx, point 1: point at 0° N 0° E (no fix) left out",
        points=3,
    ),
    Case(
        "swapped",
        gpx("".join(point(s, lat="-100.5", lon="44.2") for s in range(3))),
        refused=SWAPPED.format("a.gpx, point 1"),
    ),
    Case(
        "swapped, between 72 and 90",
        gpx("".join(point(s, lat="-85.1", lon="44.7") for s in range(3))),
        refused=SWAPPED.format("a.gpx, point 1"),
    ),
    Case(
        "swapped, behind points without a fix",
        gpx(point(0, lat="0", lon="0") + "".join(point(s, lat="77", lon="28") for s in range(3))),
        refused=SWAPPED.format("a.gpx, point 2"),
    ),
    Case(
        "swapped, told by the speeds",
        gpx(
            "".join(
                point(s, lat=f"{7.1 + s * 1e-5:.7f}", lon="59.9", inner="<speed>0.56</speed>")
                for s in range(400)  # 0.56 m/s to the east at 59.9° N
            )
        ),
        refused="a.gpx: the reported speeds fit the positions only with latitude and longitude "
        "exchanged; exchange them",
    ),
    Case(
        "swapped, told by the time zone",
        gpx("".join(point(s, lat=f"{7.1 + s * 1e-5:.7f}", lon="48.7") for s in range(3))),
        "a.gpx: 6678 km from Europe/Oslo, and 1269 km if latitude and longitude are exchanged; "
        "check which is which",
        points=3,
        zone="Europe/Oslo",
    ),
    Case(
        "degrees and minutes with letters",
        gpx("".join(point(s, lat=f"48°42.00{s}'N", lon="W 7 06.0") for s in range(3))),
        "a.gpx, point 1: position in degrees and minutes, or with a letter, read (6 times)",
        points=3,
    ),
    Case(
        "ddmm near the equator",
        gpx("".join(point(s, lat=f"0130.00{s}", lon="-03645.0") for s in range(3))),
        "a.gpx, point 1: position written as degrees and minutes (ddmm.mmmm) converted (3 times)",
        points=3,
    ),
    Case(
        "ddmm near Greenwich",
        gpx("".join(point(s, lat=f"4842.00{s}", lon="55.0") for s in range(3))),
        "a.gpx, point 1: position written as degrees and minutes (ddmm.mmmm) converted (3 times)",
        points=3,
    ),
    Case(
        "ddmm behind points without a fix",
        gpx(
            point(0, lat="0", lon="0")
            + "".join(point(s, lat=f"4842.00{s}", lon="706.0") for s in range(1, 4))
        ),
        "a.gpx, point 2: position written as degrees and minutes (ddmm.mmmm) converted (3 times)",
        points=3,
    ),
    Case(
        "decimal comma in a position",
        gpx(point(0, lat="48,7", lon="7,1") + point(1, lat="48,70001", lon="7,1")),
        "a.gpx, point 1: decimal comma in a position read as a point (4 times)",
        points=2,
    ),
    Case(
        "decimal comma in a height",
        gpx(points(2) + point(2, inner="<ele>210,5</ele>")),
        "a.gpx, point 3: decimal comma in a height read as a point",
        points=3,
    ),
    Case(
        "HDOP n/a",
        gpx(points(2) + point(2, inner="<hdop>n/a</hdop>")),
        "a.gpx, point 3: HDOP that is no number left out",
        points=3,
    ),
    Case(
        "speed below 0",
        gpx(points(2) + point(2, inner="<speed>-1</speed>")),
        "a.gpx, point 3: speed below 0 taken as missing",
        points=3,
    ),
    Case(
        "impossible speed",
        gpx(points(2) + point(2, inner="<speed>1e9</speed>")),
        "a.gpx, point 3: impossible speed taken as missing",
        points=3,
    ),
    Case(
        "accuracy 0",
        gpx(points(2) + point(2, inner="<accuracy>0</accuracy>")),
        "a.gpx, point 3: accuracy of 0 or less taken as missing",
        points=3,
    ),
    Case(
        "HDOP 99",
        gpx(points(2) + point(2, inner="<hdop>99.9</hdop>")),
        "a.gpx, point 3: HDOP of 0 or of 99 taken as missing",
        points=3,
    ),
    Case(
        "impossible height",
        gpx(points(2) + point(2, inner="<ele>-32768</ele>")),
        "a.gpx, point 3: impossible height taken as missing",
        points=3,
    ),
    Case(
        "no times",
        gpx("".join(point(s, time=None) for s in range(3))),
        refused="a.gpx: no point carries a time, and without times turns cannot be laid beside "
        "the track; export the recording itself (GPX with times), not a drawn route",
    ),
    Case(
        "some without time",
        gpx(points(3) + point(3, time=None) + point(4, time="") + point(5, time="noon")),
        "a.gpx, point 4: point without a readable time left out (2 times)",
        points=4,
    ),
    Case(
        "most without time",
        gpx("".join(point(s, time=None) for s in range(9)) + points(8, 9)),
        "a.gpx: only 8 of 17 points can be used; check the recording",
        points=8,
    ),
    Case(
        "clock not set",
        gpx(point(0, time="1970-01-01T00:00:00Z") + points(3, 1)),
        "a.gpx, point 1: point dated before 1980 or after 2100 (clock not set) left out",
        points=3,
    ),
    Case(
        "times of a spreadsheet",
        "time,lat,lon\n46154.29167,48.7,7.1\n46154.29168,48.70001,7.1\n",
        refused="a.gpx, line 2: every time lies before 1980 or after 2100; write times as in "
        "2026-04-01T06:41:07Z, or as seconds since 1970",
    ),
    Case(
        "no zone",
        gpx("".join(point(s, time=stamp(s, "")) for s in range(3))),
        refused="a.gpx, point 1: times carry no time zone; say in which zone the recorder's "
        'clock ran: time_zone = "Europe/Oslo" in the run file, or --time-zone Europe/Oslo',
    ),
    Case(
        "hour that occurs twice",
        gpx("".join(point(s, time=f"2026-10-25T02:30:0{s}") for s in range(3))),
        refused="a.gpx, point 1: 2026-10-25 02:30 occurs twice in Europe/Oslo, as the clocks "
        "were set back; write it with its offset, as in 02:30+02:00",
        zone="Europe/Oslo",
    ),
    Case(
        "hour that never was",
        gpx("".join(point(s, time=f"2026-03-29T02:30:0{s}") for s in range(3))),
        refused="a.gpx, point 1: 2026-03-29 02:30 never was in Europe/Oslo, as the clocks were "
        "set forward; check the time",
        zone="Europe/Oslo",
    ),
    Case(
        "date with slashes",
        gpx("".join(point(s, time=f"05/04/2026 07:00:0{s}Z") for s in range(3))),
        refused="a.gpx, point 1: 05/04/2026 can be two different days; write 2026-04-05 or "
        "2026-05-04",
    ),
    Case(
        "year of two digits",
        gpx("".join(point(s, time=f"13/05/26 07:00:0{s}Z") for s in range(3))),
        refused="a.gpx, point 1: the year of a date needs four digits, as in 2026-04-01",
    ),
    Case(
        "first points of another clock",
        gpx("".join(point(s, time=f"2019-01-01T00:00:0{s}Z") for s in range(5)) + points(60, 5)),
        "a.gpx, point 1: point dated before the recorder's clock was set left out (5 times)",
        points=60,
    ),
    Case(
        "first points of another clock and place",
        gpx(point(0, lat="50.1", time="2019-01-01T00:00:00Z") + points(60, 5)),
        "a.gpx, point 1: point dated before the recorder's clock was set left out",
        points=60,
    ),
    Case(
        "first points a day ahead",
        gpx("".join(point(s, time=stamp(s + 86400)) for s in range(5)) + points(60, 5)),
        "a.gpx, point 1: point dated before the recorder's clock was set left out (5 times)",
        points=60,
    ),
    Case(
        "clock that jumps a day ahead",
        gpx(points(30) + "".join(point(s, time=stamp(s + 86400)) for s in range(30, 60))),
        "a.gpx, point 31: the clock jumps ahead by 24.0 h there; if it was set, split the file at "
        "this point and use one part",
        points=60,
    ),
    Case(
        "clock that jumps years ahead",
        gpx(points(30) + "".join(point(s, time=f"2036-05-12T07:00:{s}Z") for s in range(30, 60))),
        "a.gpx, point 31: the clock jumps ahead by 10.0 years there; if it was set, split the "
        "file at this point and use one part",
        points=60,
    ),
    Case(
        "clock set back an hour",
        gpx(points(30) + "".join(point(s, time=stamp(s - 3600)) for s in range(30, 60))),
        "a.gpx, point 31: the clock runs back by 60 min there; if it was set, split the file at "
        "this point and use one part",
        points=60,
    ),
    Case(
        "24:00",
        gpx(point(0, time="2026-05-11T24:00:00Z") + point(1, time="2026-05-12T00:00:01Z")),
        "a.gpx, point 1: 24:00 read as 00:00 of the next day",
        points=2,
    ),
    Case(
        "second 60",
        gpx(points(2) + point(2, time="2026-05-12T07:00:60Z")),
        "a.gpx, point 3: second 60 read as the next minute's 0",
        points=3,
    ),
    Case(
        "out of order",
        gpx(points(3) + point(5) + point(3) + point(4) + points(3, 6)),
        "a.gpx, point 5: point out of order put in its place in time (2 times)",
        points=9,
    ),
    Case(
        "recorded twice",
        gpx(points(3) + point(2) + point(2) + points(3, 3)),
        "a.gpx, point 4: point recorded twice left out (2 times)",
        points=6,
    ),
    Case(
        "whole track twice",
        gpx(points(30) + "</trkseg></trk><trk><trkseg>" + points(30)),
        "a.gpx, point 31: point recorded twice left out (30 times)",
        points=30,
    ),
    Case(
        "two places at one time",
        gpx(points(3) + point(2, lat="48.70003") + points(3, 3)),
        "a.gpx, point 4: second position for the same time left out",
        points=6,
    ),
    Case(
        "clock set back over the track",
        gpx(points(60) + "".join(point(s, time=stamp(s - 59.5)) for s in range(60, 120))),
        refused="a.gpx, point 61: the clock runs back there, so that points lie over each other "
        "in time; split the file at this point and use one part",
    ),
    Case(
        "leaping",
        gpx(points(20) + point(20, lat="48.72") + point(21, lat="48.72") + points(20, 22)),
        "a.gpx, point 21: leaping point (faster than 60 m/s there and back) left out (2 times)",
        points=40,
    ),
    Case(
        "stale first point",
        gpx(point(0, lat="48.9") + points(20, 1)),
        "a.gpx, point 1: leaping point (faster than 60 m/s there and back) left out",
        points=20,
    ),
    Case(
        "stale last point",
        gpx(points(20) + point(20, lat="48.9")),
        "a.gpx, point 21: leaping point (faster than 60 m/s there and back) left out",
        points=20,
    ),
    Case(
        "jump for good",
        gpx(points(40) + "".join(point(s, lat=f"{48.8 + s * 1e-5:.6f}") for s in range(40, 80))),
        "a.gpx, point 41: the track jumps faster than 60 m/s and does not come back",
        points=80,
    ),
    Case(
        "jumping about",
        gpx("".join(point(s, lat=f"{48.7 + (s % 2) * 0.1}") for s in range(40))),
        refused="a.gpx, point 2: positions or times jump about faster than 60 m/s at 20 of 40 "
        "points; this is no usable track",
    ),
    Case(
        "one point",
        gpx(points(1)),
        refused="a.gpx: only one usable point; a track needs two or more",
    ),
    Case(
        "one point left of many",
        gpx(points(1) + "".join(point(s, lat="95") for s in range(1, 9)) + point(9, time="noon")),
        refused="a.gpx: only one usable point; a track needs two or more (8 times: point with a "
        "latitude beyond 90° or a longitude beyond 180° left out; once: point without a "
        "readable time left out)",
    ),
    Case(
        "no usable point",
        gpx(point(0, lat="x") + point(1, lat="x")),
        refused="a.gpx: no usable point; a track needs two or more (2 times: point without a "
        "readable position left out)",
    ),
    Case(
        "no point",
        gpx(""),
        refused="a.gpx: a GPX file without any track point; was the recording started?",
    ),
    Case(
        "route only",
        '<gpx version="1.1"><rte><rtept lat="48.7" lon="7.1"/></rte></gpx>',
        refused="a.gpx: holds a planned route and no recorded track; export the recording instead",
    ),
    Case(
        "marks only",
        '<gpx version="1.1"><wpt lat="48.7" lon="7.1"/></gpx>',
        refused="a.gpx: holds waypoints and no recorded track",
    ),
    Case(
        "cut off",
        gpx(points(5))[:-70],
        "a.gpx, point 4: the file is cut off there: what stands before is used",
        points=4,
    ),
    Case(
        "zero bytes at the end",
        gpx(points(5)).encode()[:-70] + bytes(4096),
        "a.gpx, point 4: the file is cut off there: what stands before is used",
        points=4,
    ),
    Case(
        "wrong end tag",
        gpx(points(5) + "</wrong>" + points(5, 5)),
        "a.gpx, point 5: the file is broken there (mismatched tag, line 9): what stands before "
        "is used",
        points=5,
    ),
    Case(
        "nothing before the damage",
        "<gpx><trk><trkseg></wrong>",
        refused="a.gpx: cannot be read as XML: mismatched tag, line 1",
    ),
    Case(
        "two documents",
        gpx(points(3)) + gpx(points(3, 10)),
        "a.gpx, point 4: several documents in one file read one after the other",
        points=6,
    ),
    Case(
        "text after the end",
        gpx(points(3)) + "sent from my phone",
        "a.gpx, point 3: text after the end of the document left out",
        points=3,
    ),
    Case(
        "bare &",
        gpx(points(3)).replace("Field day", "Rye & vetch &nbsp; &amp;"),
        "a.gpx, line 3: bare & read as text (2 times)",
        points=3,
    ),
    Case(
        "control character",
        gpx(points(3)).replace("Field day", "Field\x07\x1b day"),
        "a.gpx, line 3: control character left out (2 times)",
        points=3,
    ),
    Case(
        "Latin-1",
        gpx(points(3)).replace("Field day", "Fält å").encode("latin-1"),
        "a.gpx, line 3: characters that are not UTF-8 read as Windows Latin (2 times)",
        points=3,
    ),
    Case(
        "blank line first",
        "\n  " + gpx(points(3)),
        "a.gpx, line 1: characters before the XML declaration left out",
        points=3,
    ),
    Case(
        "empty", b"", refused="a.gpx: the file is empty; copy it from the phone or computer again"
    ),
    Case("blank", b" \n\n", refused="a.gpx: holds nothing but blanks; export the recording again"),
    Case(
        "web page",
        "<!DOCTYPE html><html><body>Please log in</body></html>",
        refused="a.gpx: is a web page, not a track; the download may have stopped at a log-in: "
        "export the recording again",
    ),
    Case(
        "DOCTYPE",
        '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "b">]><gpx/>',
        refused="a.gpx, line 1: a DOCTYPE, which may hide harmful entities; no recorder writes "
        "such a file",
    ),
    Case(
        "deep",
        "<gpx>" + "<a>" * 100,
        refused="a.gpx, line 1: elements nested deeper than 64; no recorder writes such a file",
    ),
    Case(
        "attributes",
        "<gpx " + " ".join(f'a{n}="1"' for n in range(100)) + "/>",
        refused="a.gpx, line 1: an element with more than 64 attributes; no recorder writes such "
        "a file",
    ),
    Case(
        "large attribute",
        '<gpx a="' + "x" * 3_000_000 + '"/>',
        refused="a.gpx, line 1: a single tag or attribute of more than 1 MB; no recorder writes "
        "such a file",
    ),
    Case(
        "long text",
        "<gpx><name>" + "x" * 3_000_000 + "</name></gpx>",
        refused="a.gpx, line 1: more than 1 MB of text in one element; no recorder writes such a "
        "file",
    ),
]

LINE = [position(second) for second in range(5)]
TIMES = [stamp(second) for second in range(5)]

FIELDS = [
    Case(
        "height 0 throughout",
        gpx("".join(point(s, inner="<ele>0</ele>") for s in range(12))),
        "a.gpx, point 1: height of 0 at every point taken as missing (12 times)",
        points=12,
    ),
    Case(
        "speed in km/h",
        gpx("".join(point(s, inner="<speed>4.0</speed>") for s in range(400))),
        "a.gpx, point 1: speed read as km/h, as it is 3.60 times that of the positions (400 times)",
        points=400,
    ),
    Case(
        "speed in knots",
        gpx("".join(point(s, inner="<speed>2.16</speed>") for s in range(400))),
        "a.gpx, point 1: speed read as knots, as it is 1.94 times that of the positions "
        "(400 times)",
        points=400,
    ),
    Case(
        "speed in mph",
        gpx("".join(point(s, inner="<speed>2.49</speed>") for s in range(400))),
        "a.gpx, point 1: speed read as mph, as it is 2.24 times that of the positions (400 times)",
        points=400,
    ),
]

KML = [
    Case(
        "kml with a drawn line",
        "<kml><Placemark><LineString><coordinates>"
        + "7.1,48.7,0 " * 200_000
        + "</coordinates></LineString></Placemark></kml>",
        refused="a.gpx: holds a drawn line (LineString), which carries no times; export the "
        "recording as gx:Track or GPX",
    ),
    Case(
        "kml with nothing",
        "<kml><Document/></kml>",
        refused="a.gpx: a KML file without any track (gx:Track)",
    ),
    Case(
        "kml counts differ",
        kml(TIMES, ["7.1 48.7"] * 4),
        refused="a.gpx, point 1: a track with 5 times and 4 positions; nobody can say which belong "
        "together: export it again",
    ),
    Case(
        "kml empty coord",
        kml(TIMES, ["7.1 48.7", "", "7.1 48.70002 210", "7.1 x", "7.1 48.70004"]),
        "a.gpx, point 2: point without a readable position left out (2 times)",
        points=3,
    ),
    Case(
        "kml decimal commas",
        kml(TIMES, [f"7,1 48,7000{s} 210,5" for s in range(5)]),
        "a.gpx, point 1: decimal comma in a position read as a point (5 times)",
        points=5,
    ),
    Case(
        "kml values of another number",
        kml_track(
            3,
            inner='<gx:SimpleArrayData name="speed"><gx:value>1</gx:value></gx:SimpleArrayData>',
        ),
        "a.gpx, point 1: speed values of another number than the points left out",
        points=3,
    ),
    Case(
        "kml cut off",
        kml_track(5, closed=False)[:-60],
        "a.gpx, point 3: the file is cut off there: what stands before is used",
        points=3,
    ),
    Case(
        "kml with an entity",
        '<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/hostname">]><kml>&x;</kml>',
        refused="a.gpx, line 1: a DOCTYPE, which may hide harmful entities; no recorder writes "
        "such a file",
    ),
]

GEOJSON = [
    Case(
        "geojson line without times",
        geojson(feature("LineString", LINE)),
        refused="a.gpx: holds a line without times; export it with times, or export the recording "
        "as GPX",
    ),
    Case(
        "geojson one line without times",
        geojson(feature("LineString", LINE), feature("LineString", LINE, times=TIMES)),
        "a.gpx, point 1: line without times left out",
        points=5,
    ),
    Case(
        "geojson counts differ",
        geojson(feature("LineString", LINE, coordTimes=TIMES[:4])),
        refused="a.gpx, point 1: a track with 4 times and 5 positions; nobody can say which belong "
        "together: export it again",
    ),
    Case(
        "geojson values of another number",
        geojson(feature("LineString", LINE, coordTimes=TIMES, speeds=[1, 2])),
        "a.gpx, point 1: speed values of another number than the points left out",
        points=5,
    ),
    Case(
        "geojson nothing",
        geojson(feature("Polygon", [LINE])),
        refused="a.gpx: GeoJSON without any line or dated point",
    ),
    Case(
        "geojson NaN",
        geojson(feature("LineString", [*LINE[:3], [float("nan"), 48.7], [None, "x"]], times=TIMES)),
        "a.gpx, point 4: point without a readable position left out (2 times)",
        points=3,
    ),
    Case(
        "geojson cut off",
        geojson(*(feature("Point", LINE[s], time=TIMES[s]) for s in range(5)))[:-40],
        "a.gpx, point 4: the file is cut off there: what stands before is used",
        points=4,
    ),
    Case(
        "geojson cut off in a line",
        geojson(feature("LineString", LINE, coordTimes=TIMES))[:-40],
        refused="a.gpx, line 1: is no whole JSON (Expecting ',' delimiter)",
    ),
    Case(
        "geojson with letters",
        geojson(*(feature("Point", ["7°06'E", f"48°42.00{s}'N"], time=TIMES[s]) for s in range(3))),
        "a.gpx, point 1: position in degrees and minutes, or with a letter, read (6 times)",
        points=3,
    ),
    Case(
        "geojson list cut off",
        json.dumps([feature("Point", LINE[s], time=TIMES[s]) for s in range(5)])[:-40],
        "a.gpx, point 4: the file is cut off there: what stands before is used",
        points=4,
    ),
    Case(
        "geojson of lines cut off",
        "\n".join(json.dumps(feature("Point", LINE[s], time=TIMES[s])) for s in range(5))[:-40],
        "a.gpx, point 4: the file is cut off there: what stands before is used",
        points=4,
    ),
    Case(
        "geojson of damaged UTF-16",
        geojson(feature("LineString", LINE, times=TIMES, name="Beet")).encode("utf-16")
        + b"\x00\xd8\n\x00",
        "a.gpx, line 1: characters that cannot be read replaced",
        points=5,
    ),
    Case(
        "geojson deep",
        "[" * 100_000,
        refused="a.gpx: JSON nested too deeply; no recorder writes it",
    ),
    Case(
        "geojson Latin-1",
        json.dumps(
            feature("LineString", LINE, times=TIMES, name="Fält"), ensure_ascii=False
        ).encode("latin-1"),
        "a.gpx, line 1: not UTF-8: read as Windows Latin",
        points=5,
    ),
]

NMEA = [
    Case(
        "nmea checksum",
        nmea(2) + nmea(3, 2).replace("GNRMC,070003", "GNRMC,070009"),
        "a.gpx, line 7: sentence with a wrong checksum left out",
        points=5,
    ),
    Case(
        "nmea without a fix",
        sentence("GPRMC,070000.00,V,,,,,,,120526,,,N")
        + sentence("GPGGA,070000.00,,,,,0,00,99.99,,,,,,")
        + nmea(3, 1),
        "a.gpx, line 1: sentence without a fix left out (2 times)",
        points=3,
    ),
    Case(
        "nmea unreadable",
        nmea(3) + sentence("GPRMC,079900.00,A,4842.0,N,00706.0,E,,,120526,,,A"),
        "a.gpx, line 7: sentence that cannot be read left out",
        points=3,
    ),
    Case(
        "nmea minutes of 60",
        nmea(3) + sentence("GPGGA,070003.00,4860.0,N,00706.0,E,1,12,0.8,210,M,48,M,,"),
        "a.gpx, line 7: sentence that cannot be read left out",
        points=3,
    ),
    Case(
        "nmea without date",
        nmea(5, rmc=False),
        refused="a.gpx: its sentences carry no date (no RMC); log RMC sentences too, or export as "
        "GPX",
    ),
    Case(
        "nmea of satellites only",
        sentence("GPGSA,A,3,01,02,,,,,,,,,,,1.5,0.8,1.2"),
        refused="a.gpx: holds no RMC or GGA sentence",
    ),
    Case(
        "nmea never a fix",
        sentence("GPRMC,070000.00,V,,,,,,,120526,,,N"),
        refused="a.gpx: its sentences hold no fix (RMC or GGA)",
    ),
]

CSV = [
    Case(
        "csv degrees and minutes",
        table(3, row="{time},48°42.00{second}'N,7°06.000'E"),
        "a.gpx, line 2: position in degrees and minutes, or with a letter, read (6 times)",
        points=3,
    ),
    Case(
        "csv ddmm",
        table(3, row="{time},4842.00{second},706.000"),
        "a.gpx, line 2: position written as degrees and minutes (ddmm.mmmm) converted (3 times)",
        points=3,
    ),
    Case(
        "csv decimal commas",
        table(3, "time;lat;lon", "{time};48,7000{second};7,1"),
        "a.gpx, line 2: decimal comma in a position read as a point (6 times)",
        points=3,
    ),
    Case(
        "csv decimal commas between commas",
        table(3, row="{time},48,7000{second},7,1"),
        refused="a.gpx, line 2: 5 cells under 3 headings; decimal commas need quotes, or "
        "semicolons between the columns",
    ),
    Case(
        "csv too many cells",
        table(3, "time;lat;lon", "{time};{lat:.7f};{lon};5"),
        refused="a.gpx, line 2: 4 cells under 3 headings",
    ),
    Case(
        "csv position in one cell",
        table(3, "time;position", "{time};{lat:.7f}, {lon}"),
        "a.gpx, line 2: position without letters read as latitude, longitude (3 times)",
        points=3,
    ),
    Case(
        "csv position in one cell with letters",
        table(3, "time;position", "{time};48°42.00{second}'N 7°06.000'E"),
        "a.gpx, line 2: position in degrees and minutes, or with a letter, read (3 times)",
        points=3,
    ),
    Case(
        "csv position in one cell with decimal commas",
        table(3, "time;lat lon", "{time};48,7000{second} 7,1"),
        "a.gpx, line 2: decimal comma in a position read as a point (3 times)",
        points=3,
    ),
    Case(
        "csv position in one cell, longitude first",
        table(3, "time;position", "{time};150.25, -33.00000{second}"),
        "a.gpx, line 2: position read as longitude, latitude, since the first is beyond 90 "
        "(3 times)",
        points=3,
    ),
    Case(
        "csv position in one cell, longitude first by its heading",
        table(3, "time;lon/lat", "{time};{lon}, {lat:.7f}"),
        "",
        points=3,
    ),
    Case(
        "csv position in two cells under one heading",
        table(3, "time,lat lon,note", "{time},{lat:.7f},{lon},dry"),
        "a.gpx, line 2: position in two cells under one heading read as one (3 times)",
        points=3,
    ),
    Case(
        "csv position that is none",
        table(3, "time;position", "{time};{lat:.7f}, {lon}") + f"{stamp(3)};north field\n",
        "a.gpx, line 5: point without a readable position left out",
        points=3,
    ),
    Case(
        "csv place names for positions",
        table(3, "time;location", "{time};north field"),
        refused="a.gpx: no usable point; a track needs two or more (3 times: point without a "
        "readable position left out)",
    ),
    Case(
        "csv short line",
        table(3) + "2026-05-12T07:00",
        "a.gpx, line 5: line with too few cells left out",
        points=3,
    ),
    Case(
        "csv speed that is no number",
        table(3, "time,lat,lon,speed", "{time},{lat:.7f},{lon},-.-"),
        "a.gpx, line 2: speed that is no number left out (3 times)",
        points=3,
    ),
    Case(
        "csv misspelt",
        table(3, "time,latitud,longitude"),
        refused="a.gpx, line 1: no column for latitude; 'latitud' is not known; did you mean "
        "latitude?",
    ),
    Case(
        "csv misspelt twice",
        table(3, "tiem,latitude,longtitude"),
        refused="a.gpx, line 1: no column for longitude and time; 'tiem' and 'longtitude' are not "
        "known; did you mean time and longitude?",
    ),
    Case(
        "csv all misspelt",
        table(3, "tiem,latitud,longtitude"),
        refused="a.gpx, line 1: no column for latitude, longitude and time; 'tiem', 'latitud' and "
        "'longtitude' are not known; did you mean time, latitude and longitude?",
    ),
    Case(
        "csv speed misspelt",
        table(3, "time,lat,lon,sped", "{time},{lat:.7f},{lon},1.1"),
        "a.gpx, line 1: column 'sped' is not used; did you mean speed?",
        points=3,
    ),
    Case(
        "csv no time",
        table(3, "lat,lon", "{lat},{lon}"),
        refused="a.gpx, line 1: no column for time; name the columns time,latitude,longitude",
    ),
    Case(
        "csv open quote",
        table(3, "time,lat,lon,note", '{time},{lat:.7f},{lon},"dry')
        + table(40, "", "{time},{lat:.7f},{lon},"),
        refused="a.gpx, line 4: a quotation mark is not closed",
    ),
    Case(
        "csv cell of two lines",
        table(3, "time,lat,lon,note", '{time},{lat:.7f},{lon},"dry\nsoil"'),
        "a.gpx, line 2: cell in quotes over several lines (3 times)",
        points=3,
    ),
    Case(
        "csv very open quote",
        table(3, "time,lat,lon,note", "{time},{lat:.7f},{lon},dry") + ',,,"' + "x" * 140_000,
        refused="a.gpx, line 5: longer than 20000 characters; this is no table of positions",
    ),
    Case(
        "csv no line",
        "time,lat,lon\n",
        refused="a.gpx: no line below the header",
    ),
    Case(
        "csv long line",
        "time,lat,lon\n" + "x" * 30_000,
        refused="a.gpx, line 2: longer than 20000 characters; this is no table of positions",
    ),
    Case(
        "a turn sheet",
        "pass,start,end,unit,turns\n1,,,A,41\n",
        refused="a.gpx: is a sheet of turn counts; the track is another file",
    ),
    Case(
        "another table",
        "start,name\n1,2\n",
        refused="a.gpx: is no track file that can be read; export the recording as GPX (or KML, "
        "GeoJSON, NMEA, or CSV with the columns time,latitude,longitude)",
    ),
    Case(
        "any other text",
        "Dear neighbour,\nthe track is on its way.\n",
        refused="a.gpx: is no track file that can be read; export the recording as GPX (or KML, "
        "GeoJSON, NMEA, or CSV with the columns time,latitude,longitude)",
    ),
    Case(
        "a picture",
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(100),
        refused="a.gpx: is no track file that can be read; export the recording as GPX (or KML, "
        "GeoJSON, NMEA, or CSV with the columns time,latitude,longitude)",
    ),
]

PACKED = [
    Case(
        "gz cut off",
        gzipped(gpx(points(2000)))[:-3000],
        "a.gpx, point 1370: the archive is damaged: what could be unpacked of it is used",
        points=1370,
    ),
    Case(
        "gz of blank lines",
        gzipped(b"time,lat,lon\n" + b"\n" * 1_100_000),
        refused="a.gpx: very large, and hardly a point in it; no recorder writes such a file",
    ),
    Case(
        "nmea of blank lines",
        nmea(3).encode() + b"\n" * 1_100_000,
        refused="a.gpx: very large, and hardly a point in it; no recorder writes such a file",
    ),
    Case(
        "gz bomb",
        gzipped(b"[" + b" " * 20_000_000),
        refused="a.gpx: unpacks to more than 16 MB; no track does",
    ),
    Case(
        "zip bomb",
        zipped(day_json=b"[" + b" " * 20_000_000),
        refused="a.gpx: unpacks to more than 16 MB; no track does",
    ),
    Case(
        "zip without track",
        zipped(notes_txt="hello", photo_jpg=b"\xff\xd8\xff"),
        refused="a.gpx: a zip file without a track in it",
    ),
    Case(
        "a spreadsheet",
        zip_of({"[Content_Types].xml": "<x/>", "xl/workbook.xml": "<x/>"}),
        refused="a.gpx: is a spreadsheet file that cannot be read; save the sheet as CSV",
    ),
    Case(
        "an empty workbook",
        workbook([], notes=""),
        refused="a.gpx: the workbook is empty",
    ),
    Case(
        "an open spreadsheet",
        zip_of({"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}, packing=0),
        refused="a.gpx: is an office document; save the table as .xlsx or CSV",
    ),
    Case(
        "zip with one that cannot be read",
        zipped(day_gpx=gpx(points(3)), old_gpx="<gpx></wrong>"),
        "a.gpx: not used: a.gpx (old.gpx): cannot be read as XML: mismatched tag, line 1",
        points=3,
    ),
    Case(
        "zip with half a list",
        zipped(day_gpx=gpx(points(3)), about_json='{"version": 1'),
        "a.gpx: not used: a.gpx (about.json), line 1: is no whole JSON (Expecting ',' delimiter)",
        points=3,
    ),
    Case(
        "zip with one that is none",
        zipped(plan_kml="<kml/>", day_gpx=gpx(points(3))),
        "a.gpx: not used: a.gpx (plan.kml): a KML file without any track (gx:Track)",
        points=3,
    ),
    Case(
        "zip with nothing usable",
        zipped(plan_kml="<kml/>", day_gpx=gpx("")),
        refused="a.gpx (plan.kml): a KML file without any track (gx:Track)",
    ),
    Case(
        "zip in gz",
        gzipped(zipped(a_gpx=gpx(points(3)))),
        refused="a.gpx: an archive within an archive; unpack it first",
    ),
    Case(
        "zip in zip",
        zipped(a_zip=zipped(a_gpx=gpx(points(3)))),
        refused="a.gpx (a.zip): an archive within an archive; unpack it first",
    ),
    Case(
        "zip beside a track in a zip",
        zipped(a_zip=zipped(a_gpx=gpx(points(3))), b_gpx=gpx(points(3))),
        "a.gpx: not used: a.gpx (a.zip): an archive within an archive; unpack it first",
        points=3,
    ),
    Case(
        "zip cut off",
        zipped(a_gpx=gpx(points(30)))[:-30],
        refused="a.gpx: a damaged zip file; copy or export it again",
    ),
    Case(
        "zip with paths",
        zipped(**{"../../etc/day_gpx": gpx(points(3)), "__MACOSX/._day_gpx": gpx(points(9))}),
        "",
        points=3,
    ),
    Case(
        "zip of many",
        zipped(**{f"f{n}": "" for n in range(300)}),
        refused="a.gpx: holds 300 files; up to 200 are looked at",
    ),
    Case(
        "zip of very many",
        zipped(**{f"{'f' * 60}{n}": "" for n in range(12_000)}),
        refused="a.gpx: holds too many files; up to 200 are looked at",
    ),
]

ALL = [*GPX, *FIELDS, *KML, *GEOJSON, *NMEA, *CSV, *PACKED]
