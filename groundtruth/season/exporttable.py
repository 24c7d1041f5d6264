"""A table of the record on its way out or in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

GEOMETRY = "geom"
"""The column that holds a layer's geometry."""


@dataclass(frozen=True, slots=True)
class ExportTable:
    """Columns as (name, declared type) and the rows; geometries as the record's blobs."""

    name: str
    columns: tuple[tuple[str, str], ...]  # (name, declared type)
    rows: list[tuple[Any, ...]]

    @property
    def shape_at(self) -> int | None:
        """Which column holds the geometry, None without one."""
        names = [c for c, _ in self.columns]
        return names.index(GEOMETRY) if GEOMETRY in names else None
