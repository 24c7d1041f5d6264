"""The season's answers as plain dictionaries for JSON, in SI units; keys in docs/season-json.md."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from ...beds import Anomaly
from ...io.json_values import quantity_keys
from ...season.bed_tables import SOWING_COLUMNS
from ...season.columns import RecordColumn, Row
from ...season.comparison import Chart, Difference, RunFigure, UnitStanding
from ...season.query import BedSowing, Season
from ...season.run_tables import RUNS
from ..sentences.season import anomaly_sentence

SCHEMA_VERSION = 2
"""Grows when a key is taken away or changes its meaning."""


def season_dict(season: Season, sowings: Sequence[BedSowing]) -> dict[str, Any]:
    """What lies where, and the anomalies; ``sowings`` are those asked for."""
    return {
        "schema_version": SCHEMA_VERSION,
        "units": season.units,
        "blocks": list(season.blocks),
        "beds": len(season.beds),
        "runs": [_run(r) for r in season.runs],
        "sowings": [
            {"run": s.run, "seeder": s.seeder, **_columns(SOWING_COLUMNS, s.recorded)}
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
        "anomalies": [_anomaly(a) for a in season.anomalies],
        "changes": [
            {"day": c.day, "kind": c.kind, "seeder": c.seeder, "unit": c.unit, "note": c.note}
            for c in season.changes
        ],
    }


def _columns(columns: Iterable[RecordColumn[Any]], row: Row) -> dict[str, Any]:
    """What JSON has of a row of the record."""
    found: dict[str, Any] = {}
    for column in columns:
        if column.json and column.kind == "MEASURED":
            found.update(quantity_keys(column.json, row[column.name], column.unit))
        elif column.json:
            found[f"{column.json}{column.unit}"] = row[column.name]
    return found


def _run(run: RunFigure) -> dict[str, Any]:
    counts = {"passes": run.passes, "changes_before": run.phase}
    return {**_columns(RUNS.columns, run.recorded), **counts}


def _anomaly(anomaly: Anomaly) -> dict[str, Any]:
    return {
        "kind": anomaly.kind.value,
        "day": anomaly.day,
        "block": anomaly.block,
        "bed": anomaly.bed,
        "passes": list(anomaly.passes),
        "earlier_day": anomaly.earlier.day if anomaly.earlier else None,
        "earlier_pass": anomaly.earlier.number if anomaly.earlier else None,
        "share": anomaly.share,
        "sure": anomaly.sure,
        "text": anomaly_sentence(anomaly),
    }


def units_dict(found: Sequence[UnitStanding]) -> dict[str, Any]:
    """Row units against their neighbours."""
    return {
        "schema_version": SCHEMA_VERSION,
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
        ],
    }


def difference_dict(found: Difference) -> dict[str, Any]:
    """One group of runs against another."""
    test = found.welch
    return {
        "schema_version": SCHEMA_VERSION,
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
        "schema_version": SCHEMA_VERSION,
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
