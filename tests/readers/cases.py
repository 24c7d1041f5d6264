"""Damaged, odd and hostile track files, each with the exact words that it must be met with.

`test_messages.py` reads each file and holds docs/tracks.md to the same words.
"""

from __future__ import annotations

from dataclasses import dataclass

from making import gpx, point, points, stamp


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
        "a.gpx, point 4: point without a readable position left out (2 times)",
        points=3,
    ),
    Case(
        "beyond 90",
        gpx(points(3) + point(3, lat="95") + point(4, lon="-181") + point(5, lat="inf")),
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
        refused="a.gpx, point 1: every latitude is beyond 90°; latitude and longitude look "
        "swapped: exchange the two columns",
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
        "clock not set",
        gpx(point(0, time="1970-01-01T00:00:00Z") + points(3, 1)),
        "a.gpx, point 1: point dated before 1980 or after 2100 (clock not set) left out",
        points=3,
    ),
    Case(
        "no zone",
        gpx("".join(point(s, time=stamp(s, "")) for s in range(3))),
        refused="a.gpx, point 1: times carry no time zone; say in which zone the recorder's "
        'clock ran, as in time_zone = "Europe/Oslo"',
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
        "no usable point",
        gpx(point(0, lat="x") + point(1, lat="x")),
        refused="a.gpx: no usable point; a track needs two or more",
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
        refused="a.gpx: holds marks (waypoints) and no recorded track",
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
        "a.gpx: bare & read as text (2 times)",
        points=3,
    ),
    Case(
        "control character",
        gpx(points(3)).replace("Field day", "Field\x07\x1b day"),
        "a.gpx: control character left out (2 times)",
        points=3,
    ),
    Case(
        "Latin-1",
        gpx(points(3)).replace("Field day", "Fält å").encode("latin-1"),
        "a.gpx: characters that are not UTF-8 read as Windows Latin (2 times)",
        points=3,
    ),
    Case(
        "blank line first",
        "\n  " + gpx(points(3)),
        "a.gpx: characters before the XML declaration left out",
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
ALL = [*GPX]
