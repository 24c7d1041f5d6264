"""Which setting to choose: the stand that each one should give, and how sure that is.

Stand = seeds per turn × germination × field emergence / ground per turn. Everything that is not
known exactly is drawn, and the draws are pushed through the formula [JCGM 101:2008, 7].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..core.bounds import refuse_outside
from ..core.crops import Crop
from ..core.errors import InputError
from ..core.measured import Measured
from . import (
    AcceptanceRange,
    SettingCurve,
    acceptance_range,
    chance_inside,
    more_turns_to_tell_apart,
    turns_for_count,
)

Array = NDArray[np.float64]
_SEED = 20_260_102


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One setting: seeds per turn, the stand it should give, and where that may lie.

    ``stand`` is plants (or seeds, for a rate) per metre of line; ``inside``, ``below`` and
    ``above`` are the probabilities that it lies inside, below or above the accepted range.
    """

    setting: str
    tried: bool
    seeds_per_turn: Measured
    seeds_per_turn_95: tuple[float, float]
    seeds_per_m: Measured
    stand: Measured
    stand_95: tuple[float, float]
    inside: float
    below: float
    above: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """The next setting either side of the chosen one.

    ``passes_check`` is the chance that a count at it falls into the chosen one's acceptance range
    all the same; ``more_turns`` how many turns must still be caught at both to tell the two apart,
    None where they cannot be or where one was not tried.
    """

    setting: str
    passes_check: float
    more_turns: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The setting for one crop.

    ``seeds_per_turn_wanted`` would give the wanted stand exactly. ``beyond`` says that the wanted
    stand lies below or above all settings tried. ``thin`` is the share of the plants to take out
    for the wanted stand, None where the expected stand is accepted as it is.
    """

    crop: Crop
    ground_per_turn: Measured
    seeds_per_turn_wanted: Measured
    options: tuple[Option, ...]
    chosen: int
    beyond: Literal["below", "above"] | None
    untried: tuple[str, ...]
    thin: float | None
    check: AcceptanceRange
    neighbours: tuple[Neighbour, ...]
    dispersion_assumed: bool

    @property
    def option(self) -> Option:
        """The chosen setting's figures."""
        return self.options[self.chosen]


def choose(
    crop: Crop,
    ground_per_turn: Measured,
    curve: SettingCurve,
    *,
    turns: int | None = None,
    false_alarm: float = 0.05,
) -> Choice:
    """The setting whose expected stand comes nearest to the one wanted.

    Parameters
    ----------
    crop : what is wanted.
    ground_per_turn : ground covered in one gear turn, m.
    curve : seeds per turn by setting.
    turns : whole turns of the check at the bench; a sensible number where left out.
    false_alarm : chance that the check rejects a seeder that is set right.

    20 plants a metre of seed that germinates to 80 % are 25 seeds a metre, and 20 seeds on the
    0.8 m of a turn:

    >>> from groundtruth.seeding import BenchCount, setting_curve
    >>> catches = [
    ...     BenchCount(crop="beet", seed_lot="", setting=name, turns=6, seeds=Measured(seeds))
    ...     for name, seeds in (("9", 92), ("9", 94), ("11", 120), ("11", 122))
    ... ]
    >>> beet = Crop(name="beet", plants_per_m=20, germination=Measured(0.8))
    >>> found = choose(beet, Measured(0.8, 0.005), setting_curve(catches))
    >>> found.option.setting, found.seeds_per_turn_wanted.value, round(found.option.stand.value)
    ('11', 20.0, 20)

    Raises
    ------
    InputError : ground per turn or the number of turns is not above 0.
    """
    if not ground_per_turn.value > 0:
        raise InputError(f"ground per turn is {ground_per_turn.value:g} m; it must be above 0")
    if turns is not None and turns < 1:
        raise InputError(f"turns is {turns}; the check needs 1 or more")
    refuse_outside("ground per turn", ground_per_turn.value, "ground_per_turn")
    if turns is not None:
        refuse_outside("turns", turns, "check_turns")
    rng = np.random.default_rng(_SEED)
    n = len(curve.draws)
    ground = np.maximum(_normal(ground_per_turn, n, rng), 0.01 * ground_per_turn.value)
    growing = np.ones(n)
    if not crop.by_rate:
        for share in (crop.germination, crop.field_emergence):
            growing *= np.clip(_normal(share, n, rng), 0.001, 1.0) if share.std else share.value
    seeds_per_m = curve.draws / ground[:, None]
    stand = seeds_per_m * growing[:, None]
    options = tuple(
        _option(curve, i, seeds_per_m[:, i], stand[:, i], crop.accepted)
        for i in range(len(curve.settings))
    )
    chosen = min(range(len(options)), key=lambda i: abs(options[i].stand.value - crop.wanted))
    best = options[chosen]
    check = acceptance_range(
        curve.draws[:, chosen],
        curve.dispersion_draws,
        turns or turns_for_count(best.seeds_per_turn.value),
        false_alarm=false_alarm,
    )
    return Choice(
        crop=crop,
        ground_per_turn=ground_per_turn,
        seeds_per_turn_wanted=crop.target(ground_per_turn).seeds_per_turn,
        options=options,
        chosen=chosen,
        beyond=_beyond(options, chosen, crop),
        untried=curve.beyond,
        thin=1 - crop.wanted / best.stand.value
        if best.stand.value > crop.accepted[1] and not crop.by_rate
        else None,
        check=check,
        neighbours=tuple(
            _neighbour(curve, chosen, i, check)
            for i in (chosen - 1, chosen + 1)
            if 0 <= i < len(options)
        ),
        dispersion_assumed=curve.dispersion.assumed,
    )


def _normal(measured: Measured, n: int, rng: np.random.Generator) -> Array:
    return np.asarray(measured.value + measured.std * rng.standard_normal(n))


def _figure(draws: Array) -> tuple[Measured, tuple[float, float]]:
    low, high = np.quantile(draws, (0.025, 0.975))
    return Measured(float(draws.mean()), float(draws.std())), (float(low), float(high))


def _option(
    curve: SettingCurve,
    index: int,
    seeds_per_m: Array,
    stand: Array,
    accepted: tuple[float, float],
) -> Option:
    figure = curve.tried[index]
    below = float((stand < accepted[0]).mean())
    above = float((stand > accepted[1]).mean())
    stand_figure, stand_95 = _figure(stand)
    tried = figure is not None and not curve.order_broken
    return Option(
        setting=curve.settings[index],
        tried=figure is not None,
        seeds_per_turn=curve.seeds_per_turn(index),
        seeds_per_turn_95=figure.seeds_per_turn_95
        if tried and figure
        else curve.seeds_per_turn_95(index),
        seeds_per_m=_figure(seeds_per_m)[0],
        stand=stand_figure,
        stand_95=stand_95,
        inside=1 - below - above,
        below=below,
        above=above,
    )


def _beyond(
    options: tuple[Option, ...], chosen: int, crop: Crop
) -> Literal["below", "above"] | None:
    stand = options[chosen].stand.value
    if chosen == 0 and stand > crop.wanted and not stand <= crop.accepted[1]:
        return "below"
    if chosen == len(options) - 1 and stand < crop.wanted and not stand >= crop.accepted[0]:
        return "above"
    return None


def _neighbour(curve: SettingCurve, chosen: int, index: int, check: AcceptanceRange) -> Neighbour:
    one, other = curve.tried[chosen], curve.tried[index]
    return Neighbour(
        setting=curve.settings[index],
        passes_check=chance_inside(check, curve.draws[:, index], curve.dispersion_draws),
        more_turns=more_turns_to_tell_apart(one, other, curve.dispersion)
        if one and other
        else None,
    )
