"""Written instants: ISO 8601 and what people make of it; zones checked against zoneinfo itself."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.io.timestamps import AmbiguousDate, LocalTimeError, parse_instant, to_utc
from groundtruth.io.tracks.degrees import parse_degrees
from groundtruth.io.tracks.track_clock import from_epoch

# hypothesis wants the bounds without zone
EARLIEST = datetime(1980, 1, 7)  # noqa: DTZ001
LATEST = datetime(2099, 12, 31)  # noqa: DTZ001
LAST_RULE = datetime(2037, 12, 31)  # noqa: DTZ001


@given(st.datetimes(EARLIEST, LATEST, timezones=st.just(UTC)))
def test_what_datetime_writes_is_read(moment):
    """`datetime.isoformat` is the reference writer of ISO 8601."""
    text = moment.isoformat()
    for written in (text, text.replace("+00:00", "Z"), text.replace("T", " "), f" {text}\n"):
        read = parse_instant(written)
        assert read is not None
        assert read.zoned
        assert abs(read.seconds - moment.timestamp()) < 1e-6


@given(
    st.datetimes(EARLIEST, LAST_RULE),
    st.sampled_from(["Europe/Oslo", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu"]),
)
def test_wall_clocks_agree_with_zoneinfo(wall, name):
    zone = ZoneInfo(name)
    wall = wall.replace(microsecond=0)
    seconds = wall.replace(tzinfo=UTC).timestamp()
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    exists = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == wall
    if exists and first.utcoffset() == second.utcoffset():
        assert to_utc(seconds, zone) == first.timestamp()
    else:
        with pytest.raises(LocalTimeError, match="never was" if not exists else "occurs twice"):
            to_utc(seconds, zone)


@pytest.mark.parametrize(
    "text",
    ["", "soon", "2026-02-30 08:00", "2026-05-12", "25:00", "08:60", "08:41:61", "24:01:00", "841",
     "2026-05-12T08:41:07+99:00", "13:00 pm", "0:30 am", "2026-05-12T08", "٠٨:٤١", "8" * 100],
)  # fmt: skip
def test_no_instant(text):
    assert parse_instant(text) is None


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("12.5.2026 8:41", "2026-05-12T08:41:00"),
        ("5/13/2026 8:41 PM", "2026-05-13T20:41:00"),
        ("13/5/2026 12:41 am", "2026-05-13T00:41:00"),
        ("5/5/2026 08:41", "2026-05-05T08:41:00"),
        ("2026/05/12 08:41", "2026-05-12T08:41:00"),
        ("20260512 084107", "2026-05-12T08:41:07"),
    ],
)
def test_local_spellings(text, iso):
    read = parse_instant(text)
    assert read.seconds == datetime.fromisoformat(iso + "+00:00").timestamp()
    assert not read.zoned


@pytest.mark.parametrize("text", ["05/04/2026 08:41", "5-4-2026 08:41", "13/05/26 08:41"])
def test_ambiguous_days(text):
    with pytest.raises(AmbiguousDate):
        parse_instant(text)


def test_second_sixty_is_the_next_minute():
    read = parse_instant("2016-12-31T23:59:60Z")  # a leap second that was inserted
    assert read.seconds == datetime(2017, 1, 1, tzinfo=UTC).timestamp()
    assert read.remark == "second 60 read as the next minute's 0"


@given(st.datetimes(EARLIEST, LATEST, timezones=st.just(UTC)))
def test_counts_since_1970_in_any_unit(moment):
    whole = moment.replace(microsecond=0)
    seconds = (whole - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(seconds=1)
    for step in (1, 10**3, 10**6, 10**9):
        assert from_epoch(float(seconds * step)) == pytest.approx(seconds, abs=1e-5)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e30, -1e30, 1e10])
def test_no_count_since_1970(value):
    read = from_epoch(value)
    assert not 315_964_800 <= read < 4_102_444_800


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("48.7", 48.7),
        ("48,7", 48.7),
        ("-48.7", -48.7),
        ("48.7 S", -48.7),
        ("W 7.1", -7.1),
        ("48°42.205'N", 48 + 42.205 / 60),
        ("48° 42′ 12.3″ N", 48 + 42 / 60 + 12.3 / 3600),
        ("N 48 42.205", 48 + 42.205 / 60),
        ("48 42 12.3", 48 + 42 / 60 + 12.3 / 3600),
        ("7°06'O", 7.1),  # Ost
    ],
)
def test_written_degrees(text, degrees):
    assert parse_degrees(text) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize("text", ["", "north", "48 60", "48.5 30", "N 48 S", "1e5", "48 42 61"])
def test_no_degrees(text):
    with pytest.raises(ValueError):  # noqa: PT011 - the text itself is all there is to say
        parse_degrees(text)
