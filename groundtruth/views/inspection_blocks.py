"""What a track holds, for people: its fixes, its passes with their ends, repairs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from statistics import median_high
from zoneinfo import ZoneInfo

from ..core.display import Scale, distance_scale, many, time_of_day
from ..core.run import UnitSystem
from ..core.safe_text import visible
from ..core.units import format_speed
from ..measurement.inspect import Inspection
from ..passes import PassEnd
from .blocks import Block, Sentences, Table, column
from .sentences.measurement import notice_sentences

SELDOM_S = 2.5
"""At fixes farther apart the recorder's settings are worth a word."""


def inspection_blocks(found: Inspection, *, units: UnitSystem, time_zone: str) -> Iterator[Block]:
    """What is shown, in order; times of day by the clock of ``time_zone``."""
    yield Sentences(title=visible(found.track.name), sentences=tuple(_fixes(found, time_zone)))
    if found.passes:
        yield passes_found_table(found, units=units, time_zone=time_zone)
    else:
        yield Sentences(title="No straight working pass found", sentences=(), warning=True)
    facts = [n for n in found.track.notices if n.kind == "fact"]
    remarks = [n for n in found.track.notices if n.kind != "fact"]
    for title, notices in (("What was read", facts), ("Repairs and warnings", remarks)):
        if notices:
            yield Sentences(title=title, sentences=notice_sentences(notices))


def passes_found_table(found: Inspection, *, units: UnitSystem, time_zone: str) -> Table:
    """One row for each pass found in a track."""
    passes, zone, length = found.passes, ZoneInfo(time_zone), distance_scale(units)
    places = length.places(median_high(e.std_m for p in passes for e in (p.start, p.end)))
    return Table(
        title=f"{many(len(passes), 'pass', 'passes')} found",
        columns=(
            column("pass", (str(p.number) for p in passes)),
            column("from", (time_of_day(p.start.time_s, zone) for p in passes)),
            column("to", (time_of_day(p.end.time_s, zone) for p in passes)),
            column(f"length, {length.unit}", (length.number(p.length_m, 1) for p in passes)),
            column("speed", (format_speed(p.speed_m_s, units) for p in passes)),
            column("direction", (f"{p.axis_deg:.0f}°" for p in passes)),
            column(f"start, {length.unit}", (_end(p.start, length, places) for p in passes)),
            column(f"end, {length.unit}", (_end(p.end, length, places) for p in passes)),
        ),
    )


def _fixes(found: Inspection, time_zone: str) -> Iterator[str]:
    track, zone = found.track, ZoneInfo(time_zone)
    first, last = float(track.time_s[0]), float(track.time_s[-1])
    day = datetime.fromtimestamp(first, UTC).astimezone(zone).date().isoformat()
    segments = many(int(track.segment.max()) + 1, "segment", "segments")
    yield (
        f"{many(len(track), 'fix', 'fixes')} in {segments}, {day} {time_of_day(first, zone)} to "
        f"{time_of_day(last, zone)} {time_zone}."
    )
    interval_s = found.interval_s
    rate = f"every {interval_s:g} s" if interval_s >= 1 else f"at {1 / interval_s:g} Hz"
    yield f"A fix {rate} as a rule, longest gap {found.longest_gap_s:.0f} s."
    if interval_s > SELDOM_S and not track.written_every_m:  # else a repair says so
        yield "A fix every second, without a filter, would tell the ends of the passes better."
    yield ", ".join(f"{name}: {_share(share)}" for name, share in found.shares.items()) + "."
    if track.waypoints:
        names = visible(", ".join(m.name or "without name" for m in track.waypoints), 200)
        yield f"{many(len(track.waypoints), 'waypoint', 'waypoints')}: {names}."


def _share(share: float) -> str:
    return "none" if share == 0 else "all" if share == 1 else f"{share * 100:.0f} %"


def _end(end: PassEnd, scale: Scale, places: int) -> str:
    """How an end was found and where, all ends to the place of the median one."""
    return f"{end.found} ± {scale.reach(end.std_m, places)}"
