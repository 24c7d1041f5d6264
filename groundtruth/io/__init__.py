"""The left edge: files that a person hands over become tracks, turn sheets and runs.

    read_track(path or paths, time_zone=...)          a track of any known format
    read_turns(path, time_zone=..., day=...)          a sheet of turn counts
    read_run(path)                                    a run description and all that it names

Each file is checked before anything is believed of it; what can be mended is mended and counted in
the result's ``notices``, and what cannot is refused in one line that says what to do.
"""

from .run_file import read_run
from .sheets.turns import read_turns
from .tracks.read import read_track

__all__ = ["read_run", "read_track", "read_turns"]
