"""What a version changed, and which phones fall short, to be shown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...core.display import PERCENT, ground_scale
from ...core.language import many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...fleet.phones import WORSE, PhoneStanding
from ...fleet.versions import VersionChange
from ..blocks import Sentences, Table, column
from .answer import NAME, FleetAnswer, names, share_text
from .forest import MOST_LINES, Forest, ForestLine


def versions_shown(found: VersionChange, units: UnitSystem) -> FleetAnswer:
    """What another version changed."""
    said = [
        f"{many(found.runs, '{count} run has', '{count} runs have')} a figure by "
        f"{visible(found.before, 40)} and by {visible(found.now, 40)}.",
        f"Ground per turn moved by {PERCENT.signed(found.moved, 2)} % (median); "
        f"{share_text(found.moved_much, 0)} of the runs moved by more than half their standard "
        "uncertainty.",
        f"Uncertainties are {found.wider:.2f} times what they were"
        + (f", seconds {found.slower:.2f} times." if found.slower is not None else "."),
        f"{many(found.other_verdict, '{count} run has', '{count} runs have')} another verdict, "
        f"{len(found.lost)} no figure any more, {len(found.won)} one that had none.",
    ]
    moved, scale = found.most_moved, ground_scale(units)
    table = Table(
        title="The runs that moved most",
        columns=(
            column("run", names(r["source"] for r in moved), "left"),
            column(f"before, {scale.unit}", (scale.number(r["before_m"], 2) for r in moved)),
            column(f"now, {scale.unit}", (scale.number(r["now_m"], 2) for r in moved)),
            column("in standard uncertainties", (_signed(r["moved_in_u"]) for r in moved)),
            column("verdict", (_verdicts(r) for r in moved), "left"),
        ),
    )
    gone = Table(
        title="Figures lost and won",
        columns=(
            column("run", names(r["source"] for r in (*found.lost, *found.won)), "left"),
            column("now", (r["now"] for r in (*found.lost, *found.won)), "left"),
            column("why", (visible(r["message"], 80) for r in (*found.lost, *found.won)), "left"),
        ),
    )
    lines = tuple(
        ForestLine(name=r["source"], value=m, low=min(0.0, m), high=max(0.0, m), marked=abs(m) > 1)
        for r, m in ((r, r["moved_in_u"]) for r in moved)
    )
    return FleetAnswer(
        title="What the version changed",
        blocks=(
            Sentences(title="Versions", sentences=tuple(said), strong=1),
            *((table,) if moved else ()),
            *((gone,) if found.lost or found.won else ()),
        ),
        forest=Forest(title="Moved", unit="standard uncertainties", lines=lines, zero=0.0),
    )


def _signed(value: float) -> str:
    return f"{value:+.2f}".replace("-", "−")


def _verdicts(row: dict[str, Any]) -> str:
    before, now = row["verdict_before"], row["verdict_now"]
    return visible(now if before == now else f"{before}, now {now}", 60)


def phones_shown(found: Sequence[PhoneStanding]) -> FleetAnswer:
    """Which phones fall short."""
    short = [visible(one.phone, NAME) for one in found if one.falls_short]
    said = (
        f"{', '.join(short)}: lengths of passes are more than {WORSE:g} times as unsure as by the "
        "other phones."
        if short
        else f"No phone is for sure more than {WORSE:g} times as unsure as the others."
    )
    compared = [one for one in found if one.against_others is not None]
    table = Table(
        title="Phones",
        columns=(
            column("phone", names(one.phone for one in found), "left"),
            column("runs", (str(one.runs) for one in found)),
            column("farms", (str(one.farms) for one in found)),
            column("u of a pass, m", (f"{one.distance_std_m:.2f}" for one in found)),
            column("times the others'", (_times(one) for one in found), strong=True),
            column("fixes set aside, %", map(_set_aside, found)),
        ),
        marked=frozenset(i for i, one in enumerate(found) if one.falls_short),
    )  # fmt: skip
    lines = (
        ForestLine(
            name=one.phone,
            value=one.against_others or 1.0,
            low=(one.against_others_95 or (1.0, 1.0))[0],
            high=(one.against_others_95 or (1.0, 1.0))[1],
            marked=one.falls_short,
        )
        for one in compared
    )
    return FleetAnswer(
        title="Phones against each other",
        blocks=(Sentences(title="Phones", sentences=(said,), strong=1), table),
        forest=Forest(
            title="Uncertainty of a pass against the other phones",
            unit="times",
            lines=tuple(lines)[:MOST_LINES],
            zero=1.0,
        ),
    )


def _set_aside(one: PhoneStanding) -> str:
    return "" if one.set_aside is None else PERCENT.number(one.set_aside, 1)


def _times(one: PhoneStanding) -> str:
    if one.against_others is None or one.against_others_95 is None:
        return "too few runs"
    low, high = one.against_others_95
    return f"{one.against_others:.2f} ({low:.2f} to {high:.2f})"
