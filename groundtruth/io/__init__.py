"""The left edge: files that a person hands over become tracks, turn sheets and runs.

    read_track(file or files, time_zone=...)          a track of any known format
    read_turns(file, time_zone=..., day=...)          a sheet of turn counts
    read_run(file)                                    a run description and all that it names

A file is named by its path, or handed over as `Source(name, data)`.

Each file is checked before anything is believed of it; what can be repaired is, and is counted in
the result's ``notices``, and what cannot is refused in one line that says what to do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .backdrop import read_backdrop as read_backdrop
    from .bed_map import read_beds as read_beds
    from .files import Source as Source
    from .result_json import read_result as read_result
    from .result_json import result_from_json as result_from_json
    from .result_json import result_to_json as result_to_json
    from .run_file import read_run as read_run
    from .sheets.bed_lengths import read_bed_lengths as read_bed_lengths
    from .sheets.bench import read_bench as read_bench
    from .sheets.crops import read_crops as read_crops
    from .sheets.spacings import read_spacings as read_spacings
    from .sheets.stands import read_stands as read_stands
    from .sheets.turns import read_turns as read_turns
    from .tracks.read import read_track as read_track

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "files": ["Source"],
        "run_file": ["read_run"],
        "sheets.bed_lengths": ["read_bed_lengths"],
        "sheets.bench": ["read_bench"],
        "sheets.crops": ["read_crops"],
        "sheets.spacings": ["read_spacings"],
        "sheets.stands": ["read_stands"],
        "sheets.turns": ["read_turns"],
        "tracks.read": ["read_track"],
        "backdrop": ["read_backdrop"],
        "bed_map": ["read_beds"],
        "result_json": ["read_result", "result_from_json", "result_to_json"],
    },
)
