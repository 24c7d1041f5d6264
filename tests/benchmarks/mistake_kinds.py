"""The kinds of mistake, each with the day that it is put into and what is changed."""

from __future__ import annotations

from dataclasses import dataclass

from .mistake_changes import (
    blank,
    clock,
    died,
    digit_doubled,
    digit_lost,
    digits_swapped,
    drift,
    no_times,
    not_set_back,
    off_by,
    recorded,
    row_doubled,
    row_forgotten,
    rows_swapped,
    running,
    started_late,
    taped_wrong,
    time_typed_inside,
    time_typed_wrong,
    to_the_minute,
    typed,
    units_swapped,
    wheel_wrong,
)
from .mistake_mornings import Change
from .mistake_tracks import every, sleeps, unevenly, waits_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of mistake: which day it is put into (see `mistake_tracks`), and what is changed."""

    name: str
    changes: tuple[Change, ...] = ()
    variant: str = ""


def _kind(name: str, *changes: Change, variant: str = "") -> Kind:
    return Kind(name=name, changes=changes, variant=variant)


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        _kind("clean"),
        _kind("clean, no times", no_times),
        _kind("clean, on the move", variant="on the move"),
        _kind("clean, counter read", variant="counter read"),
        _kind("clean, turns timed", variant="turns timed"),
        _kind("clock 3 s off", clock(3)),
        _kind("clock 5 s off", clock(5)),
        _kind("clock 10 s off", clock(10)),
        _kind("clock 60 s off", clock(60)),
        _kind("clock an hour off", clock(3600)),
        _kind("clock 10 s off, on the move", clock(10), variant="on the move"),
        _kind("clock 60 s off, counter read", clock(60), variant="counter read"),
        _kind("clock 10 s off, turns timed", clock(10), variant="turns timed"),
        _kind("clock drifts", drift),
        _kind("a time typed wrong", time_typed_wrong),
        _kind("a time inside the pass", time_typed_inside),
        _kind("times to the minute", to_the_minute),
        _kind("two digits swapped", typed(digits_swapped)),
        _kind("a digit lost", typed(digit_lost)),
        _kind("a digit doubled", typed(digit_doubled)),
        _kind("a digit lost, no times", no_times, typed(digit_lost)),
        _kind("count off by one", typed(off_by(1), named=False)),
        _kind("count off by ten", typed(off_by(10))),
        _kind("blank cell", blank),
        _kind("running counter", running),
        _kind("running counter, no times", no_times, running),
        _kind("counter not set back", not_set_back),
        _kind("row forgotten", row_forgotten),
        _kind("row forgotten, no times", no_times, row_forgotten),
        _kind("row doubled", row_doubled),
        _kind("row doubled, no times", no_times, row_doubled),
        _kind("rows swapped", rows_swapped),
        _kind("units swapped", units_swapped, variant="a unit lags"),
        _kind("taped 20 m off", taped_wrong),
        _kind("wheel written too long", wheel_wrong),
        _kind("phone died", died),
        _kind("phone died, no times", no_times, died),
        _kind("phone started late", started_late),
        _kind("phone started late, no times", no_times, started_late),
        _kind("break at a bed's end", variant="break"),
        _kind("break, no times", no_times, variant="break"),
        _kind("jumps and gaps", variant="jumps and gaps"),
        _kind("a fix in 8 to 10 s", variant="seldom"),
        _kind("a fix in 8 to 10 s, no times", no_times, variant="seldom"),
        _kind("a fix in 15 s", recorded(every(15.0))),
        _kind("a fix after 1 to 12 s", recorded(unevenly)),
        _kind("a recorder that sleeps", recorded(sleeps)),
        _kind("ten fixes a second", variant="often"),
        _kind("a fix every 2 m", recorded(waits_for(2.0))),
        _kind("a fix every 5 m", recorded(waits_for(5.0))),
        _kind("drive in line", no_times, variant="in line"),
    )
}
"""Every kind by name; those called clean hold no mistake."""
