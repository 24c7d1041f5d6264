"""GPX files, clean and in real dialects; gpxpy is the second reader on its own published files."""

from __future__ import annotations

import math
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import START_S, gpx, point, points, stamp

from groundtruth.core.errors import TrackFileError
from groundtruth.io import read_track
from groundtruth.io.files import Source
from groundtruth.io.tracks.formats.gpx import read_gpx_track

PUBLISHED = zipfile.ZipFile(Path(__file__).parent / "data" / "gpxpy-1.6.2-test-files.zip")
"""The test files of gpxpy 1.6.2 that hold times (Apache License 2.0, its text inside)."""
FILES = [name for name in PUBLISHED.namelist() if name.endswith(".gpx")]


NINE_DIGITS = "test_files/Mojstrovka.gpx"
"""Its fractions of a second are longer than the six digits that gpxpy keeps."""


@pytest.mark.parametrize("name", FILES, ids=lambda name: name.rpartition("/")[2])
def test_agrees_with_gpxpy_on_its_own_test_files(name):
    data = PUBLISHED.read(name)
    columns = read_gpx_track(Source(name, data), UTC)
    theirs = [
        each
        for track in gpxpy.parse(data.decode("utf-8-sig")).tracks
        for segment in track.segments
        for each in segment.points
    ]
    assert len(columns) == len(theirs)
    for row, each in enumerate(theirs):
        assert columns.latitude_deg[row] == each.latitude
        assert columns.longitude_deg[row] == each.longitude
        height = columns.height_m[row]
        assert height == each.elevation or (math.isnan(height) and each.elevation is None)
        if each.time is None:
            assert math.isnan(columns.time_s[row])
        else:
            moment = each.time if each.time.tzinfo else each.time.replace(tzinfo=UTC)
            if name == NINE_DIGITS:
                assert 0 <= columns.time_s[row] - moment.timestamp() < 1.5e-6
            else:
                assert columns.time_s[row] == moment.timestamp()


def test_times_of_six_digits_agree_with_gpxpy_exactly(write):
    seconds = [0.0, 1.25, 2.000001, 3.999999, 61.5, 3600.123456]
    body = "".join(
        point(
            second,
            time=f"2026-05-12T{7 + int(second) // 3600:02d}:"
            f"{int(second) // 60 % 60:02d}:{second % 60:09.6f}Z",
        )
        for second in seconds
    )
    track = read_track(write("a.gpx", gpx(body)))
    theirs = [p.time.timestamp() for p in gpxpy.parse(gpx(body)).tracks[0].segments[0].points]
    assert track.time_s.tolist() == theirs


def test_reads_every_field(write):
    inner = (
        "<ele>210.5</ele><hdop>0.9</hdop><extensions><x:speed>1.25</x:speed>"
        "<x:accuracy>3.5</x:accuracy></extensions>"
    )
    path = write("day.gpx", gpx("".join(point(s, inner=inner) for s in range(3))))
    track = read_track(path)
    assert track.name == "Field day"
    assert track.time_s.tolist() == [START_S, START_S + 1, START_S + 2]
    assert track.height_m.tolist() == [210.5] * 3
    assert track.speed_m_s.tolist() == [1.25] * 3
    assert track.accuracy_m.tolist() == [3.5] * 3
    assert track.hdop.tolist() == [0.9] * 3
    assert [str(notice) for notice in track.notices] == [
        "day.gpx: holds 3 fixes in 1 segment, each with time and position; "
        "also height, speed, accuracy, HDOP"
    ]
    import hashlib

    assert track.inputs[0].name == "day.gpx"
    assert track.inputs[0].sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize(
    "inner",
    [
        "<speed>1.5</speed>",  # GPX 1.0, and bare in 1.1 against its schema
        "<extensions><speed>1.5</speed></extensions>",
        "<extensions><x:TrackPointExtension><x:speed>1.5</x:speed></x:TrackPointExtension>"
        "</extensions>",
        "<extensions><undeclared:Speed>1.5</undeclared:Speed></extensions>",
        "<extensions><speed>\n 1,5 \n</speed></extensions>",
        "<speed><![CDATA[1.5]]></speed>",
        "<speed>1<!-- whatever -->.5</speed>",
    ],
)
@pytest.mark.parametrize("version", ["1.0", "1.1"])
def test_speed_wherever_recorders_put_it(write, inner, version):
    track = read_track(write("a.gpx", gpx(point(0) + point(1, inner=inner), version=version)))
    assert math.isnan(track.speed_m_s[0])
    assert track.speed_m_s[1] == 1.5


def test_namespaces_do_not_matter(write):
    plain = gpx(points(3))
    prefixed = plain.replace("<", "<g:").replace("<g:/", "</g:").replace("<g:?", "<?")
    prefixed = prefixed.replace('xmlns="', 'xmlns="urn:other" xmlns:g="', 1)
    two_addresses = plain.replace('xmlns="', 'xmlns="urn:a urn:b ', 1)
    expected = read_track(write("plain.gpx", plain))
    for text in (prefixed, two_addresses):
        track = read_track(write("other.gpx", text))
        assert track.time_s.tolist() == expected.time_s.tolist()
        assert track.latitude_deg.tolist() == expected.latitude_deg.tolist()


def test_segments_and_tracks_are_kept_apart(write):
    body = points(3) + "</trkseg><trkseg></trkseg><trkseg>" + points(2, 10)
    body += "</trkseg></trk><trk><trkseg>" + points(2, 20)
    track = read_track(write("a.gpx", gpx(body)))
    assert track.segment.tolist() == [0, 0, 0, 1, 1, 2, 2]


def test_waypoints_become_marks(write):
    marks = (
        f'<wpt lat="48.7" lon="7.1"><time>{stamp(5)}</time><name>Bed 3</name></wpt>'
        '<wpt lat="48.71" lon="7.11"><name>Gate\u202e\u0007</name></wpt>'
        '<wpt lat="98" lon="7.11"><name>nowhere</name></wpt>'
    ).replace("\u0007", "")
    track = read_track(write("a.gpx", gpx(points(3), head=marks)))
    assert [(one.name, one.time_s) for one in track.waypoints] == [
        ("Bed 3", START_S + 5),
        ("Gate", None),
    ]


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ("2026-05-12T07:00:01Z", 1),
        ("2026-05-12T07:00:01.250Z", 1.25),
        ("2026-05-12T07:00:01,250Z", 1.25),
        ("2026-05-12T09:00:01+02:00", 1),
        ("2026-05-12T02:00:01-05:00", 1),
        ("2026-05-12T02:00:01.5-0500", 1.5),
        ("2026-05-12 07:00:01 UTC", 1),
        ("20260512T070001Z", 1),
        ("2026-05-12T07:00:01.123456789Z", 1.123456789),
        ("2026-05-11T24:00:00Z", -7 * 3600),
        ("2026-05-12T06:59:60Z", 0),
        ("\n 2026-05-12T07:00:01Z ", 1),
    ],
)
def test_times_in_every_spelling(write, written, seconds):
    for others in (point(100) + point(101), ""):  # with and without a minute to remember
        body = others + point(0, time=written) + point(50)
        track = read_track(write("a.gpx", gpx(body)))
        assert track.time_s.min() == pytest.approx(START_S + min(seconds, 50), abs=1e-6)


def test_times_of_marks_never_stop_a_track(write):
    marks = "".join(
        f'<wpt lat="48.7" lon="7.1"><time>{time}</time></wpt>'
        for time in ("2026-05-12T09:00:00", "05/04/2026 07:00", "2026-10-25T02:30:00", "noon")
    )
    path = write("a.gpx", gpx(points(3), head=marks))
    assert [mark.time_s for mark in read_track(path).waypoints] == [None] * 4
    in_oslo = read_track(path, time_zone="Europe/Oslo").waypoints
    assert [mark.time_s for mark in in_oslo] == [START_S, None, None, None]


def test_a_time_zone_is_needed_and_used(write):
    body = "".join(point(s, time=stamp(s + 7200, "")) for s in range(3))
    path = write("a.gpx", gpx(body))
    with pytest.raises(TrackFileError, match=r"a.gpx, point 1: times carry no time zone; say"):
        read_track(path)
    track = read_track(path, time_zone="Europe/Oslo")  # two hours ahead of UTC in May
    assert track.time_s.tolist() == [START_S, START_S + 1, START_S + 2]


def test_several_files_become_one_track_in_order_of_time(write):
    late = write("late.gpx", gpx(points(3, 100)))
    early = write("early.gpx", gpx(points(3)))
    track = read_track([late, early])
    assert track.time_s.tolist() == [START_S + s for s in (0, 1, 2, 100, 101, 102)]
    assert track.segment.tolist() == [0, 0, 0, 1, 1, 1]
    assert [file.name for file in track.inputs] == ["early.gpx", "late.gpx"]


def test_the_same_points_in_two_files_are_taken_once(write):
    one, two = write("a.gpx", gpx(points(6))), write("b.gpx", gpx(points(6, 3)))
    track = read_track([one, two])
    assert len(track) == 9
    assert "b.gpx, point 1: point that another file holds too left out (3 times)" in [
        str(notice) for notice in track.notices
    ]


def test_two_phones_at_once_are_refused(write):
    other = gpx("".join(point(s + 0.5, lat=48.7001 + s * 1e-5) for s in range(6)))
    with pytest.raises(TrackFileError, match="recorded at the same time at different places"):
        read_track([write("a.gpx", gpx(points(6))), write("b.gpx", other)])


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_byte_order_marks_and_utf_16(write, encoding):
    text = gpx(points(3), declared="UTF-8" if encoding == "utf-8-sig" else "UTF-16")
    track = read_track(write("a.gpx", text.encode(encoding)))
    assert len(track) == 3


def test_mended_characters_are_told_by_their_lines(write):
    """Across pieces of the file, and with lines put off or taken away by the mending itself."""
    body = points(2000) + "<!-- a & b -->\n" + point(2000, inner="<name>\u0007 &nbsp;</name>")
    data = gpx(body).replace("Field day", "Field\r\n &\r\n day").encode()
    data = b"\n\n" + data.replace(b"<!-- a", b"<!-- \xe5")
    said = [str(notice) for notice in read_track(write("a.gpx", data)).notices]
    lines = {
        text: 1 + data[: data.index(first)].count(b"\n")
        for text, first in (
            ("characters before the XML declaration left out", b"\n"),
            ("bare & read as text (3 times)", b" &\r\n"),
            ("characters that are not UTF-8 read as Windows Latin", b"\xe5"),
            ("control character left out", b"\x07"),
        )
    }
    assert {*said[:-1]} == {f"a.gpx, line {line}: {text}" for text, line in lines.items()}


def test_cut_anywhere_it_keeps_every_point_before_the_cut(write):
    whole = gpx(points(8), head='<wpt lat="1" lon="2"/>')
    closings = [place for place in range(len(whole)) if whole.startswith("</trkpt>", place)]
    for cut in range(whole.index("<trkpt") + 1, len(whole) - 1, 7):
        before = sum(place + len("</trkpt>") <= cut for place in closings)
        path = write("cut.gpx", whole[:cut])
        if before < 2:
            with pytest.raises(TrackFileError, match=r"cut.gpx: (only one|holds waypoints)"):
                read_track(path)
        else:
            track = read_track(path)
            assert len(track) == before
            assert (
                f"cut.gpx, point {before}: the file is cut off there: what stands before is "
                "used" in [str(notice) for notice in track.notices]
            )


@given(
    st.lists(
        st.tuples(
            st.integers(0, 10**6),
            st.floats(-89, 89).map(lambda v: round(v, 7)),
            st.floats(-179, 179).map(lambda v: round(v, 7)),
        ),
        min_size=1,
        max_size=20,
    )
)
def test_agrees_with_gpxpy_on_files_that_gpxpy_writes(rows):
    """Whatever gpxpy writes comes back to the last digit."""
    written = gpxpy.gpx.GPX()
    segment = gpxpy.gpx.GPXTrackSegment()
    written.tracks.append(_track(segment))
    for milliseconds, lat, lon in rows:
        moment = datetime.fromtimestamp(START_S + milliseconds / 1000, UTC)
        segment.points.append(gpxpy.gpx.GPXTrackPoint(lat, lon, time=moment))
    data = written.to_xml().encode()
    columns = read_gpx_track(Source("a.gpx", data), None)
    theirs = gpxpy.parse(data.decode()).tracks[0].segments[0].points
    assert columns.latitude_deg.tolist() == [p.latitude for p in theirs]
    assert columns.longitude_deg.tolist() == [p.longitude for p in theirs]
    assert np.allclose(columns.time_s, [p.time.timestamp() for p in theirs], rtol=0, atol=2.4e-7)


def _track(segment):
    track = gpxpy.gpx.GPXTrack()
    track.segments.append(segment)
    return track
