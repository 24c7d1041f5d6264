"""Options that commands have in common: what they write over, the language, maps' backdrop."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.language import ENGLISH, LANGUAGES

if TYPE_CHECKING:
    from ...core.backdrop import Backdrop


def as_sentence(about: str) -> str:
    """The help line of a command as a sentence."""
    return f"{about[:1].upper()}{about[1:]}."


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


def add_language(parser: argparse.ArgumentParser) -> None:
    """`--language`, which `main` heeds."""
    parser.add_argument(
        "--language",
        choices=LANGUAGES,
        default=ENGLISH,
        help="of what is shown and of pages (default: en); errors and records stay English",
    )
