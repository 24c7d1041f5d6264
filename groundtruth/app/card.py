"""The card for the pocket: the settings chosen, heeding changes of the wheel since measuring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from ..core.errors import InputError
from ..core.run import UnitSystem
from ..season import read_season
from ..season.query import WHEEL_CHANGES
from ..seeding import WheelChange
from ..views import Card, make_card
from .seeding import ChoicesFound, ChooseRequest, choices_for

_PARTS = {"wheel": "drive wheel", "gear": "gearing", "pressure": "tyre pressure"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRequest:
    """Crops and settings for a card, and where changes of the wheel are known from.

    ``wheel_changed_on`` is a day that was typed in, ``record`` a season's record, of which only
    changes of ``seeder`` count where one is named, else of the run's own where the record has
    several. A figure older than the last change gets a card
    only with ``print_stale``, and a warning on it.
    """

    choose: ChooseRequest
    made_on: date
    units: UnitSystem
    wheel_changed_on: date | None = None
    record: Path | None = None
    seeder: str = ""
    print_stale: bool = False


def card_for(request: CardRequest) -> tuple[Card, ChoicesFound]:
    """The card, and the choices on it.

    Raises
    ------
    StaleFigureError : the ground per turn is older than a change, and ``print_stale`` is not set.
    InputError : a file or figure cannot be used, or is not credible and not to be taken as typed.
    """
    found = choices_for(request.choose)
    if found.doubts and not request.choose.as_typed:
        raise InputError(f"{found.doubts[0].text} No card is made; put it right, or add --as-typed")
    card = make_card(
        found.choices,
        request.choose.ground,
        made_on=request.made_on,
        units=request.units,
        change=_last_change(request),
        print_stale=request.print_stale,
        field_turns_per_minute=found.turns_per_minute,
    )
    return card, found


def _last_change(request: CardRequest) -> WheelChange | None:
    """The last change of wheel or tyre that is typed in or on record."""
    found = []
    if request.wheel_changed_on is not None:
        found.append(WheelChange(day=request.wheel_changed_on))
    if request.record is not None:
        season = read_season(request.record)
        seeder = request.seeder
        if (
            not seeder
            and len(season.seeders) > 1
            and request.choose.ground.seeder in season.seeders
        ):
            seeder = request.choose.ground.seeder
        found += [
            WheelChange(day=date.fromisoformat(c.day), what=_PARTS.get(c.kind, c.kind))
            for c in season.changes
            if c.kind in WHEEL_CHANGES and (not seeder or c.seeder in ("", seeder))
        ]
    return max(found, key=lambda c: c.day, default=None)
