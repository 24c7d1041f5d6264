"""What the season map's script is given: numbers to draw, texts to show, nothing to run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...core.backdrop import Backdrop
from ...core.display import PERCENT, day_text, distance_scale, ground_scale
from ...core.language import map_of_words
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.query import Season
from ..sentences.season import anomaly_sentence
from ..tables.season import sure_text
from . import words
from .backdrop_data import backdrop_data
from .classes import slip_legend
from .drawing import E7, LonLat, packed
from .season_modes import along_mode, modes_for

if TYPE_CHECKING:
    from shapely import Polygon

_NAME = 40
SAID_BELOW = 0.95
"""How sure a bed is, is said where it is less than this."""


def season_map_data(
    season: Season, units: UnitSystem, backdrop: Backdrop | None = None
) -> dict[str, Any]:
    """The data of the page. All text is free of control characters."""
    sowings = season.sowings
    outlines = [s.outline for s in sowings] + [b.outline for b in season.beds]
    origin = outlines[0].exterior.coords[0] if outlines else (0.0, 0.0)
    days = sorted({s.day for s in sowings})
    texts: dict[str, int] = {}

    def text(value: str) -> int:
        """Place of a text among all texts: names come again and again."""
        return texts.setdefault(visible(value, _NAME), len(texts))

    ground, length = ground_scale(units), distance_scale(units)
    modes = modes_for(sowings, units)
    if season.strip_parts:
        modes.append(along_mode(sowings))
    place_of = {(bed.block, bed.name): i for i, bed in enumerate(season.beds)}
    strips = [
        {
            "at": _corners(s.outline, origin),
            "bed": place_of[s.block, s.bed],
            "day": days.index(s.day),
            "crop": text(s.crop),
            "setting": text(s.setting),
            "facts": [
                text(f"{length.number(s.length_m, 0)} {length.unit}"),
                text(ground.show(s.ground_per_turn) if s.ground_per_turn else ""),
                text(PERCENT.show(s.slip) if s.slip else ""),
                sure_text(s.sure) if s.sure < SAID_BELOW else "",
                *([text(s.seeder)] if len(season.seeders) > 1 else []),
            ],
            "class": [mode.of[i] for mode in modes],
        }
        for i, s in enumerate(sowings)
    ]
    beds = [
        {
            "at": _corners(bed.outline, origin),
            "name": text(bed.name),
            "block": season.blocks.index(bed.block),
        }
        for bed in season.beds
    ]
    return {
        "metric": units == "metric",
        "words": map_of_words(words.SEASON),
        "origin": [round(origin[0] * E7), round(origin[1] * E7)],
        "days": [day_text(d) for d in days],
        "modes": [
            {
                "key": m.key,
                "name": m.name,
                "title": m.title,
                "classes": [{"label": label, "colour": colour} for label, colour in m.classes],
            }
            for m in modes
        ],
        "strips": strips,
        "parts": [
            {
                "at": _corners(part.outline, origin),
                "strip": part.sowing,
                "class": slip_legend().class_of(part.slip),
                "says": text(PERCENT.value(part.slip).removesuffix(" %")),
            }
            for part in season.strip_parts
        ],
        "beds": beds,
        "blocks": [text(name) for name in season.blocks],
        "anomalies": [
            [place_of.get((a.block, a.bed), -1), visible(anomaly_sentence(a, day_text), 300)]
            for a in season.anomalies
        ],
        "texts": list(texts),
        "backdrop": backdrop_data(backdrop, origin),
    }


def _corners(outline: Polygon, origin: LonLat) -> list[int]:
    """The corners of an outline as the page takes them, the first not said again."""
    return packed([(lon, lat) for lon, lat in outline.exterior.coords[:-1]], origin)
