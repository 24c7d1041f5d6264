"""What the page is told of passes to draw, and of strips of the track that are marked as passes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...app.strips import MarkedStrip, StripRequest, strip_for
from ...core.errors import InputError, MeasureError
from ...core.track import Track
from ...io.json_values import utc_text
from ...measurement.inspect import Inspection
from ...passes import Pass
from ...passes.strips import overlaps
from ...views.json.inspection import pass_dict
from .asked import list_of, tapped_place, two_texts

MOST_STRIPS = 200
_MOST_DRAWN, _MOST_OF_A_PASS = 6000, 600
Json = dict[str, Any]


def line_to_draw(track: Track, first: int, last: int, most: int = _MOST_DRAWN) -> list[list[float]]:
    """Fixes as [latitude, longitude], every so-manieth where there are many."""
    part = slice(first, last + 1, max(1, -(-(last + 1 - first) // most)))
    places = np.column_stack([track.latitude_deg[part], track.longitude_deg[part]])
    return [[round(lat, 7), round(lon, 7)] for lat, lon in places.tolist()]


def drawn_pass(track: Track, one: Pass) -> Json:
    """The line of a pass, and how long it was under way."""
    line = line_to_draw(track, one.first, one.last, _MOST_OF_A_PASS)
    return {"under_way_s": round(one.under_way_s, 1), "line": line}


def strip_marked(found: Inspection, asked: Json, time_zone: str) -> Json:
    """A strip between two times, or two places tapped on the map; and which passes it lies on."""
    taps = [tapped_place(one) for one in list_of(asked, "places", 2)]
    places = (taps[0], taps[1]) if len(taps) == 2 else None
    times = None if places else two_texts(asked, "times")
    request = StripRequest(
        track=found.track, times=times, places=places, time_zone=time_zone, taken=found.passes
    )
    strip = strip_for(request)
    span = strip.found.start.time_s, strip.found.end.time_s
    on = [p.number for p in found.passes if overlaps(span, (p.start.time_s, p.end.time_s))]
    return {**_strip_dict(found.track, strip), "lies_on": on}


def given_strips(found: Inspection, given: Sequence[Sequence[str]], time_zone: str) -> list[Json]:
    """The strips that were marked, in order of time, numbered on from the passes found.

    One that can be no pass of these tracks has no number, and says why.
    """
    number = max((p.number for p in found.passes), default=0)
    strips: list[tuple[MarkedStrip, list[str]]] = []
    gone: list[Json] = []
    for times in given:
        try:
            if len(times) != 2:
                raise InputError("a strip has two times")
            both = times[0], times[1]
            request = StripRequest(track=found.track, times=both, time_zone=time_zone)
            strips.append((strip_for(request), list(times)))
        except (InputError, MeasureError) as why:
            gone.append({"given": list(times), "error": str(why)})
    strips.sort(key=lambda one: one[0].found.start.time_s)
    said = [
        {**_strip_dict(found.track, strip), "given": times, "number": number + place}
        for place, (strip, times) in enumerate(strips, start=1)
    ]
    return [*said, *gone]


def _strip_dict(track: Track, strip: MarkedStrip) -> Json:
    given = [utc_text(at) for at in strip.given_s]
    return {**pass_dict(strip.found), **drawn_pass(track, strip.found), "given": given}
