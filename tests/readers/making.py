"""Builders of small track files for the tests; positions and times are invented."""

from __future__ import annotations

import gzip
import io
import json
import zipfile
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor

import openpyxl

START = datetime(2026, 5, 12, 7, 0, 0, tzinfo=UTC)
START_S = START.timestamp()
LATITUDE_DEG, LONGITUDE_DEG = 48.7, 7.1
STEP_DEG = 1e-5  # 1.1 m to the north each second


def stamp(second: float, ending: str = "Z") -> str:
    """ISO time ``second`` s after the start."""
    moment = START + timedelta(seconds=second)
    text = moment.strftime("%Y-%m-%dT%H:%M:%S")
    if moment.microsecond:
        text += f".{moment.microsecond // 1000:03d}"
    return text + ending


def point(
    second: float,
    *,
    lat: float | str | None = None,
    lon: float | str | None = LONGITUDE_DEG,
    time: str | None = "",
    inner: str = "",
) -> str:
    """One `trkpt`; ``time`` "" stands for the ISO time of ``second``, None for no time."""
    if lat is None:
        lat = f"{LATITUDE_DEG + second * STEP_DEG:.7f}"
    written = stamp(second) if time == "" else time
    when = "" if written is None else f"<time>{written}</time>"
    longitude = "" if lon is None else f' lon="{lon}"'
    return f'<trkpt lat="{lat}"{longitude}>{when}{inner}</trkpt>\n'


def points(count: int, first: int = 0) -> str:
    """``count`` points, one a second."""
    return "".join(point(second) for second in range(first, first + count))


def gpx(body: str, *, version: str = "1.1", head: str = "", declared: str = "UTF-8") -> str:
    """A GPX file of one track with one segment."""
    space = f"http://www.topografix.com/GPX/{version.replace('.', '/')}"
    return (
        f'<?xml version="1.0" encoding="{declared}"?>\n'
        f'<gpx version="{version}" creator="test" xmlns="{space}" xmlns:x="urn:x">\n'
        f"{head}<trk><name>Field day</name><trkseg>\n{body}</trkseg></trk></gpx>\n"
    )


def kml(times: list[str], coords: list[str], inner: str = "", *, closed: bool = True) -> str:
    """A KML file with one `gx:Track`."""
    body = "".join(f"<when>{time}</when>\n" for time in times)
    body += "".join(f"<gx:coord>{coord}</gx:coord>\n" for coord in coords) + inner
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2" '
        'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document>\n<Placemark>'
        f"<name>Field day</name><gx:Track>\n{body}"
    )
    return text + "</gx:Track></Placemark></Document></kml>\n" if closed else text


def kml_track(count: int, **more) -> str:
    """A KML track of ``count`` points, one a second."""
    return kml(
        [stamp(second) for second in range(count)],
        [
            f"{LONGITUDE_DEG} {LATITUDE_DEG + second * STEP_DEG:.7f} 210.5"
            for second in range(count)
        ],
        **more,
    )


def position(second: float) -> list[float]:
    """A GeoJSON position."""
    return [LONGITUDE_DEG, round(LATITUDE_DEG + second * STEP_DEG, 7), 210.5]


def feature(kind: str, coordinates, **properties) -> dict:
    """A GeoJSON feature."""
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def geojson(*features: dict) -> str:
    """A GeoJSON collection."""
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


def sentence(body: str) -> str:
    """An NMEA sentence with its checksum."""
    return f"${body}*{reduce(xor, body.encode(), 0):02X}\r\n"


def ddmm(degrees: float, sides: str, width: int) -> str:
    """Degrees as NMEA writes them, "4842.00000,N"."""
    size = abs(degrees)
    whole = int(size)
    side = sides[degrees < 0]
    return f"{whole:0{width}d}{(size - whole) * 60:08.5f},{side}"


def nmea(count: int, first: int = 0, *, rmc: bool = True, day: str = "120526") -> str:
    """RMC and GGA for ``count`` fixes, one a second."""
    out = []
    for second in range(first, first + count):
        clock = (START + timedelta(seconds=second)).strftime("%H%M%S.00")
        lat = ddmm(LATITUDE_DEG + second * STEP_DEG, "NS", 2)
        lon = ddmm(LONGITUDE_DEG, "EW", 3)
        if rmc:
            out.append(sentence(f"GNRMC,{clock},A,{lat},{lon},2.43,0.0,{day},,,A"))
        out.append(sentence(f"GNGGA,{clock},{lat},{lon},1,12,0.80,210.5,M,48.0,M,,"))
    return "".join(out)


def table(count: int, header: str = "time,latitude,longitude", row: str = "") -> str:
    """A CSV track; ``row`` formats time, lat, lon, s (seconds since 1970) and second."""
    row = row or "{time},{lat:.7f},{lon}"
    lines = [
        row.format(
            time=stamp(second),
            lat=LATITUDE_DEG + second * STEP_DEG,
            lon=LONGITUDE_DEG,
            s=START_S + second,
            second=second,
        )
        for second in range(count)
    ]
    return "\n".join([header, *lines]) + "\n"


def workbook(
    rows: Sequence[Sequence[object]],
    formats: Sequence[tuple[str, str]] = (),
    notes: str = "nothing here",
) -> bytes:
    """A spreadsheet file with these rows on its second sheet; ``formats`` are (cell, number
    format)."""
    book = openpyxl.Workbook()
    book.active.title = "notes"
    if notes:
        book.active.append([notes])
    sheet = book.create_sheet("counts")
    for row in rows:
        sheet.append(row)
    for cell, form in formats:
        sheet[cell].number_format = form
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def zipped(**files: str | bytes) -> bytes:
    """A zip of the files; "_" in a keyword stands for "." in the name."""
    return zip_of({name.replace("_", "."): content for name, content in files.items()})


def zip_of(files: dict[str, str | bytes], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip of files by their names."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", packing) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def gzipped(content: str | bytes) -> bytes:
    """Gzip of a file."""
    return gzip.compress(content.encode() if isinstance(content, str) else content, mtime=0)
