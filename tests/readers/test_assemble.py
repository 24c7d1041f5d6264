"""Repairs as laws: nothing is lost uncounted, and clean fixes pass untouched in any order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import LATITUDE_DEG, LONGITUDE_DEG, START_S, STEP_DEG

from groundtruth.core.errors import TrackFileError
from groundtruth.io.tracks.build_track import assemble
from groundtruth.io.tracks.raw_fixes import FixColumns, TrackTally

NUMBERS = st.one_of(
    st.floats(),
    st.sampled_from([0.0, 90.0, -90.0, 180.0, 360.0, 48.7, 7.1, 4842.2, START_S, START_S + 1]),
    st.floats(-95, 95),
)


def filled(rows, *, places=None) -> FixColumns:
    """FixColumns of (time, longitude, latitude, height, speed, accuracy, HDOP)."""
    columns = FixColumns(TrackTally("a.gpx"))
    columns.start_segment()
    for number, row in enumerate(rows):
        columns.append(*row, place=None if places is None else places[number])
    return columns


@pytest.mark.whole_days
@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(*[NUMBERS] * 7), min_size=1, max_size=40))
def test_any_numbers_give_a_sound_track_or_a_refusal(rows):
    columns = filled(rows)
    try:
        track = assemble(columns)
    except TrackFileError as refusal:
        assert str(refusal).startswith("a.gpx")  # noqa: PT017 - nothing need be raised
        return
    lost = sum(n.count for n in track.notices if n.kind == "repair" and "left out" in n.text)
    assert len(track) + lost == len(rows)
    assert (np.abs(track.latitude_deg) <= 90).all()
    assert (np.abs(track.longitude_deg) <= 180).all()
    for field in (track.height_m, track.speed_m_s, track.accuracy_m, track.hdop):
        assert not np.isinf(field).any()


CLEAN = [
    (START_S + s, LONGITUDE_DEG, LATITUDE_DEG + s * STEP_DEG, 210.0, 1.1, 3.0, 0.9)
    for s in range(60)
]


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_neighbours_out_of_order_and_doubled_come_back_as_they_were(data):
    rows = list(CLEAN)
    for at in data.draw(st.lists(st.integers(0, 58), max_size=8)):
        rows[at], rows[at + 1] = rows[at + 1], rows[at]
    for at in data.draw(st.lists(st.integers(0, 59), max_size=8)):
        rows.insert(at, rows[at])
    track = assemble(filled(rows))
    assert track.time_s.tolist() == [row[0] for row in CLEAN]
    assert track.latitude_deg.tolist() == [row[2] for row in CLEAN]
    lost = sum(n.count for n in track.notices if "left out" in n.text)
    assert len(track) + lost == len(rows)


@settings(max_examples=60, deadline=None)
@given(
    st.sets(st.integers(4, 54), max_size=4).map(
        lambda chosen: {n for n in chosen if not chosen & {n - 1, n - 2, n + 1, n + 2}}
    ),
    st.floats(0.01, 1.0),
)
def test_leaps_are_taken_out_and_nothing_else(leaps, degrees):
    rows = [
        (time, lon, lat + degrees if n in leaps else lat, *rest)
        for n, (time, lon, lat, *rest) in enumerate(CLEAN)
    ]
    track = assemble(filled(rows))
    assert track.time_s.tolist() == [row[0] for n, row in enumerate(CLEAN) if n not in leaps]


def test_a_fast_drive_is_no_leap():
    """30 m/s on the road, with the noise of a phone, stays as it is."""
    noise = np.random.default_rng(3).normal(0, 3e-5, 300)  # 3.3 m
    rows = [(START_S + s, 7.1, 48.7 + s * 2.7e-4 + noise[s]) for s in range(300)]
    track = assemble(filled(rows))
    assert len(track) == 300
    assert all(notice.kind == "fact" for notice in track.notices)


def test_ten_fixes_a_second_with_noise_are_no_leaps():
    noise = np.random.default_rng(4).normal(0, 2.7e-5, (2, 600))  # 3 m, white: the worst case
    rows = [
        (START_S + n / 10, 7.1 + noise[0, n], 48.7 + n * 1e-6 + noise[1, n]) for n in range(600)
    ]
    assert len(assemble(filled(rows))) == 600


def test_the_line_of_a_table_is_named():
    rows = [(row[0], *row[1:]) for row in CLEAN[:5]]
    rows[3] = (float("nan"), *rows[3][1:])
    track = assemble(filled(rows, places=[2, 3, 5, 8, 9]))
    assert str(track.notices[0]) == "a.gpx, point 8: point without a readable time left out"


@pytest.mark.parametrize("factor", [1.0, 0.8, 1.25, 1.6, 2.8, 4.4])
def test_speeds_of_no_known_unit_stay_as_they_are(factor):
    """A receiver that is off by a quarter is not taken for one that speaks knots."""
    rows = [
        (START_S + s, 7.1, 48.7 + s * STEP_DEG, 210.0, 1.112 * factor, 3.0, 0.9) for s in range(600)
    ]
    track = assemble(filled(rows))
    assert track.speed_m_s.tolist() == [1.112 * factor] * 600
