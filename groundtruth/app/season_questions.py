"""Ask a season's record: what lies where, comparisons, the control chart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Literal

from ..core.errors import InputError
from ..season import Season, control_chart, difference, read_season, units_over_season
from ..season.comparison import Chart, Covariate, Difference, RunFigure, UnitStanding
from ..season.query import BedSowing

Value = Callable[[RunFigure], str]


@dataclass(frozen=True, slots=True)
class ByChange:
    """Runs before a day against those from that day on, up to the neighbouring changes."""

    day: date


@dataclass(frozen=True, slots=True)
class ByGroup:
    """Runs on one soil (of one seeder, of one year) against those on another."""

    what: Literal["soil", "seeder", "year"]
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRequest:
    """A comparison of ground per turn between two groups of runs in a record.

    ``seeder`` is whose runs are compared; where the record names several it has to be said, other
    than for a change that belongs to one, or for seeder against seeder.
    """

    record: Path
    by: ByChange | ByGroup
    seeder: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonFound:
    """The difference; ``unrecorded`` is the day asked for where no change is on record that day."""

    season: Season
    difference: Difference
    unrecorded: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRequest:
    """A control chart of a record, of one seeder, which has to be named where there are several.

    Runs on other soils than the usual one, where it is named, are left unjudged.
    """

    record: Path
    soil: str | None = None
    seeder: str | None = None


def sown_on(season: Season, bed: str) -> tuple[BedSowing, ...]:
    """What was sown on one bed, by its name.

    Raises
    ------
    InputError : nothing was; the message names beds that could have been meant.
    """
    wanted = bed.strip().casefold()
    found = tuple(s for s in season.sowings if s.bed.casefold() == wanted)
    if not found:
        known = _known("beds", [s.bed for s in season.sowings], wanted)
        raise InputError(f"bed {bed}: nothing was sown on such a bed; {known}")
    return found


def comparison_for(request: CompareRequest) -> ComparisonFound:
    """The second group against the first, other things known of the days allowed for.

    Raises
    ------
    InputError : a group has no run, both are the same, or it has to be said of which seeder; the
        message names what there is.
    """
    season = read_season(request.record)
    by, seeder = request.by, request.seeder
    if isinstance(by, ByChange):
        sides = _by_change(by, season, seeder)
    else:
        runs = season.runs if by.what == "seeder" else runs_of_seeder(season, seeder)
        sides = _by_group(by, runs)
    unrecorded = None
    if isinstance(by, ByChange) and all(c.day != by.day.isoformat() for c in season.changes):
        unrecorded = by.day
    found = difference(
        sides.runs, sides.group_of, sides.first, sides.second, allow_for=sides.allow_for
    )
    return ComparisonFound(season=season, difference=found, unrecorded=unrecorded)


def row_units_for(record: Path) -> tuple[UnitStanding, ...]:
    """Each row unit of a record against the others.

    Raises
    ------
    InputError : no run has two.
    """
    found = units_over_season(read_season(record).unit_runs)
    if not found:
        raise InputError("no run of the record has two row units to compare")
    return tuple(found)


def chart_for(request: ChartRequest) -> tuple[Chart, Season]:
    """The control chart and the season it is drawn from.

    Raises
    ------
    InputError : no run is of that seeder or soil, or it has to be said of which seeder.
    """
    season = read_season(request.record)
    if not season.runs:
        raise InputError("no run to chart; groundtruth season add records one")
    runs = runs_of_seeder(season, request.seeder)
    soil = None if request.soil is None else request.soil.strip().casefold()
    if soil is not None and not any(r.soil == soil for r in runs):
        raise InputError(f"soil {soil}: no such run; " + _known("soils", [r.soil for r in runs]))
    return control_chart(runs, usual_soil=soil), season


def runs_of_seeder(season: Season, seeder: str | None) -> list[RunFigure]:
    """The runs of one seeder; None stands for the only one, or for none named.

    Raises
    ------
    InputError : there are several and none is named, or no run is of that one.
    """
    if seeder is None:
        if len(season.seeders) > 1:
            raise InputError(
                f"the record has runs of {len(season.seeders)} seeders; say of which with "
                f"--seeder: {', '.join(season.seeders)}"
            )
        return list(season.runs)
    runs = [run for run in season.runs if run.seeder == seeder]
    if not runs:
        raise InputError(f"no run of the seeder {seeder!r}; {_known('seeders', season.seeders)}")
    return runs


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sides:
    """Runs, the group of a run, the two labels, and what to allow for."""

    runs: Sequence[RunFigure]
    group_of: Value
    first: str
    second: str
    allow_for: Sequence[Covariate]


_GROUPS: dict[str, tuple[Value, tuple[Covariate, ...]]] = {
    "soil": (lambda run: run.soil, (Covariate.PHASE,)),
    "seeder": (lambda run: run.seeder, (Covariate.SOIL,)),
    "year": (lambda run: run.day[:4], (Covariate.SOIL, Covariate.PHASE)),
}
"""By what runs are grouped: the group of a run, and what else to allow for."""


def _by_change(by: ByChange, season: Season, seeder: str | None) -> _Sides:
    day = by.day.isoformat()
    of = {c.seeder for c in season.changes if c.day == day and c.seeder}
    if seeder is None and len(of) == 1:
        (seeder,) = of
    runs = runs_of_seeder(season, seeder)
    # up to the neighbouring changes, so that only this one lies between the groups
    before = max((r.phase for r in runs if r.day < day), default=0)
    after = min((r.phase for r in runs if r.day >= day), default=0)
    near = [r for r in runs if r.phase == (before if r.day < day else after)]
    labels = f"before {day}", f"from {day} on"

    def side(run: RunFigure) -> str:
        return labels[run.day >= day]

    _both([side(r) for r in near], labels, _days(runs))
    return _Sides(
        runs=near, group_of=side, first=labels[0], second=labels[1], allow_for=(Covariate.SOIL,)
    )


def _by_group(by: ByGroup, runs: Sequence[RunFigure]) -> _Sides:
    group_of, allow_for = _GROUPS[by.what]
    first, second = by.first, by.second
    if by.what == "soil":
        first, second = first.strip().casefold(), second.strip().casefold()
    groups = [group_of(r) for r in runs]
    known = _days(runs) if by.what == "year" else _known(f"{by.what}s", groups)
    _both(groups, (first, second), known)
    return _Sides(runs=runs, group_of=group_of, first=first, second=second, allow_for=allow_for)


def _both(found: Sequence[str], wanted: Sequence[str], known: str) -> None:
    """Refuse a side of a comparison that has no run."""
    for name in wanted:
        if name not in found:
            raise InputError(f"no run to compare for {name!r}; {known}")
    if wanted[0] == wanted[1]:
        raise InputError(f"{wanted[0]!r} twice: name two that differ")


def _days(runs: Sequence[RunFigure]) -> str:
    days = sorted(r.day for r in runs)
    return f"runs in the record: {days[0]} to {days[-1]}" if days else "the record has no run"


def _known(what: str, names: Sequence[str], wanted: str = "") -> str:
    """Names that could have been meant: those most alike, else the first few."""
    every = list(dict.fromkeys(n for n in names if n))
    if not every:
        return f"the record names no {what.removesuffix('s')}"
    alike = get_close_matches(wanted.casefold(), [n.casefold() for n in every], n=4)
    near = [n for n in every if n.casefold() in alike] or every[:8]
    rest = len(every) - len(near)
    return f"{what} in the record: {', '.join(near)}" + (f" and {rest} more" if rest else "")
