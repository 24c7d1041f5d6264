"""The option that commands which write files have in common."""

from __future__ import annotations

import argparse


def add_overwrite(parser: argparse.ArgumentParser) -> None:
    """`--overwrite`."""
    parser.add_argument(
        "--overwrite",
        action="store_true",
        help="replace files of the same name that groundtruth did not write",
    )
