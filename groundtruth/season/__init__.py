"""The season's record: one GeoPackage file that keeps every run and whatever belongs to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .added import Added as Added
    from .attachments import add_change as add_change
    from .attachments import set_map as set_map
    from .bed_layout import lay_beds_out as lay_beds_out
    from .comparison import control_chart as control_chart
    from .comparison import difference as difference
    from .comparison import units_over_season as units_over_season
    from .exchange import export_season as export_season
    from .exchange import import_season as import_season
    from .place import season_path as season_path
    from .query import Season as Season
    from .query import read_season as read_season
    from .runs import add_run as add_run
    from .runs import results as results
    from .sheets import add_bench as add_bench
    from .sheets import add_stands as add_stands
    from .store import SeasonError as SeasonError
    from .store import reading as reading
    from .store import writing as writing

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "added": ["Added"],
        "attachments": ["add_change", "set_map"],
        "bed_layout": ["lay_beds_out"],
        "comparison": ["control_chart", "difference", "units_over_season"],
        "exchange": ["export_season", "import_season"],
        "place": ["season_path"],
        "query": ["Season", "read_season"],
        "runs": ["add_run", "results"],
        "sheets": ["add_bench", "add_stands"],
        "store": ["SeasonError", "reading", "writing"],
    },
)
