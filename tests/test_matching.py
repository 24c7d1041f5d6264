"""Which count belongs to which pass, and between which marks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from groundtruth.core.errors import TurnSheetError
from groundtruth.core.findings import FindingKind
from groundtruth.core.track import Track
from groundtruth.core.turns import TurnCount, TurnReadings, TurnSheet
from groundtruth.passes import Pass, PassEnd
from groundtruth.passes.matching import match
from groundtruth.passes.matching.settling import stood_when_read
from groundtruth.passes.matching.sheet_clock import sheet_clock
from groundtruth.passes.matching.sheet_rows import sheet_rows
from groundtruth.passes.matching.types import MatchingContext
from groundtruth.passes.types import Stand

T0 = 1_794_643_200.0  # 2026-11-14 08:00:00 UTC, an invented day


def track(seconds=1200):
    n = seconds + 1
    return Track(
        time_s=T0 + np.arange(n),
        longitude_deg=np.linspace(5, 5.001, n),
        latitude_deg=np.full(n, 50.0),
        name="track.gpx",
    )


def a_pass(number, start, end, *, found="stopped", std_m=0.3, stops=None):
    """A pass from ``start`` to ``end`` seconds after T0, standing 8 s at both ends."""
    if stops is None and found == "stopped":
        stops = ((T0 + start - 8, T0 + start), (T0 + end, T0 + end + 8))
    return Pass(
        number=number,
        first=start - 8,
        last=end + 8,
        start=PassEnd(time_s=T0 + start, found=found, std_m=std_m, stood_std_m=std_m / 6),
        end=PassEnd(time_s=T0 + end, found=found, std_m=std_m, stood_std_m=std_m / 6),
        axis_deg=12.0,
        length_m=(end - start) * 1.2,
        stops=stops or (),
    )


PASSES = (a_pass(1, 100, 200), a_pass(2, 300, 400), a_pass(3, 500, 600))


def count(number, start=None, end=None, *, unit="1", turns=150, line=2, **more):
    return TurnCount(
        pass_number=number,
        unit=unit,
        turns=turns,
        start_s=None if start is None else T0 + start,
        end_s=None if end is None else T0 + end,
        line=line,
        **more,
    )


def matched(*counts, passes=PASSES, **more):
    return match(passes, TurnSheet(name="turns.csv", counts=counts), track(), UTC, **more)


def test_instants_in_standing_mean_the_ends_of_the_pass():
    (only,) = matched(count(7, 293, 405))
    assert only.number == 7
    assert only.found is PASSES[1]
    assert (only.start.time_s, only.end.time_s) == (T0 + 300, T0 + 400)
    assert only.start.found == "stopped"
    assert only.start.instant_std_s == 0
    # the doubt whether the tractor stood there is settled where the sheet says so too
    assert only.start.place_std_m == PASSES[1].start.stood_std_m
    (late,) = matched(count(7, 293, 430))
    assert late.end.place_std_m == PASSES[1].end.std_m


def clock_of(starts_late_s, ends_late_s, *, start_std_m=0.3):
    """The sheet's clock as told by instants that lie so much after the two ends of six passes."""
    wobble = (0, 1, 0, -1, 1, 0)
    passes = [a_pass(k, 200 * k, 200 * k + 100) for k in range(1, 7)]
    unsure = [replace(p, start=replace(p.start, std_m=start_std_m)) for p in passes]
    rows = sheet_rows(
        [
            count(k, 200 * k + starts_late_s + w + 0.25, 200 * k + 100 + ends_late_s - w + 0.25)
            for k, w in enumerate(wobble, start=1)
        ]
    )
    return sheet_clock(rows, unsure)


def test_a_clock_that_is_off_moves_both_ends_alike():
    assert clock_of(0, 3) is None
    assert clock_of(25, 25).offset_s.value == pytest.approx(25, abs=6)


def test_counts_that_begin_late_and_end_early_tell_nothing_of_the_clock():
    """As where the seeder is dropped and lifted on the way between two stands."""
    assert clock_of(2, -5, start_std_m=4.0) is None


def test_an_instant_on_the_way_is_the_mark_and_carries_its_rounding():
    (only,) = matched(count(1, 112, 190))
    assert (only.start.time_s, only.start.found) == (T0 + 112, "turn sheet")
    # written to whole seconds: even over ± 0.5 s, a/√3 [JCGM 100:2008, 4.3.7], and noted by hand
    # within about a second (common practice, no source)
    assert only.start.instant_std_s == pytest.approx((0.25 / 3 + 1.0) ** 0.5)
    (logged,) = matched(count(1, 112, 190, instant_resolution_s=0.1))
    assert logged.start.instant_std_s == pytest.approx(0.05 / 3**0.5)


def test_a_pass_that_ran_on_beyond_its_found_end_is_doubted():
    """The track drives on east; a pass found to end at 200 s, a sheet that ends it at 260 s."""
    east = replace(track(), longitude_deg=5 + np.arange(1201) * 1.2 / 71_700)
    found = replace(a_pass(1, 100, 200), axis_deg=90.0)
    sheet = TurnSheet(name="turns.csv", counts=(count(1, 95, 260),))
    (only,) = match((found,), sheet, east, UTC)
    assert only.doubt is not None
    assert (only.doubt.kind, only.doubt.passes, only.doubt.end) == (
        FindingKind.DROVE_ON,
        (1,),
        "end",
    )
    assert (only.doubt.from_s, only.doubt.until_s) == (T0 + 200, T0 + 260)
    assert only.doubt.along_m == pytest.approx(72, abs=0.5)  # 60 s at 1.2 m/s
    (well,) = match((found,), TurnSheet(name="t", counts=(count(1, 95, 205),)), east, UTC)
    assert well.doubt is None


@pytest.mark.parametrize(
    ("instant_s", "log_odds", "stood"),
    [(88, -1.0, True), (88, -20.0, False), (101, -1.0, False)],
)
def test_an_instant_in_a_stand_settles_that_the_tractor_stood(instant_s, log_odds, stood):
    """The track held a start at 104 s on the move for the likelier, a stand until 98 s for
    possible: read at 88 s it was the stand, at 101 s the drop, unless the track is sure."""
    stand = Stand(span_s=(T0 + 86, T0 + 98), time_s=T0 + 98, std_m=0.4, log_odds=log_odds)
    found = a_pass(1, 104, 200, found="rolling", std_m=2.5)
    found = replace(found, start=replace(found.start, stand=stand))
    (only,) = matched(count(1, instant_s, 201), passes=(found,))
    if stood:
        assert (only.start.found, only.start.time_s) == ("stopped", T0 + 98)
        assert stand.span_s in only.found.stops
        assert only.found.length_m == pytest.approx(found.length_m + 6 * 1.2, abs=0.1)
        assert stand.std_m <= only.start.place_std_m < found.start.std_m
    else:
        assert only.start.found != "stopped"
        assert only.found.stops == ()


def test_an_instant_up_to_which_the_tractor_drove_on_wins_over_a_rolling_end():
    """16 s in line at the working speed: the pass was found too short. Turned away or standing,
    the instant was noted late, on the headland."""
    rolling = replace(a_pass(1, 100, 200, found="rolling", std_m=3.0), axis_deg=90.0)
    sheet = TurnSheet(name="turns.csv", counts=(count(1, 101, 216),))
    seconds = np.arange(1201)
    stopped = np.minimum(seconds, 202)
    for east, north, won in (
        (seconds, 0 * seconds, True),
        (stopped, 0 * seconds, False),
        (stopped, seconds - stopped, False),
    ):
        driven = replace(
            track(),
            longitude_deg=5 + east * 1.2 / 71_700,
            latitude_deg=50.0 + north * 1.2 / 111_200,
        )
        (only,) = match((rolling,), sheet, driven, UTC)
        assert only.doubt is None
        assert only.end.time_s == T0 + (216 if won else 200)
        assert only.end.found == ("turn sheet" if won else "rolling")


def test_an_instant_in_a_stop_on_the_way_is_the_place_of_the_stop():
    stops = ((T0 + 92, T0 + 100), (T0 + 140, T0 + 160), (T0 + 200, T0 + 208))
    (only,) = matched(count(1, 95, 150), passes=(a_pass(1, 100, 200, stops=stops),))
    assert (only.end.time_s, only.end.found) == (T0 + 150, "turn sheet")
    assert only.end.instant_std_s == 0


def test_minutes_only_say_which_pass_it_was():
    (only,) = matched(count(2, 300 - 25, 400 + 25, instant_resolution_s=60.0))
    assert (only.start.time_s, only.end.time_s) == (T0 + 300, T0 + 400)


def test_a_rolling_end_keeps_its_doubt_unless_the_sheet_knows_better():
    rolling = a_pass(1, 100, 200, found="rolling", std_m=3.0)
    (lifted,) = matched(count(1, 60, 240), passes=(rolling,))
    assert (lifted.start.found, lifted.start.place_std_m) == ("rolling", 3.0)
    (noted,) = matched(count(1, 102, 198), passes=(rolling,))
    assert (noted.start.found, noted.start.place_std_m) == ("turn sheet", 0.0)
    assert noted.start.instant_std_s > 0


def test_units_read_one_after_the_other_in_standing_share_the_pass():
    (only,) = matched(count(1, 95, 203), count(1, 97, 206, unit="2"))
    assert [c.unit for c in only.counts] == ["1", "2"]


def test_the_sheet_may_follow_the_order_of_the_passes():
    three = matched(count(4), count(5), count(6))
    assert [c.found.number for c in three] == [1, 2, 3]
    assert [c.number for c in three] == [4, 5, 6]
    skipped = matched(count(1), count(3))
    assert [c.found.number for c in skipped] == [1, 3]


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        ([count(1, -900, -800)], "line 2: pass 1, 07:45:00 to 07:46:40, lies before the track"),
        ([count(1, 2000, 2100)], "lies after the track ends"),
        ([count(1, 210, 280)], "no straight working pass was found at that time; passes found: 1:"),
        ([count(1, 90, 405)], "covers more than one pass"),
    ],
)
def test_what_does_not_fit_is_refused_in_one_line(counts, words):
    with pytest.raises(TurnSheetError) as refused:
        matched(*counts)
    assert words in str(refused.value)
    assert refused.value.file == "turns.csv"
    assert refused.value.line == 2
    assert "\n" not in str(refused.value)


def test_times_are_shown_as_the_sheet_writes_them():
    sheet = TurnSheet(name="turns.csv", counts=(count(1, -900, -800),))
    with pytest.raises(TurnSheetError, match="02:45:00 to 02:46:40"):
        match(PASSES, sheet, track(), ZoneInfo("America/Bogota"))


def readings(times, turns, unit="1", **more):
    return TurnReadings(unit=unit, time_s=T0 + np.array(times, float), turns=turns, **more)


def test_a_running_counter_is_read_between_passes():
    sheet = TurnSheet(
        name="turns.csv", readings=(readings([60, 250, 450, 700], [10.0, 160, 311, 461]),)
    )
    found = match(PASSES, sheet, track(), UTC)
    assert [c.counts[0].turns.value for c in found] == [150, 151, 150]
    # two cut readings differ by a triangle over ± 1 turn: 1/√6 [JCGM 100:2008, 4.3.9]
    assert found[0].counts[0].turns.std == pytest.approx(1 / 6**0.5)


def test_a_counter_read_too_seldom_is_refused():
    sheet = TurnSheet(name="turns.csv", readings=(readings([60, 450], [10.0, 311]),))
    with pytest.raises(TurnSheetError, match="2 passes lie between the readings at 08:01:00"):
        match(PASSES, sheet, track(), UTC)


def test_readings_that_meet_no_pass_are_refused():
    sheet = TurnSheet(name="turns.csv", readings=(readings([10, 20], [1.0, 2]),))
    with pytest.raises(TurnSheetError, match="no counter reading fits a pass"):
        match(PASSES, sheet, track(), UTC)


def test_timed_turns_measure_the_stretch_that_all_units_cover():
    one = readings(np.arange(101, 199), np.arange(98.0), at_each_turn=True)
    two = readings(np.arange(103.5, 196), np.arange(93.0), unit="2", at_each_turn=True)
    sheet = TurnSheet(name="turns.csv", readings=(one, two))
    (only,) = match(PASSES[:1], sheet, track(), UTC)
    assert (only.start.time_s, only.end.time_s) == (T0 + 103.5, T0 + 195.5)
    assert [c.turns.value for c in only.counts] == pytest.approx([92, 92])


@pytest.mark.parametrize(
    ("interval_s", "resolution_s", "start", "end", "stops", "ends", "used"),
    [
        # read in standing that no fix shows
        (15, 1, 106, 194, [(104, 108), (192, 196)], (106, 194), (105, 195)),
        # in the stands as found
        (15, 1, 95, 205, [(92, 100), (200, 208)], (100, 200), (75, 225)),
        # too far inside: a time typed wrong, maybe
        (15, 1, 130, 170, [(92, 100), (200, 208)], (100, 200), (75, 225)),
        # the instants are no better than the fixes
        (15, 15, 106, 194, [(92, 100), (200, 208)], (100, 200), (75, 225)),
        # too few fixes would be left, after the cut at the start
        (30, 1, 121, 194, [(119, 123), (200, 208)], (121, 200), (120, 240)),
        # the track knows better
        (5, 1, 106, 194, [(92, 100), (200, 208)], (100, 200), (95, 210)),
    ],
)
def test_where_fixes_are_seldom_the_tractor_stood_when_the_counter_was_read(
    interval_s, resolution_s, start, end, stops, ends, used
):
    found = replace(PASSES[0], first=100 // interval_s - 1, last=200 // interval_s + 2)
    thinned = track().taken(np.arange(0, 1201, interval_s))
    context = MatchingContext(
        track=thinned, interval_s=interval_s, zone=UTC, sheet_name="turns.csv"
    )
    now = stood_when_read(found, T0 + start, T0 + end, resolution_s, context)
    assert [(a - T0, b - T0) for a, b in now.stops] == stops
    assert (now.start.time_s - T0, now.end.time_s - T0) == ends
    assert tuple(thinned.time_s[[now.first, now.last]] - T0) == used


@pytest.mark.parametrize(("found", "start"), [("stopped", 106), ("rolling", 100)])
def test_of_seldom_fixes_a_row_moves_only_ends_at_which_the_tractor_stood(found, start):
    one = replace(a_pass(1, 100, 200, found=found), first=5, last=15)
    thinned = track().taken(np.arange(0, 1201, 15))
    sheet = TurnSheet(name="turns.csv", counts=(count(1, 106, 205),))
    (only,) = match((one,), sheet, thinned, UTC)
    assert only.found.start.time_s - T0 == start
