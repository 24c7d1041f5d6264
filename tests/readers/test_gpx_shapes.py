"""Points read by a learnt pattern are exactly those that expat alone reads."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import gpx, point, points

from groundtruth.core.errors import TrackFileError
from groundtruth.io.tracks import gpx as reader
from groundtruth.io.tracks.gpx import read_gpx
from groundtruth.io.tracks.gpx_fast import learn


def everything(data: bytes) -> tuple:
    """All that is read, or the refusal."""
    try:
        columns = read_gpx(lambda: io.BytesIO(data), "a.gpx", None)
    except TrackFileError as refusal:
        return (str(refusal),)
    return (
        *(
            [repr(value) for value in column]
            for column in (
                columns.time_s,
                columns.longitude_deg,
                columns.latitude_deg,
                columns.height_m,
                columns.speed_m_s,
                columns.accuracy_m,
                columns.hdop,
                columns.segment_starts,
            )
        ),
        columns.marks,
        columns.track_name,
        [str(notice) for notice in columns.tally.notices()],
    )


def assert_same(data: bytes) -> None:
    """With patterns and without, the same comes out."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reader, "MAX_SHAPES", 0)
        alone = everything(data)
    assert everything(data) == alone


INNER = [
    "",
    "<ele>210.5</ele>",
    "<ele>210,5</ele>",
    "<ele/>",
    "<ele> \r\n 7 </ele>",
    "<hdop>n/a</hdop><sat>7</sat>",
    "<speed>1.5</speed><speed>1.25</speed>",
    "<extensions><x:speed>1.5</x:speed><x:accuracy>3</x:accuracy></extensions>",
    "<extensions><x:speed unit='m/s'>1.5</x:speed></extensions>",
    "<name>Rye &amp; vetch</name>",
    "<name>Fält</name>",
    "<desc>a > b ]] </desc>",
    "<desc>a ]]> b</desc>",
    "<!-- <ele>9</ele> -->",
    "<![CDATA[</trkpt>\n</trkpt>\n]]>",
    "<ele>5<!-- x --></ele>",
    "<ele><x:speed>2</x:speed></ele>",
    "<trkpt lat='1' lon='2'></trkpt>",
    "<?pi </trkpt>?>",
    "<speed>&#49;</speed>",
    "<wrong>",
]
BETWEEN = [
    "\n",
    "",
    "<!--</trkpt>-->",
    "</trkseg><trkseg>",
    "text",
    "<![CDATA[\n</trkpt>]]>",
    "<trkpt lat='3' lon='4'/>",
    "<trkpt lat='3' lon='4'/><!--\n</trkpt>",
    "<trkpt desc=\" lat='5'\" lon='2'><time>2026-05-12T07:00:00Z</time></trkpt>",
    "<trkpt lon='2' lat='1' id='7'><ele>3</ele></trkpt>",
    "<wpt lat='1' lon='2'><name>Gate</name></wpt>",
    "\0",
    "&",
]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_patterns_change_nothing(data):
    parts = []
    for _ in range(data.draw(st.integers(1, 5))):
        inner = data.draw(st.sampled_from(INNER))
        for second in range(data.draw(st.integers(1, 5))):
            parts.append(point(second, inner=inner))
        if data.draw(st.booleans()):
            parts.append(data.draw(st.sampled_from(BETWEEN)))
    text = gpx("".join(parts)).encode(data.draw(st.sampled_from(["utf-8", "latin-1"])))
    if data.draw(st.booleans()):
        at, gone = data.draw(st.integers(0, len(text))), data.draw(st.integers(0, 6))
        text = text[:at] + data.draw(st.binary(max_size=3)) + text[at + gone :]
    assert_same(text)


@pytest.mark.parametrize("between", BETWEEN)
@pytest.mark.parametrize("inner", INNER)
def test_patterns_change_nothing_whatever_stands_between(inner, between):
    text = gpx(
        point(0, inner=inner) + between + points(3, 1) + point(4, inner=inner) + points(2, 5)
    )
    for encoding in ("utf-8", "utf-16"):
        assert_same(text.encode(encoding))


def test_patterns_are_used_across_pieces_of_the_file(monkeypatch):
    """Or else nothing above would test them."""
    given_to_expat = []
    feed = reader.Feed.give

    def counted(self, data, offset=0):
        given_to_expat.append(len(data))
        feed(self, data, offset)

    monkeypatch.setattr(reader.Feed, "give", counted)
    data = gpx(points(5000)).encode()
    columns = read_gpx(lambda: io.BytesIO(data), "a.gpx", None)
    assert len(columns) == 5000
    assert sum(given_to_expat) < 0.02 * len(data)
    assert_same(data)


def test_odd_points_are_given_to_expat_many_at_a_time(monkeypatch):
    """So that a file without any pattern costs hardly more than expat alone."""
    calls = []
    feed = reader.Feed.give

    def counted(self, data, offset=0):
        calls.append(len(data))
        feed(self, data, offset)

    monkeypatch.setattr(reader.Feed, "give", counted)
    odd = "".join(point(s, inner="<name>Fält</name>") for s in range(5000))
    data = gpx(odd + points(5000, 5000)).encode()
    columns = read_gpx(lambda: io.BytesIO(data), "a.gpx", None)
    assert len(columns) == 10_000
    assert len(calls) < 1000
    assert_same(data)


def test_a_line_is_told_right_behind_points_that_expat_did_not_see():
    data = gpx(points(100) + "<wrong></trkseg>").encode()
    (*_, notices) = everything(data)
    assert notices == [
        "a.gpx, point 100: the file is broken there (mismatched tag, line 104): what stands "
        "before is used"
    ]


def test_what_is_no_plain_point_teaches_nothing():
    def code(tag):
        return {"ele": 10}.get(tag, 0)

    wanted = frozenset((10,))
    for text in (
        '<trkpt lat="1"><ele>2</ele></trkpt>',
        '<trkpt lat="1" lat="1" lon="2"></trkpt>',
        '<trkpt lat="1,5" lon="2"></trkpt>',
        '<trkpt lat="1" lon="2"><!-- --></trkpt>',
        '<trkpt lat="1" lon="2">é</trkpt>',
        '<trkpt lat="1" lon="2"><trkpt lat="1" lon="2"></trkpt></trkpt>',
        '<trkpt lat="1" lon="2"><ele></ele></trkpt>',
        '<trkpt lat="1" lon="2" a="<"></trkpt>',
        '<trkpt lat="1" lon="2">' + "x" * 5000 + "</trkpt>",
    ):
        assert learn(text, code, wanted) is None, text
    assert learn('<trkpt lat="1" lon="2"><ele>2</ele></trkpt>', code, wanted).fields == (
        "lat",
        "lon",
        10,
    )
