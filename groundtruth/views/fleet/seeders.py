"""Which seeders are off, and the history of one, to be shown."""

from __future__ import annotations

from typing import Any

from ...core.display import PERCENT, ground_scale
from ...core.language import many
from ...core.measured import Measured
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import unit_factor
from ...fleet.seeders import FALSE_SHARE, SeederHistory, SeederStanding, SeederStandings
from ..blocks import Sentences, Table, column
from .answer import NAME, ROWS, FleetAnswer, names, of_percent, share_text
from .forest import MOST_LINES, Forest, ForestLine


def seeders_shown(found: SeederStandings) -> FleetAnswer:
    """Which seeders are off."""
    off = [one for one in found.seeders if one.is_off]
    said = [
        f"{many(len(off), '{count} seeder is', '{count} seeders are')} off by more than "
        f"{share_text(found.tolerance)}, of {len(found.seeders)}.",
        f"Of the seeders named, at most {share_text(FALSE_SHARE, 0)} are wrongly named on average.",
        f"Seeders of a farm differ by {share_text(found.between_seeders)}, farms by "
        f"{share_text(found.between_farms)}, days of a seeder by {share_text(found.between_days)} "
        "(standard deviations).",
        *_left_out(found),
    ]
    shown = (off or list(found.seeders))[:ROWS]
    table = Table(
        title="Seeders that are off" if off else "The seeders furthest off, none of them for sure",
        columns=(
            column("farm", names(one.farm for one in shown), "left"),
            column("seeder", names(one.seeder for one in shown), "left"),
            column("tyre", names(one.tyre for one in shown), "left"),
            column("runs", (str(one.runs) for one in shown)),
            column("ground per turn against the figure in use, %",
                   PERCENT.column([one.off for one in shown]), strong=True),
        ),
    )  # fmt: skip
    rest = len(off) - len(shown)
    more = (f"--json names {rest} more.",) if rest > 0 else ()
    lines = (of_percent(_seeder(o), o.off.value, o.off_95, marked=o.is_off) for o in found.seeders)
    edge = 100 * found.tolerance
    return FleetAnswer(
        title="Seeders against their figure in use",
        blocks=(Sentences(title="Seeders", sentences=(*said, *more), strong=1), table),
        forest=Forest(
            title="Ground per turn against the figure in use",
            unit="%",
            lines=tuple(lines)[:MOST_LINES],
            band=(-edge, edge),
            zero=0.0,
        ),
    )


def _left_out(found: SeederStandings) -> list[str]:
    said = []
    if found.unnamed:
        runs = many(found.unnamed, "{count} run names", "{count} runs name")
        said.append(f"{runs} neither farm nor seeder and could not be used.")
    if found.without_figure:
        runs = many(found.without_figure, "{count} run has", "{count} runs have")
        said.append(f"{runs} no figure in use.")
    return said


def _seeder(one: SeederStanding) -> str:
    return " / ".join(n for n in (one.farm, one.seeder) if n)


def history_shown(found: SeederHistory, units: UnitSystem) -> FleetAnswer:
    """One seeder over time."""
    scale, runs = ground_scale(units), found.runs
    grounds = [Measured(r["ground_per_turn_m"], r["ground_per_turn_std_m"]) for r in runs]
    name = " / ".join(visible(n, NAME) for n in (found.farm, found.seeder) if n)
    days = [r["date"].isoformat() if r["date"] else "" for r in runs]
    table = Table(
        title=f"Runs of {name}",
        columns=(
            column("day", days, "left"),
            column("field", names(r["field"] for r in runs), "left"),
            column("tyre", names(r["tyre"] for r in runs), "left"),
            column("soil", names(f"{r['soil_moisture']} {r['soil_texture']}".strip()
                                  for r in runs), "left"),
            column("passes", (str(r["passes"]) for r in runs)),
            column(f"ground per turn, {scale.unit}", scale.column(grounds), strong=True),
            column(f"in use, {scale.unit}", (
                "" if r["in_use_m"] is None else scale.number(r["in_use_m"], 2) for r in runs)),
            column("slip, %", PERCENT.column([_slip(r) for r in runs])),
        ),
    )  # fmt: skip
    factor = unit_factor(scale.unit)
    lines = tuple(
        ForestLine(
            name=f"{day} {r['field']}".strip(),
            value=r["ground_per_turn_m"] / factor,
            low=r["ground_per_turn_low_m"] / factor,
            high=r["ground_per_turn_high_m"] / factor,
        )
        for day, r in zip(days, runs, strict=True)
    )
    last = runs[-1]["in_use_m"]
    said = f"{many(len(runs), '{count} run', '{count} runs')} from {days[0]} to {days[-1]}."
    return FleetAnswer(
        title=name,
        blocks=(Sentences(title=name, sentences=(said,), strong=1), table),
        forest=Forest(
            title="Ground per turn",
            unit=scale.unit,
            lines=lines[-MOST_LINES:],
            zero=None if last is None else last / factor,
        ),
    )


def _slip(row: dict[str, Any]) -> Measured | None:
    return None if row["slip"] is None else Measured(row["slip"], row["slip_std"])
