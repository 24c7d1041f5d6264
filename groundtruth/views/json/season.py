"""The season's answers as plain dictionaries for JSON, in SI units; keys in docs/season-json.md."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...io.json_values import quantity_keys
from ...season.comparison import Chart, Difference, RunFigure, UnitStanding
from ...season.query import Season, Sowing


def season_dict(season: Season, sowings: Sequence[Sowing]) -> dict[str, Any]:
    """What lies where and what is odd about it; ``sowings`` are those asked for."""
    return {
        "units": season.units,
        "blocks": list(season.blocks),
        "beds": season.beds,
        "runs": [_run(r) for r in season.runs],
        "sowings": [
            {
                "bed": s.bed,
                "block": s.block,
                "sure": s.sure,
                "day": s.day,
                "run": s.run,
                "pass": s.number,
                "crop": s.crop,
                "setting": s.setting,
                "length_m": s.length_m,
                "area_m2": s.area_m2,
                "row_length_m": s.row_length_m,
                **quantity_keys("ground_per_turn", s.ground_per_turn, "_m"),
                **quantity_keys("slip", s.slip),
            }
            for s in sowings
        ],
        "sown": [
            {
                "day": s.day,
                "crop": s.crop,
                "setting": s.setting,
                "passes": s.passes,
                "area_m2": s.area_m2,
                "row_length_m": s.row_length_m,
            }
            for s in season.sown
        ],
        "oddities": [
            {
                "kind": o.kind,
                "day": o.day,
                "block": o.block,
                "bed": o.bed,
                "sure": o.sure,
                "text": o.text,
            }
            for o in season.oddities
        ],
        "changes": [
            {"day": c.day, "kind": c.kind, "seeder": c.seeder, "unit": c.unit, "note": c.note}
            for c in season.changes
        ],
    }


def _run(run: RunFigure) -> dict[str, Any]:
    return {
        "run": run.name,
        "day": run.day,
        "seeder": run.seeder,
        "soil": run.soil,
        "passes": run.passes,
        "changes_before": run.phase,
        **quantity_keys("ground_per_turn", run.ground_per_turn, "_m"),
        **quantity_keys("slip", run.slip),
    }


def units_dict(found: Sequence[UnitStanding]) -> dict[str, Any]:
    """Row units against their neighbours."""
    return {
        "row_units": [
            {
                "unit": u.unit,
                "runs": u.runs,
                **quantity_keys("turns_against_others", u.turns_against_others),
                "turns_against_others_95": list(u.turns_against_others_95),
                "lags": u.lags,
                "runs_lagging": u.runs_lagging,
            }
            for u in found
        ]
    }


def difference_dict(found: Difference) -> dict[str, Any]:
    """One group of runs against another."""
    test = found.welch
    return {
        **{
            side: {
                "label": group.label,
                "runs": group.runs,
                "passes": group.passes,
                **quantity_keys("ground_per_turn", group.ground_per_turn, "_m"),
            }
            for side, group in (("first", found.first), ("second", found.second))
        },
        **quantity_keys("relative", found.relative),
        "relative_95": list(found.relative_95),
        "shown": found.shown,
        "smallest": found.smallest,
        "allowed_for": list(found.allowed_for),
        "welch": test
        and {
            "log_difference": test.difference,
            "log_difference_u": test.std,
            "log_difference_95": list(test.interval),
            "degrees_of_freedom": test.degrees_of_freedom,
            "p_value": test.p_value,
        },
    }


def chart_dict(chart: Chart) -> dict[str, Any]:
    """The control chart."""
    return {
        "spread": chart.spread,
        "points": [
            {
                **_run(p.run),
                "centre_m": p.centre,
                "low_m": p.low,
                "high_m": p.high,
                "average_m": p.average,
                "out": p.out,
                "drift": p.drift,
            }
            for p in chart.points
        ],
    }
