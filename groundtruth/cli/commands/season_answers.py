"""What `groundtruth season` answers: what lies where, comparisons, the chart."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ...core.errors import InputError
from ...core.language import say
from ...season import season_path
from ..output import show, show_json
from ..typed import day_of

if TYPE_CHECKING:
    from ...app.season_questions import ByChange, ByGroup
    from ...views.blocks import Sentences, Table


def do_show(args: argparse.Namespace) -> int:
    """What lies where."""
    from ...app.season_questions import sown_on
    from ...season import read_season
    from ...views.blocks import Sentences
    from ...views.json.season import season_dict
    from ...views.tables import season as tables

    season = read_season(season_path(args.season))
    units = args.units or season.units
    sowings = season.sowings if args.bed is None else sown_on(season, args.bed)
    if args.json:
        show_json("season", season_dict(season, sowings))
        return 0
    if args.bed is not None:
        show([tables.bed_table(sowings, units, say("Bed {bed}", bed=sowings[0].bed))], paged=True)
        return 0
    blocks: list[Table | Sentences] = [
        Sentences(title=say("Season"), sentences=tables.overview(season), strong=1)
    ]
    if season.runs:
        blocks += [tables.runs_table(season, units), tables.sown_table(season, units)]
    if args.all_beds and sowings:
        blocks.append(tables.bed_table(sowings, units, say("Beds")))
    if season.anomalies:
        said = tables.anomaly_sentences(season.anomalies)
        blocks.append(Sentences(title=say("Look at this"), sentences=said, warning=True))
    show(blocks, paged=True)
    return 0


def do_compare(args: argparse.Namespace) -> int:
    """One group of runs against another, or row units against each other."""
    from ...app.season_questions import CompareRequest, comparison_for, row_units_for
    from ...views.blocks import Sentences
    from ...views.json.season import difference_dict, units_dict
    from ...views.sentences.comparison import difference_sentences, unit_sentences
    from ...views.tables import season as tables

    record = season_path(args.season)
    if args.row_units:
        if args.seeder:
            raise InputError("--seeder: row units are told apart by seeder anyway; leave it out")
        units = row_units_for(record)
        if args.json:
            show_json("row units", units_dict(units))
            return 0
        says = Sentences(title=say("Row units"), sentences=unit_sentences(units), strong=1)
        show([says, tables.units_table(units)])
        return 0
    by, seeder = _asked(args)
    found = comparison_for(CompareRequest(record=record, by=by, seeder=seeder))
    if args.json:
        show_json("comparison", difference_dict(found.difference))
        return 0
    said = difference_sentences(found.difference, args.units or found.season.units)
    if found.unrecorded:
        said += (
            say(
                "No change is recorded on {day}: groundtruth season change records one.",
                day=str(found.unrecorded),
            ),
        )
    show([Sentences(title=say("Comparison"), sentences=said, strong=1)])
    return 0


def _asked(args: argparse.Namespace) -> tuple[ByChange | ByGroup, str | None]:
    """What is compared, and of which seeder where one is named."""
    from ...app.season_questions import ByChange, ByGroup

    seeders = args.seeder or []
    way: ByChange | ByGroup | None = None
    if args.change is not None:
        way = ByChange(day_of(args.change, "--change"))
    elif args.soil is not None:
        way = ByGroup("soil", *args.soil)
    elif args.year is not None:
        way = ByGroup("year", *args.year)
    if way is None and len(seeders) == 2:
        return ByGroup("seeder", *seeders), None
    if way is None:
        raise InputError(
            "say what to compare: --change DAY, --soil A B, --year A B, --seeder A B or --row-units"
        )
    if len(seeders) > 1:
        raise InputError("--seeder: name one, whose runs are compared, or compare two seeders only")
    return way, seeders[0] if seeders else None


def do_chart(args: argparse.Namespace) -> int:
    """The control chart."""
    from ...app.season_questions import ChartRequest, chart_for
    from ...views.blocks import Sentences
    from ...views.json.season import chart_dict
    from ...views.sentences.comparison import chart_sentences
    from ...views.tables import season as tables
    from ...views.tables.drawn_chart import drawn_chart

    asked = ChartRequest(record=season_path(args.season), soil=args.soil, seeder=args.seeder)
    chart, season = chart_for(asked)
    if args.json:
        show_json("chart", chart_dict(chart))
        return 0
    units = args.units or season.units
    says = Sentences(title=say("Chart"), sentences=chart_sentences(chart, units), strong=1)
    show([says, drawn_chart(chart), tables.chart_table(chart, units)])
    return 0
