"""Limits too large to be reached by a test, made small for it; and archives of unusual kinds."""

from __future__ import annotations

import io
import struct
import zipfile

import pytest
from making import feature, geojson, gpx, kml_track, nmea, points, position, stamp, table, zipped

from groundtruth.core.errors import TrackFileError
from groundtruth.io import files, read_track
from groundtruth.io.tracks import json_text, raw_fixes, xml_feed
from groundtruth.io.tracks.formats import csv_table, kml

POINTS = "a.gpx: more than 2 million points; split the file by days"
SIZE = "a.gpx: 2000 MB; a track file of more than 1074 MB is not read"
JSON_BYTES = "a.gpx: more than 128 MB of JSON; split the file by days"
JSON_VALUES = (
    "a.gpx: so many values of JSON that they would fill the memory; split the file by days"
)
NAMES = (
    "a.gpx, line 4: more than 10,000 names of elements and attributes; no recorder writes such a "
    "file"
)
ENTRIES = "a.gpx: holds too many files; up to 200 are looked at"
DOCUMENTS = "a.gpx, line 1: more than 1000 documents in one file; no recorder writes such a file"
LOCKED = "a.gpx: is locked with a password; unpack it first"
UNUSUAL = "a.gpx: packed in an unusual way; unpack it first"
UNPACKED = "a.gpx (a.gpx): cannot be unpacked; export it again"
SAID = (POINTS, SIZE, JSON_BYTES, JSON_VALUES, DOCUMENTS, LOCKED, UNUSUAL, UNPACKED, NAMES)
"""Messages tested here; `test_messages.py` lets none of the code stay untested."""


def refusal_of(path) -> str:
    """The words with which a file is refused."""
    with pytest.raises(TrackFileError) as caught:
        read_track(path)
    return str(caught.value)


class Small(int):
    """A limit that acts as a small number and is written as the real one."""

    def __new__(cls, real: int, acts_as: int) -> Small:
        made = super().__new__(cls, acts_as)
        made.real_limit = real
        return made

    def __floordiv__(self, other):
        return self.real_limit // other

    def __rshift__(self, other):
        return self.real_limit >> other

    def __format__(self, how):
        return format(self.real_limit, how)


@pytest.mark.parametrize("content", [gpx(points(50)), kml_track(50), nmea(50), table(50)])
def test_points_are_counted(write, monkeypatch, content):
    for module in (raw_fixes, csv_table, kml, xml_feed):
        monkeypatch.setattr(module, "MAX_POINTS", Small(module.MAX_POINTS, 40))
    assert refusal_of(write("a.gpx", content)) == POINTS


def test_the_size_of_files_is_limited(tmp_path):
    path = tmp_path / "a.gpx"
    with path.open("wb") as file:
        file.truncate(2_000_000_000)  # sparse
    assert refusal_of(path) == SIZE
    assert files.MAX_TRACK_BYTES == 1 << 30


def test_json_is_limited_in_bytes_and_values(write, monkeypatch):
    line = feature(
        "LineString", [position(s) for s in range(9)], times=[stamp(s) for s in range(9)]
    )
    path = write("a.gpx", geojson(line))
    assert len(read_track(path)) == 9
    monkeypatch.setattr(json_text, "MAX_MEMORY", 2000)
    assert refusal_of(path) == JSON_VALUES
    monkeypatch.setattr(json_text, "MAX_JSON_BYTES", Small(json_text.MAX_JSON_BYTES, 200))
    assert refusal_of(path) == JSON_BYTES


@pytest.mark.parametrize("name", ["<a{}/>", '<a b{}="1"/>', '<a xmlns:b{}="c"/>'])
def test_names_are_counted(write, name):
    many = "".join(name.format(i) for i in range(25_000))
    assert refusal_of(write("a.gpx", gpx(many + points(3)))) == NAMES
    few = "".join(name.format(i) for i in range(900))
    assert len(read_track(write("a.gpx", gpx(few + points(3))))) == 3


def test_points_of_all_files_of_a_call_are_counted(write, monkeypatch):
    from groundtruth.io.tracks import read

    paths = [write(f"{k}.gpx", gpx(points(30, 40 * k))) for k in range(2)]
    assert len(read_track(paths)) == 60
    archive = write("a.gpx", zipped(a=gpx(points(30)), b=gpx(points(30, 40))))
    assert len(read_track(archive)) == 60
    monkeypatch.setattr(read, "MAX_POINTS", 50)
    with pytest.raises(TrackFileError, match=r"1.gpx: more than 2 million points"):
        read_track(paths)
    assert refusal_of(archive) == POINTS


@pytest.mark.parametrize("hidden", ["plain", "zip64", "two ends"])
def test_entries_of_a_zip_are_counted_wherever_its_end_says_that_they_are(write, hidden):
    """The list of contents of 2,001 empty files, told by the usual end, by one of zip64, or by a
    second end behind one of a single file [APPNOTE.TXT 6.3.10, 4.3.14 to 4.3.16]."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for i in range(2001):
            archive.writestr(f"{i}.gpx", "")
    data = buffer.getvalue()
    at, head = data.rindex(b"PK\x05\x06"), data.index(b"PK\x01\x02")
    few = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 1, 1, 46, head, 0)
    match hidden:
        case "zip64":
            end64 = struct.pack(
                "<4sQ2H2L4Q", b"PK\x06\x06", 44, 45, 45, 0, 0, 2001, 2001, at - head, head
            )
            data = data[:at] + end64 + struct.pack("<4sLQL", b"PK\x06\x07", 0, at, 1) + few
        case "two ends":
            data = data[:at] + few + data[at:]
    assert refusal_of(write("a.gpx", data)) == ENTRIES


def test_documents_in_one_file_are_counted(write):
    assert refusal_of(write("a.gpx", "<gpx/>" * 1002)) == DOCUMENTS


def test_a_locked_zip_is_refused(write):
    data = bytearray(zipped(a_gpx=gpx(points(3))))
    data[data.index(b"PK\x01\x02") + 8] |= 1  # the flag of an encrypted member
    assert refusal_of(write("a.gpx", bytes(data))) == LOCKED


def test_an_unusual_packing_is_refused(write):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_BZIP2) as archive:
        archive.writestr("a.gpx", gpx(points(3)))
    assert refusal_of(write("a.gpx", buffer.getvalue())) == UNUSUAL


def test_a_zip_whose_member_is_not_where_it_should_be_is_refused(write):
    data = bytearray(zipped(a_gpx=gpx(points(3))))
    data[0:4] = b"PK\x05\x06"  # the member's own header is gone, its entry in the list stands
    assert refusal_of(write("a.gpx", bytes(data))) == UNPACKED


def test_a_zip_member_without_a_name_is_passed_over(write):
    data = zipped(**{"~": "remark", "day_gpx": gpx(points(3))})
    assert data.count(b"~") == 2  # in the member's own header and in the list of contents
    assert len(read_track(write("a.gpx", data.replace(b"~", b"\0")))) == 3
