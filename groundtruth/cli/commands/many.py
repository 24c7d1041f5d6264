"""`groundtruth many`: every run of a folder measured once, into a data set."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.errors import InputError
from ..output import tell

if TYPE_CHECKING:
    from ...many.addresses import SchedulerAddress
    from ...many.measure_many import ManySummary
    from ...many.progress import Progress

HELP = "measure all runs of a folder, on all cores or machines, into a data set"

_QUIET_S = 30.0
"""Between two lines of progress where they are not written over each other."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `many`."""
    parser.add_argument(
        "runs",
        metavar="FOLDER|LIST",
        type=Path,
        help="a folder with runs in it or below it, or a text file with a run file to a line",
    )
    parser.add_argument(
        "--out",
        metavar="FLEET",
        type=Path,
        required=True,
        help="folder of the data set: a new or empty one, or one to go on with",
    )
    parser.add_argument(
        "--workers", metavar="N", type=int, help="processes on this computer (default: its cores)"
    )
    parser.add_argument(
        "--memory",
        metavar="GB",
        type=float,
        help="that each of them may take (default: its share of the computer's)",
    )
    parser.add_argument(
        "--time-limit",
        metavar="SECONDS",
        type=float,
        help="that a run may take (default: 600)",
    )
    parser.add_argument(
        "--again",
        action="store_true",
        help="measure those again that took too long or too much memory, or failed by a fault",
    )
    parser.add_argument(
        "--scheduler",
        metavar="tls://HOST:PORT",
        help="a scheduler of Dask with workers on other machines; see docs/many.md",
    )
    for name, what in (
        ("ca", "certificate of the authority that both sides trust"),
        ("cert", "certificate of this side"),
        ("key", "key of this side"),
    ):
        parser.add_argument(f"--tls-{name}", metavar="FILE", type=Path, help=what)


def run(args: argparse.Namespace) -> int:
    """Measure, say how far it is, then what there is."""
    from ...many.cluster import Workers
    from ...many.measure_many import TIME_LIMIT_S, ManyRequest, measure_many

    scheduler = _scheduler(args)
    workers = Workers(
        number=args.workers,
        memory_bytes=None if args.memory is None else int(min(args.memory, 1e9) * 1e9),
        scheduler=scheduler,
    )
    limit = TIME_LIMIT_S if args.time_limit is None else args.time_limit
    line = _Line()
    try:
        done = measure_many(
            ManyRequest(
                runs=args.runs, out=args.out, workers=workers, time_limit_s=limit, again=args.again
            ),
            line.show,
        )
    finally:
        line.end()
    _say_what_there_is(done, args.out)
    return 0


def _scheduler(args: argparse.Namespace) -> SchedulerAddress | None:
    from ...many.addresses import SchedulerAddress

    elsewhere = ("tls_ca", "tls_cert", "tls_key")
    here = ("workers", "memory")
    for name in elsewhere if args.scheduler is None else here:
        if getattr(args, name) is not None:
            option = "--" + name.replace("_", "-")
            if args.scheduler is None:
                raise InputError(f"{option}: belongs to --scheduler tls://HOST:PORT")
            raise InputError(
                f"{option}: is for workers on this computer; with --scheduler it is said where "
                "the workers are started (docs/many.md)"
            )
    if args.scheduler is None:
        return None
    return SchedulerAddress(
        address=args.scheduler, tls_ca=args.tls_ca, tls_cert=args.tls_cert, tls_key=args.tls_key
    )


def _say_what_there_is(done: ManySummary, folder: Path) -> None:
    if done.lost:
        tell(
            f"Files of the data set were gone or changed: {_runs(done.lost)} to be measured again."
        )
    said = ", ".join(f"{count:,} {status}" for status, count in sorted(done.held.items()))
    now, before = done.progress.measured_now, done.progress.skipped
    tell(f"{_runs(now)} done now, {before:,} before. {folder} holds: {said}.")
    if set(done.held) - {"measured"}:
        tell("The column message of its runs says why those that are not measured are not.")


def _runs(count: int) -> str:
    return f"{count:,} run{'s' * (count != 1)}"


class _Line:
    """The line of progress on standard error: one that is written over on a terminal."""

    def __init__(self) -> None:
        self._terminal = sys.stderr is not None and sys.stderr.isatty()
        self._shown_s = time.monotonic()
        self._width = 0

    def show(self, progress: Progress) -> None:
        """Show how far it is, about every second on a terminal."""
        now_s = time.monotonic()
        if now_s - self._shown_s < (0.5 if self._terminal else _QUIET_S):
            return
        self._shown_s = now_s
        text = progress.line(now_s)
        if self._terminal:
            print(f"\r{text.ljust(self._width)}", end="", file=sys.stderr, flush=True)
            self._width = len(text)
        else:
            tell(text, aside=True)

    def end(self) -> None:
        """Leave the terminal at the beginning of a line."""
        if self._width:
            print(f"\r{' ' * self._width}\r", end="", file=sys.stderr, flush=True)
