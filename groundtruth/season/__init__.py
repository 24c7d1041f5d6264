"""The season's record: one GeoPackage file that keeps every run and whatever belongs to it."""

from .added import Added
from .attachments import add_bench, add_change, add_stands, set_map
from .bed_layout import lay_beds_out
from .runs import add_run, results
from .store import SeasonError, reading, season_path, writing

__all__ = [
    "Added",
    "SeasonError",
    "add_bench",
    "add_change",
    "add_run",
    "add_stands",
    "lay_beds_out",
    "reading",
    "results",
    "season_path",
    "set_map",
    "writing",
]
