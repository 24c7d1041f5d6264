"""Every error that groundtruth raises on purpose.

    GroundtruthError
    ├── InputError            something that a person handed over cannot be used
    │   ├── QuantityError     a length, mass or speed that cannot be read
    │   ├── TrackFileError    a track file
    │   ├── TurnSheetError    a sheet of turn counts
    │   ├── RunFileError      a run description
    │   └── SeederError       the description of the machine
    └── MeasureError          the input is readable, but holds too little to measure from

A message names the file, the line or point, what is wrong and what to do about it, in one line.
The command line shows it without a traceback and exits with 2.
"""


class GroundtruthError(Exception):
    """Base of every error raised on purpose."""


class InputError(GroundtruthError, ValueError):
    """Something that a person handed over cannot be used as it is."""


class QuantityError(InputError):
    """A written quantity ("25 1/2 in") cannot be read, or is out of its range."""


class TrackFileError(InputError):
    """A track file cannot be read or holds no usable track."""


class TurnSheetError(InputError):
    """A sheet of turn counts cannot be read or does not fit the track."""


class RunFileError(InputError):
    """A run description has a missing, unknown or unusable field."""


class SeederError(InputError):
    """The description of the machine is incomplete or contradicts itself."""


class MeasureError(GroundtruthError):
    """The input can be read, but holds too little to measure from."""
