"""The whole answer to a question about seeding as a dictionary for JSON, in SI units.

The keys are documented in docs/bench.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from ...core.crops import Crop
from ...core.notices import Notice
from ...io.json_values import notice_dicts
from ...seeding import Choice, Emergence, GroundFigure, SeedNeed, SettingCurve
from ..card import Card
from .seeding import (
    choice_dict,
    crop_dict,
    curve_dict,
    emergence_dict,
    ground_dict,
    need_dict,
    target_dict,
)


def target_document(
    crops: Sequence[Crop], notices: Iterable[Notice], ground: GroundFigure
) -> dict[str, Any]:
    """Seeds per gear turn for each crop; a single target stands at the top as well."""
    targets = [target_dict(crop, ground) for crop in crops]
    one = targets[0] if len(targets) == 1 else {}
    top = {key: value for key, value in one.items() if key.startswith("seeds_per_turn")}
    return {
        **top,
        **ground_dict(ground),
        "targets": targets,
        "notices": notice_dicts(notices),
    }


def bench_document(
    curves: Iterable[tuple[str, str, SettingCurve]], notices: Iterable[Notice]
) -> dict[str, Any]:
    """The curve of each (crop, seed lot), and what was noticed of the sheet."""
    return {"curves": [curve_dict(*one) for one in curves], "notices": notice_dicts(notices)}


def choose_document(
    choices: Iterable[Choice], notices: Iterable[Notice], ground: GroundFigure
) -> dict[str, Any]:
    """The setting for each crop."""
    return {
        **ground_dict(ground),
        "choices": [choice_dict(choice, ground) for choice in choices],
        "notices": notice_dicts(notices),
    }


def card_document(
    card: Card, choices: Iterable[Choice], notices: Iterable[Notice], ground: GroundFigure
) -> dict[str, Any]:
    """The words on the card, and the choices behind them."""
    return {**choose_document(choices, notices, ground), "card": asdict(card)}


def turning_document(ground: GroundFigure, speed_m_s: float, rate: float) -> dict[str, Any]:
    """Gear turns a minute at a field speed."""
    return {**ground_dict(ground), "speed_m_s": speed_m_s, "turns_per_minute": rate}


def seed_document(
    needs: Iterable[tuple[Crop, SeedNeed]], notices: Iterable[Notice]
) -> dict[str, Any]:
    """The seed that each crop needs."""
    needed = [{**crop_dict(crop), **need_dict(need)} for crop, need in needs]
    return {"needed": needed, "notices": notice_dicts(notices)}


def stands_document(found: Iterable[Emergence], notices: Iterable[Notice]) -> dict[str, Any]:
    """Field emergence of each crop and seed lot."""
    return {
        "emergence": [emergence_dict(one) for one in found],
        "notices": notice_dicts(notices),
    }
