"""What a grower gives to others of a run, and what a fleet takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..core.errors import InputError
from ..fleet.data_set import open_fleet
from ..fleet.shared_files import add_rows, read_row
from ..fleet.shared_row import SharedRow, shared_row
from ..io import read_result
from ..io.files import FileInput, shown_name


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRequest:
    """A result to share. ``model`` is that of the seeder, in words; ``fleet`` tells how many farms
    there are around."""

    result: FileInput
    model: str = ""
    fleet: Path | None = None


def shared_row_for(request: ShareRequest) -> SharedRow:
    """The row that may leave.

    Raises
    ------
    InputError : the file holds no result, or one with nothing to share.
    """
    result = read_result(request.result)
    try:
        if request.fleet is None:
            return shared_row(result, model=request.model)
        with open_fleet(request.fleet) as fleet:
            return shared_row(result, model=request.model, fleet=fleet)
    except InputError as error:
        if error.file or request.fleet is not None:
            raise
        raise InputError(error.reason, file=shown_name(request.result)) from error


def add_shared(folder: Path, files: Sequence[FileInput]) -> int:
    """Take rows into a fleet; returns how many were new.

    Raises
    ------
    InputError : a file is no shared row, or the folder cannot be written to; nothing is taken.
    """
    return add_rows(folder, [read_row(file) for file in files])
