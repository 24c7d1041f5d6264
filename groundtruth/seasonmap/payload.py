"""What the season map's script is given: numbers to draw, texts to show, nothing to run."""

from __future__ import annotations

from typing import Any

from ..cleantext import visible
from ..fieldmap.drawing import E7, packed
from ..figures import PERCENT, distance_scale, ground_scale
from ..page import day_text
from ..run import UnitSystem
from ..season.query import Season
from .colours import modes_for

_NAME = 40


def map_data(season: Season, units: UnitSystem) -> dict[str, Any]:
    """The data of the page. All text is free of control characters."""
    sowings = season.sowings
    corners = [p for shape in (*season.strip_shapes, *season.bed_shapes) for p in shape.outline]
    origin = corners[0] if corners else (0.0, 0.0)
    days = sorted({s.day for s in sowings})
    texts: dict[str, int] = {}

    def text(value: str) -> int:
        """Place of a text among all texts: names come again and again."""
        return texts.setdefault(visible(value, _NAME), len(texts))

    ground, length = ground_scale(units), distance_scale(units)
    modes = modes_for(sowings, units)
    strips = [
        {
            "at": packed(list(shape.outline[:-1]), origin),
            "bed": text(s.bed),
            "day": days.index(s.day),
            "crop": text(s.crop),
            "setting": text(s.setting),
            "facts": [
                text(f"{length.number(s.length_m, 0)} {length.unit}"),
                text(ground.show(s.ground_per_turn) if s.ground_per_turn else ""),
                text(PERCENT.show(s.slip) if s.slip else ""),
                round(100 * s.sure),
            ],
            "class": [mode.of[i] for mode in modes],
        }
        for i, (s, shape) in enumerate(zip(sowings, season.strip_shapes, strict=True))
    ]
    beds = [
        {"at": packed(list(shape.outline[:-1]), origin), "bed": text(shape.name)}
        for shape in season.bed_shapes
    ]
    return {
        "metric": units == "metric",
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
        "beds": beds,
        "odd": _odd(season, text),
        "texts": list(texts),
    }


def _odd(season: Season, text: Any) -> list[list[Any]]:
    """(bed, sentence) of what to look at."""
    return [[text(o.bed), visible(o.text, 300)] for o in season.oddities]
