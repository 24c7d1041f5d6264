"""Files made to do harm, and bytes of no kind: bounded work, one line, no error but ours."""

from __future__ import annotations

import os
import resource
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import (
    feature,
    geojson,
    gpx,
    gzipped,
    kml_track,
    nmea,
    point,
    points,
    position,
    stamp,
    table,
    zipped,
)

from groundtruth.core.errors import GroundtruthError, TrackFileError
from groundtruth.io import read_run, read_track, read_turns

WHOLE = {
    "gpx": gpx("".join(point(s, inner="<ele>2</ele><speed>1</speed>") for s in range(4))).encode(),
    "kml": kml_track(4).encode(),
    "geojson": geojson(
        feature("LineString", [position(s) for s in range(4)], times=[stamp(s) for s in range(4)])
    ).encode(),
    "nmea": nmea(4).encode(),
    "csv": table(4).encode(),
    "gz": gzipped(gpx(points(4))),
    "kmz": zipped(doc_kml=kml_track(4)),
}
TROUBLE = [
    b"\0", b"\xff", b"&", b"<", b">", b"]]>", b"<![CDATA[", b"<!--", b'"', b"'", b",", b";", b"\n",
    b"NaN", b"1e999", b"-", b"9" * 40, b"[", b"{", b"$GPRMC,", b"2026-02-30T00:00:00Z", b"<time>",
    b"\xef\xbb\xbf", b"\xff\xfe", b"PK\x03\x04", b"\x1f\x8b", b"\xe2\x80\xae", b"&#0;", b"T24:00",
]  # fmt: skip


@settings(max_examples=60, deadline=None)
@pytest.mark.parametrize("kind", WHOLE)
@given(data=st.data())
def test_a_spoilt_file_is_read_or_refused(tmp_path_factory, kind, data):
    spoilt = bytearray(WHOLE[kind])
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(spoilt)))
        gone = data.draw(st.integers(0, 12))
        spoilt[at : at + gone] = data.draw(st.sampled_from(TROUBLE) | st.binary(max_size=4))
    path = tmp_path_factory.mktemp("spoilt") / "a.gpx"
    path.write_bytes(bytes(spoilt))
    try:
        track = read_track(path, time_zone="Europe/Oslo")
    except GroundtruthError as refusal:
        said = str(refusal)
    else:
        said = "".join(map(str, track.notices))
    assert said.isprintable()


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300))
def test_bytes_of_no_kind_are_refused(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("any") / "a.gpx"
    path.write_bytes(data)
    with pytest.raises(GroundtruthError) as caught:
        read_track(path)
    assert str(caught.value).isprintable()


NO_FILES = {
    "folder": "folder: is a folder; name a {}",
    "/dev/zero": "zero: is a device or pipe, not a file; name a {}",
    "pipe": "pipe: is a device or pipe, not a file; name a {}",
    "none": "none: no such {} in the folder work",
    "x" * 400: "x" * 79 + "…: cannot be opened: File name too long",
    "a\0b": "a b: cannot be opened: its name cannot be used",
    "empty": "empty: the file is empty; copy it from the phone or computer again",
}
NO_LISTS = {
    0: "no track file is named",
    300: "300 track files; up to 200 are read as one track",
}
SAID = (*(words.format("track file") for words in NO_FILES.values()), *NO_LISTS.values())
"""Messages tested here; `test_messages.py` lets none of the code stay untested."""


@pytest.mark.parametrize("name", NO_FILES)
@pytest.mark.parametrize(
    ("read", "what"),
    [(read_track, "track file"), (read_turns, "turn sheet"), (read_run, "run file")],
)
def test_what_is_no_file_is_refused(read, what, name, tmp_path):
    folder = tmp_path / "work"
    folder.mkdir()
    (folder / "folder").mkdir()
    (folder / "empty").touch()
    os.mkfifo(folder / "pipe")
    with pytest.raises(GroundtruthError) as caught:
        read(f"{folder}/{name}" if name[0] != "/" else name)
    assert str(caught.value) == NO_FILES[name].format(what)


@pytest.mark.parametrize("count", NO_LISTS)
def test_no_file_and_too_many_files_are_refused(count):
    with pytest.raises(TrackFileError) as caught:
        read_track(["a.gpx"] * count)
    assert str(caught.value) == NO_LISTS[count]


def test_names_are_made_fit_to_be_shown(write):
    name = "evil\x1b[31m\u202egpx.exe"
    text = gpx(points(3)).replace("Field day", "Bed\u202e1\u0085\u2028" + "x" * 500)
    track = read_track(write(name, text))
    assert track.name.isprintable()
    assert len(track.name) == 80
    assert track.inputs[0].name == "evil [31m gpx.exe"


HOSTILE = {
    "100 MB attribute": lambda f: (f.write(b'<gpx a="'), pour(f, b"x"), f.write(b'"/>')),
    "100 MB text": lambda f: (f.write(b"<gpx><name>"), pour(f, b"x"), f.write(b"</name></gpx>")),
    "100 MB comment": lambda f: (f.write(b"<gpx><!--"), pour(f, b"x"), f.write(b"--></gpx>")),
    "100 MB of empty elements": lambda f: (f.write(b"<gpx>"), pour(f, b"<a/>"), f.write(b"</gpx>")),
    "100 MB of opening tags": lambda f: pour(f, b"<a>"),
    "100 MB JSON of lists": lambda f: (f.write(b"["), pour(f, b"[],")),
    "100 MB JSON string": lambda f: (f.write(b'{"a":"'), pour(f, b"x")),
    "100 MB line of CSV": lambda f: (f.write(b"time,lat,lon\n"), pour(f, b"1,")),
    "100 MB of nothing": lambda f: pour(f, b"\0"),
    "100 MB sentence": lambda f: (f.write(b"$GPRMC,"), pour(f, b"1,")),
    "a million segments": lambda f: (
        f.write(b"<gpx><trk>"),
        f.write(b"<trkseg></trkseg>" * 1_000_000),
        f.write(b"</trk></gpx>"),
    ),
}
SIZE = 100 << 20


def pour(file, piece: bytes) -> None:
    """Fill up to 100 MB with the piece; the file stays sparse where it is zeros."""
    if piece == b"\0":
        file.truncate(SIZE)
        return
    block = piece * (1_000_000 // len(piece))
    for _ in range(SIZE // len(block)):
        file.write(block)


CHILD = """
import resource, sys
from groundtruth.core.errors import TrackFileError
from groundtruth.io import read_track
resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30))
resource.setrlimit(resource.RLIMIT_CPU, (60, 60))
try:
    read_track(sys.argv[1])
except TrackFileError as refusal:
    print(refusal)
    sys.exit(2)
"""


@pytest.mark.whole_days
@pytest.mark.parametrize("fill", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_files_cost_little(tmp_path, fill):
    """2 GiB of address space and a minute of processor are far more than is needed."""
    path = tmp_path / "a.gpx"
    with path.open("wb") as file:
        fill(file)
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(path)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )
    path.unlink()
    assert done.returncode == 2, done.stderr[-2000:]
    assert done.stdout.count("\n") == 1
    assert resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss < 2 << 20
