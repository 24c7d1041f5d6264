"""A track file that is replaced or rewritten while it is read: what is hashed is what was read."""

from __future__ import annotations

import gzip
import os
from hashlib import sha256

import pytest
from making import gpx, kml_track, nmea, points, table, zipped

from groundtruth.core.errors import TrackFileError
from groundtruth.io import files, read_track

CONTENTS = {
    "gpx": gpx(points(50)),
    "kml": kml_track(50),
    "nmea": nmea(50),
    "csv": table(50),
    "damaged gpx": gpx(points(50)).replace("</trkseg>", "</trkseg>&"),
    "zip": zipped(a_gpx=gpx(points(50))),
    "gz": gzip.compress(gpx(points(50)).encode()),
}
CHANGED = "a.gpx: was changed while it was read; try again"
SAID = (CHANGED,)
"""Messages tested here; `test_messages.py` lets none of the code stay untested."""


def once_opened(monkeypatch, act):
    """Do something between the opening of a file and the reading of it."""
    real, done = os.fstat, []

    def fstat(handle):
        found = real(handle)
        if not done:
            done.append(act())
        return found

    monkeypatch.setattr(files.os, "fstat", fstat)


@pytest.mark.skipif(os.name == "nt", reason="an open file cannot be replaced there")
@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS)
def test_a_replaced_file_is_read_as_it_was_opened(write, tmp_path, monkeypatch, content):
    path = write("a.gpx", content)
    before = read_track(path)
    digest = sha256(path.read_bytes()).hexdigest()
    other = tmp_path / "other.gpx"
    other.write_text(gpx(points(30)))
    once_opened(monkeypatch, lambda: os.replace(other, path))
    track = read_track(path)
    assert len(track) == len(before) == 50
    assert track.inputs[0].sha256 == digest
    assert len(read_track(path)) == 30


@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS)
def test_a_file_rewritten_in_place_is_refused(write, monkeypatch, content):
    path = write("a.gpx", content)

    def rewrite():
        with open(path, "r+b") as file:
            file.seek(0, 2)
            file.write(b" ")

    once_opened(monkeypatch, rewrite)
    with pytest.raises(TrackFileError) as refusal:
        read_track(path)
    assert str(refusal.value) == CHANGED
