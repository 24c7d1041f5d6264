"""The options that commands which write files or maps have in common."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ...core.backdrop import Backdrop


def add_overwrite(parser: argparse.ArgumentParser) -> None:
    """`--overwrite`."""
    parser.add_argument(
        "--overwrite",
        action="store_true",
        help="replace files of the same name that groundtruth did not write",
    )


def add_backdrop(parser: argparse.ArgumentParser) -> None:
    """`--backdrop`."""
    parser.add_argument(
        "--backdrop",
        metavar="GEOJSON|KML",
        type=Path,
        help="your own field outlines, paths and buildings, drawn behind the map",
    )


def backdrop_of(args: argparse.Namespace) -> Backdrop | None:
    """What `--backdrop` names, None where it does not stand.

    Raises
    ------
    InputError : the file cannot be used.
    """
    from ...io import read_backdrop
    from ..output import tell

    if args.backdrop is None:
        return None
    backdrop = read_backdrop(args.backdrop)
    for notice in backdrop.notices:
        tell(notice, aside=True)
    return backdrop
