"""Does the interval hold on the errors of real phones? Sowing days made from a folder of them.

    python -m tests.benchmarks.real_phones FOLDER [--half judge] [--days 1] [--tractor FOLDER]
        [--write docs/real-tracks.md]

Each piece of error series becomes days of one to eight beds, driven by our simulator: stopped or
rolling at the ends, with the instants in the turn sheet or the order of the passes only, the errors
as they are and, where the piece holds enough standing, by regime. Each day is measured through the
whole path and with the true ends given, beside the plain estimate, from the median place in one
stand to that in the other (rolling: from fix to fix). Drives in order of their names belong in turn
to the half to tune on and the half to judge on. In brackets: 95 % intervals, drives drawn with
replacement; none where there is one drive. ``--tractor`` measures a run folder with instants in its
sheet as well.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from .error_series import HALVES, Series, read_series
from .figures import Figure, table
from .measured_phone_days import ends_given, whole_path
from .page import write_between
from .phone_days import UNEVEN, USUAL, Kind, PhoneDay, phone_day
from .real_tractor import tractor_table


def days_of(series: Sequence[Series], *, days: int = 1, uneven: bool = False) -> Iterator[PhoneDay]:
    """Days of every kind on every piece that is long enough."""
    for s in series:
        for rolling, instants, regime in np.ndindex(2, 2, 2):
            if regime and not s.by_regime:
                continue
            kind = Kind(rolling=bool(rolling), instants=bool(instants), regime=bool(regime))
            for number in range(days):
                d = phone_day(s, kind, number, UNEVEN if uneven else USUAL)
                if d is not None:
                    yield d


def main() -> None:
    """Measure the days and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--half", choices=(*HALVES, "all"), default="all")
    parser.add_argument("--days", type=int, default=1, help="days of each kind a piece")
    parser.add_argument("--every", type=int, default=1, help="take every so many pieces only")
    parser.add_argument("--uneven", action="store_true", help="drive less evenly than usual")
    parser.add_argument("--given-only", action="store_true", help="leave the whole path out")
    parser.add_argument("--tractor", type=Path, help="run folder of a real tractor")
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    series = read_series(args.folder)
    series = [s for s in series if args.half in ("all", s.half)][:: args.every]
    given: tuple[list[Figure], list[Figure]] = [], []
    whole: tuple[list[Figure], list[Figure]] = [], []
    took = {"ends given": 0.0, "whole path": 0.0}
    days = 0
    for d in days_of(series, days=args.days, uneven=args.uneven):
        days += 1
        if d.kind.instants:  # the same with given ends whatever the sheet says
            began = time.process_time()
            for to, new in zip(given, ends_given(d), strict=True):
                to += new
            took["ends given"] += time.process_time() - began
        if not args.given_only:
            began = time.process_time()
            for to, new in zip(whole, whole_path(d), strict=True):
                to += new
            took["whole path"] += time.process_time() - began
    text = [
        f"Half: {args.half}; {len(series)} pieces, {len({s.drive for s in series})} drives, "
        f"{days} days.",
        "**One pass, ends given**",
        table(given[0], "m"),
        "**Sum of a day, ends given**",
        table(given[1], "m"),
    ]
    if not args.given_only:
        text += [
            "**One pass, whole path**",
            table(whole[0], "m"),
            "**Ground per turn of a day, whole path**",
            table(whole[1], "m a turn"),
        ]
    if args.tractor:
        text += ["**Real tractor, m a counted turn**", tractor_table(args.tractor)]
    print("\n\n".join(text))
    print("\nCPU seconds: " + ", ".join(f"{k} {v:.0f}" for k, v in took.items()))
    if args.write:
        write_between(args.write, "\n\n".join(text), "real phones table")


if __name__ == "__main__":
    main()
