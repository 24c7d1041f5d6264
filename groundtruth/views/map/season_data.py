"""What the season map's script is given: numbers to draw, texts to show, nothing to run."""

from __future__ import annotations

import re
from typing import Any

from ...core.display import PERCENT, day_text, distance_scale, ground_scale
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.query import Season
from ..tables.season import sure_text
from .drawing import E7, packed
from .season_modes import along_mode, modes_for, spot_classes

_NAME = 40
SAID_BELOW = 0.95
"""How sure a bed is, is said where it is less than this."""


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
    if season.spots:
        modes.append(along_mode(sowings))
    blocks = list(dict.fromkeys(shape.block for shape in season.bed_shapes))
    place_of = {(shape.block, shape.name): i for i, shape in enumerate(season.bed_shapes)}
    strips = [
        {
            "at": packed(list(shape.outline[:-1]), origin),
            "bed": place_of[s.block, s.bed],
            "day": days.index(s.day),
            "crop": text(s.crop),
            "setting": text(s.setting),
            "facts": [
                text(f"{length.number(s.length_m, 0)} {length.unit}"),
                text(ground.show(s.ground_per_turn) if s.ground_per_turn else ""),
                text(PERCENT.show(s.slip) if s.slip else ""),
                sure_text(s.sure) if s.sure < SAID_BELOW else "",
            ],
            "class": [mode.of[i] for mode in modes],
        }
        for i, (s, shape) in enumerate(zip(sowings, season.strip_shapes, strict=True))
    ]
    beds = [
        {
            "at": packed(list(shape.outline[:-1]), origin),
            "name": text(shape.name),
            "block": blocks.index(shape.block),
        }
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
        "spots": [
            {
                "at": packed(list(spot.outline[:-1]), origin),
                "strip": spot.sowing,
                "class": chosen,
                "says": text(PERCENT.value(spot.slip).removesuffix(" %")),
            }
            for spot, chosen in zip(
                season.spots, spot_classes([s.slip for s in season.spots]), strict=True
            )
        ],
        "beds": beds,
        "blocks": [text(name) for name in blocks],
        "odd": [
            [place_of.get((o.block, o.bed), -1), _spoken(visible(o.text, 300))]
            for o in season.oddities
        ],
        "texts": list(texts),
    }


def _spoken(sentence: str) -> str:
    """Days as the page writes them everywhere."""
    return re.sub(r"\b\d{4}-\d\d-\d\d\b", lambda day: day_text(day[0]), sentence)
