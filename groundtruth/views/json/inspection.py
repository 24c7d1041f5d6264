"""What a track holds, as plain dictionaries for JSON: SI units, times in UTC."""

from __future__ import annotations

from typing import Any

from ...io.json_values import file_dicts, notice_dicts, utc_text
from ...measurement.inspect import Inspection
from ...passes import Pass


def inspection_dict(found: Inspection) -> dict[str, Any]:
    """Fixes, fields, passes with their ends, repairs and remarks."""
    track = found.track
    return {
        "name": track.name,
        "inputs": file_dicts(track.inputs),
        "fixes": len(track),
        "segments": int(track.segment.max()) + 1,
        "start": utc_text(float(track.time_s[0])),
        "end": utc_text(float(track.time_s[-1])),
        "interval_s": round(found.interval_s, 3),
        "longest_gap_s": round(found.longest_gap_s, 3),
        "fields": {name: round(share, 4) for name, share in found.shares.items()},
        "waypoints": len(track.waypoints),
        "passes": [pass_dict(p) for p in found.passes],
        "repairs": notice_dicts(n for n in track.notices if n.kind == "repair"),
        "remarks": notice_dicts(n for n in track.notices if n.kind != "repair"),
    }


def pass_dict(one: Pass) -> dict[str, Any]:
    """A pass with its ends, its length and the way that it runs."""
    return {
        "number": one.number,
        "start": utc_text(one.start.time_s),
        "end": utc_text(one.end.time_s),
        "start_found": one.start.found,
        "end_found": one.end.found,
        "start_u_m": round(one.start.std_m, 3),
        "end_u_m": round(one.end.std_m, 3),
        "length_m": round(one.length_m, 2),
        "direction_deg": round(one.axis_deg, 2),
    }
