"""Limits too large to be reached by a test, made small for it; and archives of unusual kinds."""

from __future__ import annotations

import io
import zipfile

import pytest
from making import feature as feature_of
from making import geojson, gpx, kml_track, nmea, points, position, stamp, table, zipped

from groundtruth.errors import TrackFileError
from groundtruth.readers import columns, csvtrack, files, kml, read_track, xmlguard
from groundtruth.readers import geojson as geojson_reader


@pytest.mark.parametrize("content", [gpx(points(50)), kml_track(50), nmea(50), table(50)])
def test_points_are_counted(write, monkeypatch, content):
    for module in (columns, csvtrack, kml, xmlguard):
        monkeypatch.setattr(module, "MAX_POINTS", 40)
    with pytest.raises(TrackFileError, match=r"^a.gpx: more than .* points; split the file by da"):
        read_track(write("a.gpx", content))


def test_the_size_of_files_is_limited(tmp_path):
    path = tmp_path / "a.gpx"
    with path.open("wb") as file:
        file.truncate(2_000_000_000)  # sparse
    with pytest.raises(TrackFileError, match=r"^a.gpx: 2000 MB; a track file of more than 1074 MB"):
        read_track(path)
    assert files.MAX_TRACK_BYTES == 1 << 30


def test_json_is_limited_in_bytes_and_values(write, monkeypatch):
    line = feature_of(
        "LineString", [position(s) for s in range(9)], times=[stamp(s) for s in range(9)]
    )
    path = write("a.gpx", geojson(line))
    assert len(read_track(path)) == 9
    monkeypatch.setattr(geojson_reader, "MAX_VALUES", 20)
    with pytest.raises(TrackFileError, match=r"^a.gpx: more than 20 values of JSON; split the fi"):
        read_track(path)
    monkeypatch.setattr(geojson_reader, "MAX_JSON_BYTES", 200)
    with pytest.raises(TrackFileError, match=r"^a.gpx: more than 0 MB of JSON; split the file by"):
        read_track(path)


def test_documents_in_one_file_are_counted(write):
    with pytest.raises(TrackFileError, match="more than 1000 documents in one file; no recorder"):
        read_track(write("a.gpx", "<gpx/>" * 1002))


def test_a_locked_zip_is_refused(write):
    data = bytearray(zipped(a_gpx=gpx(points(3))))
    data[data.index(b"PK\x01\x02") + 8] |= 1  # the flag of an encrypted member
    with pytest.raises(TrackFileError, match=r"^a.gpx: is locked with a password; unpack it first"):
        read_track(write("a.gpx", bytes(data)))


def test_an_unusual_packing_is_refused(write):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_BZIP2) as archive:
        archive.writestr("a.gpx", gpx(points(3)))
    with pytest.raises(TrackFileError, match=r"^a.gpx: packed in an unusual way; unpack it first"):
        read_track(write("a.gpx", buffer.getvalue()))


def test_a_zip_whose_member_is_not_where_it_should_be_is_refused(write):
    data = bytearray(zipped(a_gpx=gpx(points(3))))
    data[0:4] = b"PK\x05\x06"  # the member's own header is gone, its entry in the list stands
    with pytest.raises(TrackFileError, match=r"^a.gpx \(a.gpx\): cannot be unpacked; export it a"):
        read_track(write("a.gpx", bytes(data)))


def test_a_zip_member_without_a_name_is_passed_over(write):
    data = zipped(**{"~": "remark", "day_gpx": gpx(points(3))})
    assert data.count(b"~") == 2  # in the member's own header and in the list of contents
    assert len(read_track(write("a.gpx", data.replace(b"~", b"\0")))) == 3
