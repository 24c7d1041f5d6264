"""What the page is told of a file that was dropped on it: kept on the desk, or read into its forms.

A run's description and the counts beside its passes are typed on, not kept as files.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from ...app.pages import MAP, REPORT, RESULT
from ...io.files import Source
from .asked import flag
from .desk import Desk
from .sheet_or_track import kind_of

if TYPE_CHECKING:
    from ...core.backdrop import Backdrop

Json = dict[str, Any]


def dropped(source: Source, desk: Desk) -> Json:
    """What became of a file: its kind, and where it lies or what stands in it.

    Raises
    ------
    InputError : it cannot be used, or there are too many files on the desk.
    """
    from ...app.typed_back import counts_of, form_of_run

    if source.name in (MAP, REPORT, RESULT):  # beside the files of a run, and made from them
        return {"kind": "made", "name": source.name}
    kind = kind_of(source)
    if kind == "run":
        form = form_of_run(source)
        pairs = {key: dict(getattr(form, key)) for key in ("machine", "origin", "soil")}
        return {"kind": kind, "name": source.name, "form": {**asdict(form), **pairs}}
    counts = counts_of(source) if kind == "sheet" else None
    if counts is not None:
        return {"kind": "counts", "name": source.name, "form": asdict(counts)}
    one = desk.add(source)
    return {"key": one.key, "name": one.name, "size": one.size, "kind": kind}


def backdrop_dropped(source: Source, desk: Desk) -> Json:
    """What stands behind the maps from now on.

    Raises
    ------
    InputError : it cannot.
    """
    from ...io import read_backdrop

    read_backdrop(source)
    desk.keep_backdrop(source)
    return backdrop_shown(desk, {})


def backdrop_shown(desk: Desk, asked: Json) -> Json:
    """What stands behind the maps, with its places as [latitude, longitude]; or is taken away."""
    if flag(asked, "remove"):
        desk.remove_backdrop()
    held = kept_backdrop(desk)
    if held is None:
        return {"name": "", "shapes": [], "notices": []}
    shapes = [
        {
            "name": one.name,
            "area": one.is_area,
            "places": [[round(lat, 7), round(lon, 7)] for lon, lat in one.places],
        }
        for one in held.shapes
    ]
    return {"name": held.file.name, "shapes": shapes, "notices": [str(n) for n in held.notices]}


def kept_backdrop(desk: Desk) -> Backdrop | None:
    """What was dropped to stand behind the maps, None where there is none that can be read."""
    from ...core.errors import InputError
    from ...io import read_backdrop

    source = desk.backdrop()
    try:
        return read_backdrop(source) if source else None
    except InputError:
        return None
