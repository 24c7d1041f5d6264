"""A table in a terminal of any width loses no figure."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from groundtruth.views.blocks import Column, Table
from groundtruth.views.terminal import print_blocks

CELLS = {
    "setting": ("hole 10", "hole 11 (not tried)"),
    "seeds per turn": ("18.0 ± 1.4", "21.1 ± 1.5"),
    "plants per ft": ("4.85 ± 0.52", "5.69 ± 0.57"),
    "95 % sure": ("3.87 to 5.88", "4.60 to 6.88"),
    "inside 5 to 8 per ft": ("61 %", "over 99 %"),
    "too thick": ("under 1 %", "12 %"),
}
TABLE = Table(
    title="Settings",
    columns=tuple(
        Column(heading=heading, cells=cells, side="left" if heading == "setting" else "right")
        for heading, cells in CELLS.items()
    ),
)


@pytest.mark.parametrize("width", range(30, 131))
def test_every_cell_is_there(width):
    console = Console(file=io.StringIO(), force_terminal=True, width=width, color_system=None)
    print_blocks([TABLE], console)
    shown = " ".join(console.file.getvalue().split())
    for cells in CELLS.values():
        for cell in cells:
            assert cell in shown
