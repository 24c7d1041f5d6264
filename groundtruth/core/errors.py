"""Every error that groundtruth raises on purpose.

    GroundtruthError
    ├── InputError            something that a person handed over cannot be used
    │   ├── QuantityError     a length, mass or speed that cannot be read
    │   ├── TrackFileError    a track file
    │   ├── SheetError        a sheet of counts, lengths or crops
    │   │   └── TurnSheetError    a sheet of turn counts
    │   ├── RunFileError      a run description
    │   └── SeederError       the description of the machine
    └── MeasureError          the input is readable, but holds too little to measure from

A message names the file, the line or point, what is wrong and what to do about it, in one line.
The command line shows it without a traceback and exits with 2.
"""

from __future__ import annotations


class GroundtruthError(Exception):
    """Base of every error raised on purpose.

    ``str(error)`` is the whole sentence: the place, then ``reason``. For programs, such as a page
    that marks the faulty cell, the place is kept apart too.

    Parameters
    ----------
    reason : what is wrong and what to do, without the place.
    file : name of the file without folders, "" if no file is concerned.
    line, point : number of the line or of the recorded fix, from 1; None if not known.
    column : heading of the sheet's column, or field of the run file; "" if not known.
    cell : what is written there, "" if not known.
    """

    def __init__(
        self,
        reason: str,
        *,
        file: str = "",
        line: int | None = None,
        point: int | None = None,
        column: str = "",
        cell: str = "",
    ) -> None:
        place = file
        if line is not None:
            place += f", line {line}"
        elif point is not None:
            place += f", point {point}"
        place = place.removeprefix(", ")
        super().__init__(f"{place}: {reason}" if place else reason)
        self.reason = reason
        self.file, self.line, self.point = file, line, point
        self.column, self.cell = column, cell


class InputError(GroundtruthError, ValueError):
    """Something that a person handed over cannot be used as it is."""


class QuantityError(InputError):
    """A written quantity ("25 1/2 in") cannot be read, or is out of its range."""


class TrackFileError(InputError):
    """A track file cannot be read or holds no usable track."""


class SheetError(InputError):
    """A sheet of counts, lengths or crops cannot be read."""


class TurnSheetError(SheetError):
    """A sheet of turn counts cannot be read or does not fit the track."""


class RunFileError(InputError):
    """A run description has a missing, unknown or unusable field."""


class SeederError(InputError):
    """The description of the machine is incomplete or contradicts itself."""


class MeasureError(GroundtruthError):
    """The input can be read, but holds too little to measure from."""
