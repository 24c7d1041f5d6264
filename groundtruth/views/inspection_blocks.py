"""What a track holds, for people: its fixes, its passes with their ends, repairs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from statistics import median_high
from zoneinfo import ZoneInfo

from ..core.display import Scale, distance_scale, time_of_day
from ..core.language import English, many, said, say
from ..core.run import UnitSystem
from ..core.safe_text import visible
from ..core.units import format_speed
from ..measurement.inspect import Inspection
from ..passes import PassEnd
from .blocks import Block, Sentences, Table, column
from .sentences.amounts import probability
from .sentences.measurement import notice_sentences

SELDOM_S = 2.5
"""At fixes farther apart the recorder's settings are worth a word."""
_FIELDS = {
    "height": English("height"),
    "speed": English("speed"),
    "accuracy": English("accuracy"),
    "hdop": English("hdop"),
}
_ENDS = {
    "stopped": English("stopped"),
    "rolling": English("rolling"),
    "track ends": English("track ends"),
    "turn sheet": English("turn sheet"),
}
"""How an end of a pass was found."""


def inspection_blocks(found: Inspection, *, units: UnitSystem, time_zone: str) -> Iterator[Block]:
    """What is shown, in order; times of day by the clock of ``time_zone``."""
    yield Sentences(title=visible(found.track.name), sentences=tuple(_fixes(found, time_zone)))
    if found.passes:
        yield passes_found_table(found, units=units, time_zone=time_zone)
    else:
        yield Sentences(title=say("No straight working pass found"), sentences=(), warning=True)
    facts = [n for n in found.track.notices if n.kind == "fact"]
    remarks = [n for n in found.track.notices if n.kind != "fact"]
    for title, notices in (
        (say("What was read"), facts),
        (say("Repairs and warnings"), remarks),
    ):
        if notices:
            yield Sentences(title=title, sentences=notice_sentences(notices))


def passes_found_table(found: Inspection, *, units: UnitSystem, time_zone: str) -> Table:
    """One row for each pass found in a track."""
    passes, zone, length = found.passes, ZoneInfo(time_zone), distance_scale(units)
    places = length.places(median_high(e.std_m for p in passes for e in (p.start, p.end)))
    return Table(
        title=many(len(passes), "{count} pass found", "{count} passes found"),
        columns=(
            column(say("pass"), (str(p.number) for p in passes)),
            column(say("from"), (time_of_day(p.start.time_s, zone) for p in passes)),
            column(say("to"), (time_of_day(p.end.time_s, zone) for p in passes)),
            column(
                say("length, {unit}", unit=length.unit),
                (length.number(p.length_m, 1) for p in passes),
            ),
            column(say("speed"), (format_speed(p.speed_m_s, units) for p in passes)),
            column(say("direction"), (f"{p.axis_deg:.0f}°" for p in passes)),
            column(
                say("start, {unit}", unit=length.unit),
                (_end(p.start, length, places) for p in passes),
            ),
            column(
                say("end, {unit}", unit=length.unit), (_end(p.end, length, places) for p in passes)
            ),
        ),
    )


def _fixes(found: Inspection, time_zone: str) -> Iterator[str]:
    track, zone = found.track, ZoneInfo(time_zone)
    first, last = float(track.time_s[0]), float(track.time_s[-1])
    day = datetime.fromtimestamp(first, UTC).astimezone(zone).date().isoformat()
    yield say(
        "{fixes} in {segments}, {day} {first} to {last} {zone}.",
        fixes=many(len(track), "{count} fix", "{count} fixes"),
        segments=many(int(track.segment.max()) + 1, "{count} segment", "{count} segments"),
        day=day,
        first=time_of_day(first, zone),
        last=time_of_day(last, zone),
        zone=time_zone,
    )
    interval_s = found.interval_s
    yield (
        say(
            "A fix every {interval:g} s as a rule, longest gap {gap:.0f} s.",
            interval=interval_s,
            gap=found.longest_gap_s,
        )
        if interval_s >= 1
        else say(
            "A fix at {rate:g} Hz as a rule, longest gap {gap:.0f} s.",
            rate=1 / interval_s,
            gap=found.longest_gap_s,
        )
    )
    if interval_s > SELDOM_S and not track.written_every_m:  # else a repair says so
        yield say("A fix every second, without a filter, would tell the ends of the passes better.")
    shares = (f"{said(_FIELDS[name])}: {_share(share)}" for name, share in found.shares.items())
    yield ", ".join(shares) + "."
    if track.waypoints:
        names = ", ".join(m.name or say("without name") for m in track.waypoints)
        yield many(
            len(track.waypoints),
            "{count} waypoint: {names}.",
            "{count} waypoints: {names}.",
            names=visible(names, 200),
        )


def _share(share: float) -> str:
    return say("none") if share == 0 else say("all") if share == 1 else probability(share)


def _end(end: PassEnd, scale: Scale, places: int) -> str:
    """How an end was found and where, all ends to the place of the median one."""
    return f"{said(_ENDS[end.found])} ± {scale.reach(end.std_m, places)}"
