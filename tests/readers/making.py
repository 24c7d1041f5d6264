"""Builders of small track files for the tests; positions and times are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

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
