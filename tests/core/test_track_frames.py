"""Tracks as pandas tables and back."""

from __future__ import annotations

import doctest
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.core import frames, track
from groundtruth.core.errors import InputError
from groundtruth.core.frames import seconds_of, utc_times
from groundtruth.core.track import Track

TIMES = pd.DatetimeIndex(["2026-05-12T07:00:00Z", "2026-05-12T07:00:01.5Z", "2026-05-12T07:00:03Z"])


def table(**more):
    return pd.DataFrame(
        {
            "time": TIMES,
            "longitude_deg": [7.1, 7.1, 7.1],
            "latitude_deg": [48.7, 48.70001, 48.70002],
            **more,
        }
    )


@given(st.floats(3.2e8, 4.1e9))
def test_times_come_back_to_the_last_digit(time_s):
    assert seconds_of(utc_times(np.array([time_s]))).tolist() == [time_s]


@given(st.integers(315_964_800_000_000, 4_102_444_800_000_000))
def test_times_are_those_of_the_standard_library(microseconds):
    moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=microseconds)
    (pandas_time,) = utc_times(np.array([moment.timestamp()]))
    assert abs((pandas_time - pd.Timestamp(moment)).total_seconds()) < 1e-6
    assert seconds_of(pd.DatetimeIndex([moment]))[0] == pytest.approx(moment.timestamp(), abs=3e-7)


def test_a_track_becomes_a_table_and_the_same_track_again():
    rng = np.random.default_rng(7)
    known = Track(
        time_s=1.7785692e9 + np.cumsum(rng.uniform(0.1, 2, 50)),
        longitude_deg=7.1 + rng.normal(0, 1e-4, 50),
        latitude_deg=48.7 + rng.normal(0, 1e-4, 50),
        height_m=np.where(rng.random(50) < 0.3, np.nan, 210.0),
        speed_m_s=rng.uniform(0, 2, 50),
        accuracy_m=np.full(50, np.nan),
        hdop=np.full(50, 0.8),
        segment=np.repeat([0, 1], 25),
    )
    frame = known.to_frame()
    assert str(frame["time"].dtype) == "datetime64[ns, UTC]"
    again = Track.from_frame(frame)
    for field in frame.columns.drop("time").union(["time_s"]):
        assert np.array_equal(getattr(again, field), getattr(known, field), equal_nan=True), field


def test_a_table_needs_times_and_places_only():
    found = Track.from_frame(table(note=["a", "b", "c"], speed_m_s=[1, None, 2]), name="Field day")
    assert found.time_s.tolist() == [TIMES[0].timestamp() + s for s in (0, 1.5, 3)]
    assert found.speed_m_s.tolist()[::2] == [1, 2]
    assert np.isnan(found.height_m).all()
    assert found.segment.tolist() == [0, 0, 0]
    assert found.name == "Field day"


def test_times_may_be_the_index_in_any_zone_and_unit():
    frame = table().set_index("time")
    for index in (frame.index, frame.index.tz_convert("Europe/Oslo"), frame.index.as_unit("ms")):
        assert Track.from_frame(frame.set_axis(index)).time_s.tolist() == seconds_of(TIMES).tolist()


def test_segments_may_have_any_names():
    assert Track.from_frame(table(segment=["b", "b", "c"])).segment.tolist() == [0, 0, 1]


@pytest.mark.parametrize(
    ("frame", "says"),
    [
        (
            table().drop(columns="latitude_deg"),
            "no column latitude_deg; there are time, longitude_",
        ),
        (table().drop(columns="time"), "no column time; there are longitude_deg, latitude_deg, an"),
        (table(time=TIMES.tz_localize(None)), "time carries no time zone; say which with"),
        (table(time=["7:00", "7:01", "7:02"]), "time holds no times; say which with"),
        (table(time=TIMES[::-1]), "times must increase; that of fix 2 does not"),
        (table(time=TIMES.where(TIMES[1] != TIMES)), "time_s is not finite at fix 2"),
        (table(latitude_deg=[1, 2, None]), "latitude_deg is not finite at fix 3"),
    ],
)
def test_what_cannot_be_a_track_is_refused(frame, says):
    with pytest.raises(ValueError, match=says):
        Track.from_frame(frame)


def test_the_examples_hold():
    for module in (frames, track):
        assert doctest.testmod(module).failed == 0
    assert issubclass(InputError, ValueError)
