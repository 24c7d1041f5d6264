"""The pages of a result and the names of the files that hold them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..core.backdrop import Backdrop
    from ..core.result import Result

MAP, REPORT, RESULT = "map.html", "report.html", "result.json"


def pages_of(
    result: Result, *, tiles: bool = False, backdrop: Backdrop | None = None
) -> dict[str, str]:
    """Map, report and JSON of a result, by file name.

    ``tiles`` lets the map load an online background; ``backdrop`` stands behind it.
    """
    from ..io import result_to_json
    from ..io.writing import sealed
    from ..views import field_map_html, report_html

    return {
        MAP: field_map_html(result, tiles=tiles, backdrop=backdrop),
        REPORT: report_html(result),
        RESULT: sealed(result_to_json(result)),
    }
