"""The actions of `groundtruth fleet` on a record that farms share: load, schema."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from ..output import tell


def add_arguments(load: argparse.ArgumentParser) -> None:
    """The options of `load`."""
    load.add_argument(
        "--into",
        metavar="SERVICE",
        required=True,
        help="a service of libpq's file ~/.pg_service.conf: host, database, user",
    )
    load.add_argument("--farm", default="", help="the farm of runs that name none")


def _load(args: argparse.Namespace) -> int:
    from ...fleet.postgis_load import load_fleet

    done = load_fleet(args.fleet, args.into, farm=args.farm.strip())
    tell(
        f"{args.into}: {done.runs:,} runs and {done.passes:,} passes of {args.fleet} are in; "
        f"{done.new_runs:,} runs new, {done.changed_runs:,} put right"
    )
    if done.replaced:
        tell(f"  {done.replaced:,} earlier measurements of the same runs taken out")
    if done.left_out:
        tell(f"  {done.left_out:,} runs without a figure left out")
    return 0


def _schema(_: argparse.Namespace) -> int:
    from ...fleet.postgis_load import schema_sql

    print(schema_sql(), end="")
    return 0


ACTIONS: dict[str, Callable[[argparse.Namespace], int]] = {"load": _load, "schema": _schema}
