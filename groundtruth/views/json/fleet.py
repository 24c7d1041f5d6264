"""The answers of a fleet as plain dictionaries for JSON; the keys follow the names of its values.

Lengths in metres, shares as plain ratios, days as ISO text.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from ...core.measured import Measured
from ...io.json_values import quantity_keys


def fleet_dict(answer: Any) -> dict[str, Any]:
    """A dataclass of the room `fleet` as a dictionary; ``x_u`` is the standard uncertainty of x."""
    found: dict[str, Any] = {}
    for field in fields(answer):
        value = getattr(answer, field.name)
        if isinstance(value, Measured):
            found.update(quantity_keys(field.name, value))
        else:
            found[field.name] = _plain(value)
    return found


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return fleet_dict(value)
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return value.isoformat() if isinstance(value, date) else value
