"""A result as JSON. The keys are documented in docs/result-json.md.

The text is pure ASCII, so that no character in a name can act on a terminal or editor, and holds
no NaN or infinity, which JSON does not know [RFC 8259, section 6].
"""

from __future__ import annotations

import json
from typing import Any

from ...core.crops import Target
from ...core.findings import Advice, Finding
from ...core.result import CellVerdict, PassFigure, PassLine, Result, Share, UnitFigure
from ..json_values import file_dicts, notice_dicts, quantity_keys, utc_text
from .described import origin_keys, seeder_keys, soil_keys
from .recorded import distances_keys, recording_keys, with_fleet_keys

SCHEMA_VERSION = 2
"""Raised when a key is taken away or changes its meaning; new keys alone do not raise it."""
TOOL = "groundtruth"

Json = dict[str, Any]


def result_to_json(result: Result) -> str:
    """The result as JSON text, one line for each key and for each entry of a list."""
    lines = []
    for key, value in result_to_dict(result).items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            entries = ",\n".join(f"    {_compact(entry)}" for entry in value)
            lines.append(f"  {_compact(key)}: [\n{entries}\n  ]")
        else:
            lines.append(f"  {_compact(key)}: {_compact(value)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def result_to_dict(result: Result) -> Json:
    """The result as plain dictionaries, lists, strings and numbers."""
    seeder = result.seeder
    return {
        "schema_version": SCHEMA_VERSION,
        "tool": TOOL,
        "tool_version": result.tool_version,
        "run_name": result.run_name,
        **origin_keys(result.origin),
        "date": result.date,
        "time_zone": result.time_zone,
        "units": result.units,
        **quantity_keys("ground_per_turn", result.ground_per_turn, "_m"),
        "ground_per_turn_95_m": list(result.ground_per_turn_95),
        **quantity_keys("slip", result.slip),
        "slip_95": None if result.slip_95 is None else list(result.slip_95),
        "ground_per_turn_in_use_m": seeder.ground_per_gear_turn_in_use_m,
        **quantity_keys("change", result.change),
        "in_use_agrees": result.in_use_agrees,
        "verdict": result.verdict.value,
        **quantity_keys("spread_between_passes", result.spread_between_passes, "_m"),
        "seeder": seeder_keys(seeder),
        "soil": soil_keys(result.soil),
        "passes": [_pass(figure) for figure in result.passes],
        "row_units": [_row_unit(unit) for unit in result.row_units],
        "cells": [_cell(cell) for cell in result.cells],
        "targets": [_target(target) for target in result.targets],
        "budget": [_share(share) for share in result.budget],
        "advice": [_advice(advice) for advice in result.advice],
        "findings": [_finding(found) for found in result.findings],
        "repairs": notice_dicts(result.repairs),
        "warnings": notice_dicts(result.warnings),
        "facts": notice_dicts(result.facts),
        "inputs": file_dicts(result.inputs),
        "recording": recording_keys(result.recording),
        "distances": distances_keys(result.distances),
        "with_fleet": with_fleet_keys(result.with_fleet),
        "lines": [_line(line) for line in result.lines],
        "fixes": [list(fix) for fix in result.fixes],
    }


def _compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=True, allow_nan=False)


def _pass(figure: PassFigure) -> Json:
    return {
        "number": figure.number,
        "unit": figure.unit,
        "start": utc_text(figure.start_s),
        "end": utc_text(figure.end_s),
        "start_found": figure.start_found,
        "end_found": figure.end_found,
        **quantity_keys("distance", figure.distance, "_m"),
        **quantity_keys("turns", figure.turns),
        **quantity_keys("ground_per_turn", figure.ground_per_turn, "_m"),
        **quantity_keys("slip", figure.slip),
        "setting": figure.setting,
        "crop": figure.crop,
        "bed": figure.bed,
    }


def _row_unit(unit: UnitFigure) -> Json:
    return {
        "unit": unit.unit,
        "passes": unit.passes,
        **quantity_keys("ground_per_turn", unit.ground_per_turn, "_m"),
        **quantity_keys("slip", unit.slip),
        **quantity_keys("turns_against_others", unit.turns_against_others),
        "lags": unit.lags,
    }


def _cell(cell: CellVerdict) -> Json:
    return {
        "pass": cell.number,
        "unit": cell.unit,
        "line": cell.line,
        "turns": cell.turns,
        "verdict": cell.verdict.value,
        "reason": None if cell.reason is None else cell.reason.value,
        "expected": None if cell.expected is None else list(cell.expected),
        "suggestion": cell.suggestion,
    }


def _target(target: Target) -> Json:
    return {
        "crop": target.crop.name,
        "spacing_m": target.crop.spacing_m,
        "rate_per_m": target.crop.seeds_per_m,
        **quantity_keys("germination", target.crop.germination),
        **quantity_keys("field_emergence", target.crop.field_emergence),
        **quantity_keys("seeds_per_turn", target.seeds_per_turn),
        "seeds_per_turn_95": list(target.seeds_per_turn_95),
        "seeds_per_turn_in_use": target.seeds_per_turn_in_use,
    }


def _share(share: Share) -> Json:
    return {"source": share.source.value, "u_m": share.std_m, "share": share.share}


def _advice(advice: Advice) -> Json:
    return {
        "kind": advice.kind.value,
        "half_width_95": advice.half_width_95,
        "passes": advice.passes,
        "pass_length_m": advice.pass_length_m,
    }


def _finding(found: Finding) -> Json:
    return {
        "severity": found.severity,
        "kind": found.kind.value,
        "passes": list(found.passes),
        "end": found.end,
        "from": None if found.from_s is None else utc_text(found.from_s),
        "until": None if found.until_s is None else utc_text(found.until_s),
        "along_m": found.along_m,
        "fixes": found.fixes,
        "evidence": found.evidence and found.evidence.value,
        "line": found.line,
        **quantity_keys("offset", found.offset, "_s"),
        "drift_s_per_h": found.drift_s_per_h,
        "written": found.written,
        "expected": None if found.expected is None else list(found.expected),
    }


def _line(line: PassLine) -> Json:
    return {
        "number": line.number,
        "axis": [list(end) for end in line.axis],
        "axis_deg": line.axis_deg,
        "speed_m_s": line.speed_m_s,
        "time_s": list(line.time_s),
        "longitude_deg": list(line.longitude_deg),
        "latitude_deg": list(line.latitude_deg),
    }
