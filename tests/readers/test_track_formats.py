"""A format of track files is one module and its name in the registry; docs/tracks.md lists them."""

from __future__ import annotations

from pathlib import Path

import pytest
from making import START_S, gpx, kml_track, nmea, points, table, zipped

from groundtruth.core.errors import TrackFileError
from groundtruth.io import read_track
from groundtruth.io.files import Source
from groundtruth.io.tracks import archive, formats
from groundtruth.io.tracks.raw_fixes import FixColumns, TrackTally
from groundtruth.io.tracks.track_format import Head, TrackFormat

PAGE = (Path(__file__).parents[2] / "docs" / "tracks.md").read_text(encoding="utf-8")


def read_toy(source, zone):
    """Lines "second longitude latitude" below a line that says `toy track`."""
    columns = FixColumns(TrackTally(source.name, "line"))
    columns.start_segment()
    for line, text in enumerate(source.data.decode().splitlines()[1:], start=2):
        try:
            second, lon, lat = map(float, text.split())
        except ValueError:
            raise columns.tally.error("is no fix of a toy track", line) from None
        columns.append(START_S + second, lon, lat, place=line)
    return columns


TOY = TrackFormat(
    name="Toy",
    recognises=lambda head: head.text.startswith("toy track\n"),
    read=read_toy,
    told_by="its first line",
    holds="fixes",
)
FILE = "toy track\n0 7.1 48.7\n1 7.1 48.70001\n2 7.1 48.70002\n"


@pytest.fixture
def _toy_is_known(monkeypatch):
    monkeypatch.setattr(formats, "FORMATS", (TOY, *formats.FORMATS))


def test_what_no_format_recognises_is_refused():
    with pytest.raises(TrackFileError, match="is no track file that can be read"):
        read_track(Source("day.toy", FILE.encode()))


@pytest.mark.usefixtures("_toy_is_known")
@pytest.mark.parametrize("data", [FILE.encode(), zipped(day_toy=FILE, notes_txt="Wet.")])
def test_a_format_that_is_registered_is_read(data):
    track = read_track(Source("day.toy", data))
    assert (track.time_s - START_S).tolist() == [0, 1, 2]
    assert track.latitude_deg.tolist() == [48.7, 48.70001, 48.70002]


@pytest.mark.usefixtures("_toy_is_known")
def test_its_refusals_say_where():
    with pytest.raises(TrackFileError) as caught:
        read_track(Source("day.toy", FILE.encode() + b"3 7.1 north\n"))
    assert str(caught.value) == "day.toy, line 5: is no fix of a toy track"
    assert (caught.value.file, caught.value.line) == ("day.toy", 5)


def test_the_page_lists_every_format():
    rows = [(one.name, one.told_by, one.holds) for one in formats.FORMATS]
    lines = [f"| {' | '.join(row)} |" for row in (*rows, *archive.DOCUMENTED)]
    head = "| format | told by | read |\n| --- | --- | --- |\n"
    assert head + "\n".join(lines) + "\n\n" in PAGE


WHOLE = {
    "GPX 1.0 and 1.1": [gpx(points(3)), "﻿" + gpx(points(3)), "stray " + gpx(points(3))],
    "KML": [kml_track(3), "<!-- <gpx> -->" + kml_track(3)],
    "GeoJSON": ['{"type": "Feature"}', " \n[", '{"made by": "<gpx>"}'],
    "NMEA 0183": [nmea(3), "log of 2026\n" + nmea(3), "<14>" + nmea(3)],
    "CSV": [table(3), "\n# remark\n" + table(3)],
    "": ["", "<html></html>", "%PDF\0\0", "notes on the weather", "lat\n7.1"],
}


@pytest.mark.parametrize("name", WHOLE)
def test_one_format_at_most_recognises_a_file(name):
    for text in WHOLE[name]:
        for data in (text.encode(), text.encode("utf-16")):
            head = Head.of(data)
            found = [form.name for form in formats.FORMATS if form.recognises(head)]
            assert found == ([name] if name else []), text
