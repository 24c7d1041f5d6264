"""What is handed over as bytes is read as the same file on disk would be."""

from __future__ import annotations

import hashlib

import pytest
from making import gpx, point, points

from groundtruth.core.errors import RunFileError, TrackFileError
from groundtruth.io import Source, read_run, read_track, read_turns

TRACK = gpx(points(300)).encode()
TURNS = b"pass,turns\n1,41\n"
RUN = b'track = ["a.gpx", "b.gpx"]\nturns = "sheets/turns.csv"\n'
FILES = [
    Source("b.gpx", gpx(points(300, 300)).encode()),
    Source("a.gpx", TRACK),
    Source("turns.csv", TURNS),
]


def test_a_name_is_shown_without_folders_and_on_one_line():
    assert Source("/home/me/field\n1.gpx", b"x").name == "field 1.gpx"
    assert Source("", b"x").name == "."
    assert "GPX" not in repr(Source("a.gpx", b"GPX"))


def test_bytes_are_read_as_the_file_would_be(write):
    path = write("a.gpx", TRACK)
    for given in (path, str(path), Source("a.gpx", TRACK), [Source("a.gpx", TRACK)]):
        track = read_track(given)
        assert len(track) == 300
        assert track.inputs[0].name == "a.gpx"
        assert track.inputs[0].sha256 == hashlib.sha256(TRACK).hexdigest()
    sheet = read_turns(Source("t.csv", TURNS))
    assert sheet.counts == read_turns(write("t.csv", TURNS)).counts


def test_a_run_finds_its_files_among_those_handed_over(write):
    for name, data in (("run.toml", RUN), ("sheets/turns.csv", TURNS)):
        path = write(name, data)
    write("a.gpx", TRACK)
    write("b.gpx", FILES[0].data)
    on_disk = read_run(path.parents[1] / "run.toml")
    run = read_run(Source("run.toml", RUN), files=FILES)
    assert [one.name for one in run.inputs] == ["run.toml", "a.gpx", "b.gpx", "turns.csv"]
    assert run.inputs == on_disk.inputs
    assert run.turns.counts == on_disk.turns.counts
    assert run.track.time_s.tolist() == on_disk.track.time_s.tolist()
    assert run.name == "run"


def test_a_run_of_bytes_never_looks_on_the_disk(write, monkeypatch):
    path = write("turns.csv", TURNS)
    monkeypatch.chdir(path.parent)
    with pytest.raises(RunFileError) as caught:
        read_run(Source("run.toml", RUN), files=FILES[:2])
    assert str(caught.value) == (
        "run.toml, line 2: names turns.csv, which was not handed over; add it"
    )
    assert (caught.value.line, caught.value.column) == (2, "turns")


def test_empty_and_gigantic_bytes_are_refused():
    with pytest.raises(TrackFileError) as caught:
        read_track(Source("a.gpx", b""))
    assert str(caught.value) == (
        "a.gpx: the file is empty; copy it from the phone or computer again"
    )
    with pytest.raises(
        RunFileError, match=r"run.toml: 1 MB; a run file of more than 131 kB is not"
    ):
        read_run(Source("run.toml", b"#" * 1_000_000))


def test_an_error_tells_its_place_apart_from_its_words():
    with pytest.raises(TrackFileError) as caught:
        read_track(Source("a.gpx", gpx(points(3) + point(3, time="01/02/2026 08:00")).encode()))
    error = caught.value
    assert (error.file, error.point, error.line) == ("a.gpx", 4, None)
    assert str(error) == f"a.gpx, point 4: {error.reason}"
    assert error.reason.startswith("01/02/2026 can be two different days")
