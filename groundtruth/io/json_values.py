"""How quantities, instants and notices stand in every JSON document that the package writes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from ..core.measured import Measured
from ..core.notices import Notice
from ..core.track import InputFile


def quantity_keys(name: str, quantity: Measured | None, unit: str = "") -> dict[str, float | None]:
    """``<name><unit>`` and its standard uncertainty ``<name>_u<unit>``, None where not known.

    >>> quantity_keys("length", Measured(3.2, 0.1), "_m")
    {'length_m': 3.2, 'length_u_m': 0.1}
    """
    return {
        f"{name}{unit}": None if quantity is None else quantity.value,
        f"{name}_u{unit}": None if quantity is None else quantity.std,
    }


def utc_text(time_s: float) -> str:
    """Seconds since 1970 UTC as ISO 8601 with a Z, fractions only where there are any.

    >>> utc_text(1_778_569_267.0)
    '2026-05-12T07:01:07Z'
    """
    instant = datetime.fromtimestamp(time_s, UTC)
    return instant.isoformat().replace("+00:00", "Z")


def time_of_utc(utc: str) -> float:
    """Seconds since 1970 UTC of an instant that `utc_text` wrote. [s]"""
    return datetime.fromisoformat(utc.replace("Z", "+00:00")).timestamp()


def notice_dicts(notices: Iterable[Notice]) -> list[dict[str, Any]]:
    """Repairs, warnings and facts."""
    return [{"kind": n.kind, "text": n.text, "count": n.count, "where": n.where} for n in notices]


def file_dicts(files: Iterable[InputFile]) -> list[dict[str, str]]:
    """The files that something was read from."""
    return [{"name": file.name, "sha256": file.sha256} for file in files]
