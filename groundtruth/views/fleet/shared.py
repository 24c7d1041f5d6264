"""A shared row in full, to be read before it leaves."""

from __future__ import annotations

from ...core.safe_text import visible
from ...fleet.shared_row import Cell, SharedRow
from ..blocks import Table, column


def shared_table(row: SharedRow) -> Table:
    """Every value of the row, a line each."""
    cell = row.cell
    lines = (
        ("where", "not said" if cell is None else _where(cell)),
        ("week", row.week),
        ("model of the seeder", row.model or "not said"),
        ("tyre", row.tyre or "not said"),
        ("soil", " ".join(w for w in (row.moisture, row.texture) if w) or "not said"),
        ("log of ground per turn over the figure in use", _number(row.log_ratio_in_use)),
        ("log of ground per turn over the rolling wheel's", _number(row.log_ratio_rolled)),
        ("its standard uncertainty", _number(row.u)),
        ("passes", str(row.passes)),
        ("version of groundtruth", row.version),
    )
    return Table(
        title="What would leave the farm",
        columns=(
            column("what", (what for what, _ in lines), "left"),
            column("value", (visible(value, 120) for _, value in lines), "left"),
        ),
    )


def _where(cell: Cell) -> str:
    south, west, size = cell.south_deg, cell.west_deg, cell.size_deg
    text = f"{south:g} to {south + size:g}° latitude, {west:g} to {west + size:g}° longitude"
    return f"a cell of {size:g}°, {text}".replace("-", "−")


def _number(value: float | None) -> str:
    return "not said" if value is None else f"{value:.4f}".replace("-", "−")
