"""What a track holds: fixes, times, rate, fields, passes with their ends, repairs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from ...core.display import many, time_of_day
from ...core.notices import Notice
from ...core.plane import plane_about
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.track import Track
from ...core.units import format_length, format_speed
from ...passes import Pass, find_passes


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """A track with what was found in it. ``interval_s`` is the usual time between fixes;
    ``shares`` tells for each optional field the share of fixes that carry it."""

    track: Track
    passes: tuple[Pass, ...]
    interval_s: float
    longest_gap_s: float
    shares: dict[str, float]


def inspect_track(track: Track) -> Inspection:
    """Look a track over and find its passes."""
    steps = np.diff(track.time_s)
    fields = {
        "height": track.height_m,
        "speed": track.speed_m_s,
        "accuracy": track.accuracy_m,
        "hdop": track.hdop,
    }
    return Inspection(
        track=track,
        passes=tuple(find_passes(track, plane_about(track))),
        interval_s=float(np.median(steps)),
        longest_gap_s=float(steps.max()),
        shares={name: float(np.isfinite(values).mean()) for name, values in fields.items()},
    )


def inspection_json(found: Inspection) -> str:
    """The same as JSON, SI units, times in UTC."""
    track = found.track
    return json.dumps(
        {
            "name": track.name,
            "inputs": [{"name": i.name, "sha256": i.sha256} for i in track.inputs],
            "points": len(track),
            "segments": int(track.segment.max()) + 1,
            "start": _utc(float(track.time_s[0])),
            "end": _utc(float(track.time_s[-1])),
            "interval_s": round(found.interval_s, 3),
            "longest_gap_s": round(found.longest_gap_s, 3),
            "fields": {name: round(share, 4) for name, share in found.shares.items()},
            "marks": len(track.marks),
            "passes": [
                {
                    "number": p.number,
                    "start": _utc(p.start.time_s),
                    "end": _utc(p.end.time_s),
                    "start_found": p.start.found,
                    "end_found": p.end.found,
                    "start_u_m": round(p.start.std_m, 3),
                    "end_u_m": round(p.end.std_m, 3),
                    "length_m": round(p.length_m, 2),
                    "direction_deg": round(p.axis_deg, 2),
                }
                for p in found.passes
            ],
            "repairs": [_notice(n) for n in track.notices if n.kind == "repair"],
            "remarks": [_notice(n) for n in track.notices if n.kind != "repair"],
        },
        indent=2,
        ensure_ascii=False,
    )


def _notice(notice: Notice) -> dict[str, object]:
    return {
        "text": notice.text,
        "count": notice.count,
        "where": notice.where,
    }


def inspection_lines(found: Inspection, *, units: UnitSystem, time_zone: str) -> Iterator[str]:
    """Lines for the terminal."""
    track = found.track
    zone = ZoneInfo(time_zone)

    def clock(time_s: float) -> str:
        return time_of_day(time_s, zone)

    start = datetime.fromtimestamp(float(track.time_s[0]), UTC).astimezone(zone)
    yield visible(track.name)
    yield (
        f"  {many(len(track), 'fix', 'fixes')} in "
        f"{many(int(track.segment.max()) + 1, 'segment', 'segments')}, "
        f"{start.date().isoformat()} {clock(float(track.time_s[0]))} to "
        f"{clock(float(track.time_s[-1]))} {time_zone}"
    )
    rate = f"{found.interval_s:g} s" if found.interval_s >= 1 else f"{1 / found.interval_s:g} Hz"
    rate = f"every {rate}" if found.interval_s >= 1 else f"at {rate}"
    yield f"  a fix {rate} as a rule, longest gap {found.longest_gap_s:.0f} s"
    yield "  " + ", ".join(
        f"{name}: {'none' if share == 0 else 'all' if share == 1 else f'{share * 100:.0f} %'}"
        for name, share in found.shares.items()
    )
    if track.marks:
        yield f"  {many(len(track.marks), 'mark', 'marks')}: " + visible(
            ", ".join(m.name or "without name" for m in track.marks), 200
        )
    yield ""
    if found.passes:
        yield f"{many(len(found.passes), 'pass', 'passes')} found:"
        rows = [("no", "from", "to", "length", "speed", "way", "start", "end")]
        rows += [
            (
                str(p.number),
                clock(p.start.time_s),
                clock(p.end.time_s),
                format_length(p.length_m, units),
                format_speed(p.length_m / max(p.under_way_s, 1e-9), units),
                f"{p.axis_deg:.0f}°",
                _end(p.start.found, p.start.std_m, units),
                _end(p.end.found, p.end.std_m, units),
            )
            for p in found.passes
        ]
        widths = [max(len(r[i]) for r in rows) for i in range(len(rows[0]))]
        for row in rows:
            yield "  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()
    else:
        yield "No straight working pass found."
    if track.notices:
        yield ""
        yield "Repairs and remarks:"
        for notice in track.notices:
            yield f"  {visible(str(notice))}"


def _end(found: str, std_m: float, units: UnitSystem) -> str:
    return f"{found} ± {format_length(std_m, units)}"


def _utc(time_s: float) -> str:
    text = datetime.fromtimestamp(time_s, UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")
