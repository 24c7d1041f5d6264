"""`groundtruth fleet`: ask the runs of many farms."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..output import show, show_json, tell
from ..typed import share_of
from . import shared_record
from .output_options import add_overwrite, as_sentence

if TYPE_CHECKING:
    from ...core.run import UnitSystem
    from ...views.fleet.answer import FleetAnswer

HELP = "ask the runs of many farms: seeders, slip, versions, phones"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The actions of `fleet`, each with its own options."""
    parser.epilog = "FLEET is the folder that groundtruth many wrote."
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)

    def action(name: str, about: str, *, asks: bool = True) -> argparse.ArgumentParser:
        sub: argparse.ArgumentParser = actions.add_parser(
            name, help=about, description=as_sentence(about)
        )
        sub.add_argument("fleet", metavar="FLEET", type=Path)
        if asks:
            sub.add_argument("--json", action="store_true", help="print JSON instead of tables")
            sub.add_argument("--out", metavar="HTML", type=Path, help="write a page with a drawing")
            add_overwrite(sub)
        return sub

    seeders = action("seeders", "say which seeders are off from their figure in use")
    seeders.add_argument(
        "--tolerance",
        metavar="PERCENT",
        default="3 %",
        help="by more than this (default: 3 %%)",
    )
    action("slip", "say how slip goes with soil, tyre, pressure, ballast and speed")
    action("phones", "say which phones fall short")
    versions = action("versions", "say what a new version changed")
    versions.add_argument(
        "now", metavar="NEW", type=Path, help="the same runs as measured by the new version"
    )
    history = action("history", "show one seeder over time")
    history.add_argument("seeder", metavar="SEEDER", help='its name or id, or "farm/name"')
    for one in (versions, history):
        one.add_argument("--units", choices=("metric", "us"), help="units to show")

    prior = action("prior", "write what the fleet teaches, for measure --prior", asks=False)
    prior.add_argument("--out", metavar="JSON", type=Path, required=True)
    add_overwrite(prior)

    add = action("add", "take rows that other farms shared", asks=False)
    add.add_argument("rows", metavar="ROW.json", type=Path, nargs="+")

    cells = action("map", "write a GeoPackage of coarse cells of five farms or more", asks=False)
    cells.add_argument("--out", metavar="GPKG", type=Path, required=True)
    cells.add_argument(
        "--cell", metavar="DEGREES", type=float, default=0.5, help="side of a cell (default: 0.5)"
    )
    load = action("load", "put the runs into a record that farms share in PostGIS", asks=False)
    shared_record.add_arguments(load)
    about = "print the SQL that makes such a record"
    actions.add_parser("schema", help=about, description=as_sentence(about))


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    writing = shared_record.ACTIONS | _WRITING
    if args.action in writing:
        return writing[args.action](args)
    from ...views.json.fleet import fleet_dict

    found, answer = _asked(args)
    if args.out is not None:
        from ...io.writing import write_whole
        from ...views.fleet.page import fleet_html

        write_whole(args.out, fleet_html(answer), overwrite=args.overwrite)
    if args.json:
        many = isinstance(found, tuple)
        show_json("fleet", {args.action: [fleet_dict(one) for one in found]} if many
                  else fleet_dict(found))  # fmt: skip
    else:
        show(answer.blocks)
    if args.out is not None:
        tell(f"Written: {args.out}", aside=args.json)
    return 0


def _asked(args: argparse.Namespace) -> tuple[Any, FleetAnswer]:
    """The answer, and how it is shown."""
    from ...app import fleet as asked

    units: UnitSystem = getattr(args, "units", None) or "metric"
    if args.action == "seeders":
        from ...views.fleet.seeders import seeders_shown

        tolerance = share_of(args.tolerance, "--tolerance")
        off = asked.seeders_for(asked.SeedersRequest(fleet=args.fleet, tolerance=tolerance))
        return off, seeders_shown(off)
    if args.action == "slip":
        from ...views.fleet.slip import slip_shown

        slip = asked.slip_for(args.fleet)
        return slip, slip_shown(slip)
    if args.action == "phones":
        from ...views.fleet.compared import phones_shown

        phones = asked.phones_for(args.fleet)
        return phones, phones_shown(phones)
    if args.action == "versions":
        from ...views.fleet.compared import versions_shown

        change = asked.versions_for(asked.VersionsRequest(before=args.fleet, now=args.now))
        return change, versions_shown(change, units)
    from ...views.fleet.seeders import history_shown

    history = asked.history_for(asked.HistoryRequest(fleet=args.fleet, seeder=args.seeder))
    return history, history_shown(history, units)


def _map(args: argparse.Namespace) -> int:
    from ...app.fleet import CellsRequest, cells_for
    from ...io.writing import check_places, write_whole

    check_places([args.out])
    write_whole(args.out, cells_for(CellsRequest(fleet=args.fleet, size_deg=args.cell)))
    tell(f"Written: {args.out}")
    return 0


def _prior(args: argparse.Namespace) -> int:
    from ...app.fleet import prior_for
    from ...io.fleet_prior import prior_to_json
    from ...io.writing import check_places, write_whole
    from ...views.blocks import Sentences
    from ...views.fleet.prior import prior_sentences

    check_places([args.out], overwrite=args.overwrite)
    prior = prior_for(args.fleet)
    write_whole(args.out, prior_to_json(prior), overwrite=args.overwrite)
    show([Sentences(title="Prior", sentences=prior_sentences(prior))])
    tell(f"Written: {args.out}")
    return 0


def _add(args: argparse.Namespace) -> int:
    from ...app.share import add_shared

    new = add_shared(args.fleet, args.rows)
    tell(f"{new} of {len(args.rows)} rows are new and were taken.")
    return 0


_WRITING = {"map": _map, "prior": _prior, "add": _add}
