"""Which seeders of a fleet are off by more than a tolerance, and one seeder's history."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from math import exp, log1p
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..core.errors import InputError
from ..core.measured import Measured
from ..stats.false_discoveries import discoveries
from ..stats.nested_effects import fit_nested_effects, group_numbers
from .data_set import Fleet

Array = NDArray[np.float64]

FALSE_SHARE = 0.05
"""Of the seeders named as off, so many are wrongly named on average, at most. Our choice."""

_SEEDERS = """
SELECT farm_key, seeder_key, coalesce(nullif(farm, ''), farm_id) AS farm,
  coalesce(nullif(seeder, ''), seeder_id) AS seeder, tyre, date, passes,
  ln(ground_per_turn_m / last_in_use) AS figure, log_std, last_in_use
FROM (SELECT *, last(in_use_m ORDER BY date, run_key) OVER machine AS last_in_use,
        last(tyre ORDER BY date, run_key) OVER machine AS last_tyre
      FROM runs WHERE status = 'measured' AND NOT nameless AND date IS NOT NULL
      WINDOW machine AS (PARTITION BY farm_key, seeder_key))
WHERE last_in_use > 0 AND tyre = last_tyre
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeederStanding:
    """One seeder against the figure that it is worked with: ``off`` is the ground per turn over
    that figure, minus 1; ``is_off`` says that it is off by more than the tolerance."""

    farm: str
    seeder: str
    tyre: str
    runs: int
    passes: int
    in_use_m: float
    off: Measured
    off_95: tuple[float, float]
    p_value: float
    is_off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SeederStandings:
    """All seeders, those that are off first, the most off first.

    ``between_farms``, ``between_seeders`` and ``between_days`` are standard deviations of the log
    ratio. ``unnamed`` runs tell neither farm nor seeder, ``without_figure`` have none in use.
    """

    tolerance: float
    seeders: tuple[SeederStanding, ...]
    between_farms: float
    between_seeders: float
    between_days: float
    unnamed: int
    without_figure: int


def seeders_off(fleet: Fleet, *, tolerance: float) -> SeederStandings:
    """Each seeder's ground per turn over its figure in use, and whether it is off.

    The ratio is to the figure that is in use in a seeder's latest run, since that is what its next
    bed is sown by; runs on another tyre than the latest are left out. Days of a seeder differ by
    what the whole fleet shows (`stats.nested_effects`). A seeder is named as off where the
    hypothesis that it is off by no more than the tolerance is rejected, with all seeders asked at
    once (`stats.false_discoveries`).

    Raises
    ------
    InputError : no run names a seeder and has a figure in use.
    """
    rows = fleet.asked(_SEEDERS)
    if not len(rows["figure"]):
        raise InputError(
            f"{fleet.folder}: no run names its farm or seeder and has a figure in use; write them "
            "into the run files"
        )
    farm, seeder, day = group_numbers([rows["farm_key"].astype(str), rows["seeder_key"].astype(str),
                                       rows["date"]])  # fmt: skip
    variance = _days_variances(rows, farm, seeder, day)
    figure, std = _means(rows, seeder, day, variance[2])
    p_values = _p_values(figure, std, tolerance)
    off = discoveries(p_values, FALSE_SHARE)
    first = np.unique(seeder, return_index=True)[1]
    runs = np.bincount(seeder)
    passes = np.bincount(seeder, rows["passes"])
    found = [
        SeederStanding(
            farm=rows["farm"][i],
            seeder=rows["seeder"][i],
            tyre=rows["tyre"][i],
            runs=int(runs[g]),
            passes=int(passes[g]),
            in_use_m=float(rows["last_in_use"][i]),
            off=Measured(exp(m) - 1, exp(m) * s),
            off_95=(exp(m - 1.96 * s) - 1, exp(m + 1.96 * s) - 1),
            p_value=float(p_values[g]),
            is_off=bool(off[g]),
        )
        for g, (i, m, s) in enumerate(zip(first, figure.tolist(), std.tolist(), strict=True))
    ]
    found.sort(key=lambda one: (not one.is_off, -abs(one.off.value)))
    left = fleet.rows(
        "SELECT count(*) FILTER (nameless) AS unnamed, "
        "count(*) FILTER (NOT nameless AND in_use_m IS NULL) AS without_figure "
        "FROM runs WHERE status = 'measured'"
    )[0]
    return SeederStandings(
        tolerance=tolerance,
        seeders=tuple(found),
        between_farms=float(variance[0] ** 0.5),
        between_seeders=float(variance[1] ** 0.5),
        between_days=float(variance[2] ** 0.5),
        **left,
    )


def _days_variances(rows: dict[str, Any], farm: Any, seeder: Any, day: Any) -> Array:
    """Variances between farms, seeders and days; 0 where there is but one figure."""
    if len(rows["figure"]) < 2:
        return np.zeros(3)
    fitted = fit_nested_effects(rows["figure"], rows["log_std"] ** 2, levels=[farm, seeder, day])
    return fitted.variance


def _means(rows: dict[str, Any], seeder: Any, day: Any, between_days: float) -> tuple[Array, Array]:
    """Each seeder's mean with its standard error, days being alike to ``between_days``."""
    weight = 1 / rows["log_std"] ** 2
    of_day = np.bincount(day, weight)
    mean = np.bincount(day, weight * rows["figure"]) / of_day
    at = np.zeros(len(of_day), dtype=np.intp)
    at[day] = seeder
    day_weight = 1 / (1 / of_day + between_days)
    of_seeder = np.bincount(at, day_weight)
    return np.bincount(at, day_weight * mean) / of_seeder, np.asarray(1 / np.sqrt(of_seeder))


def _p_values(figure: Array, std: Array, tolerance: float) -> Array:
    """One-sided at the nearer edge of the tolerance, where the hypothesis is hardest to reject."""
    from scipy.special import ndtr

    beyond = np.maximum(figure - log1p(tolerance), log1p(-tolerance) - figure)
    return np.asarray(ndtr(-beyond / std))


@dataclass(frozen=True, slots=True, kw_only=True)
class SeederHistory:
    """The runs of one seeder in order of time, as the columns of ``runs``."""

    farm: str
    seeder: str
    runs: tuple[dict[str, Any], ...]


def seeder_history(fleet: Fleet, name: str) -> SeederHistory:
    """The runs of the seeder of that name or id; ``name`` may have the farm before it: "Farm/Name".

    Raises
    ------
    InputError : no seeder or several have that name; the message names some.
    """
    known = fleet.rows(
        "SELECT DISTINCT farm_key, seeder_key, coalesce(nullif(farm, ''), farm_id) AS farm, "
        "coalesce(nullif(seeder, ''), seeder_id) AS seeder FROM runs "
        "WHERE status = 'measured' AND NOT nameless ORDER BY ALL"
    )
    wanted = name.strip().casefold()
    found = {
        (one["farm_key"], one["seeder_key"]): one
        for one in known
        if wanted in {text.casefold() for text in _called(one)}
    }
    if len(found) != 1:
        names = sorted({f"{one['farm']}/{one['seeder']}" for one in found.values() or known})
        near = names if found else get_close_matches(name, names, n=6) or names
        some = ", ".join(near[:6]) + (f" and {len(near) - 6} more" if len(near) > 6 else "")
        what = "several seeders are called so" if found else "no such seeder"
        raise InputError(f"{name}: {what}; the fleet has {some or 'no seeder with a name'}")
    one = next(iter(found.values()))
    rows = fleet.rows(
        "SELECT * REPLACE (coalesce(ground_per_turn_low_m, ground_per_turn_m - 1.96 * "
        "ground_per_turn_std_m) AS ground_per_turn_low_m, coalesce(ground_per_turn_high_m, "
        "ground_per_turn_m + 1.96 * ground_per_turn_std_m) AS ground_per_turn_high_m, "
        "CASE WHEN slip_std IS NOT NULL THEN slip END AS slip) "
        "FROM runs WHERE status = 'measured' AND farm_key = ? AND seeder_key = ? "
        "ORDER BY date, run_key",
        one["farm_key"],
        one["seeder_key"],
    )
    return SeederHistory(farm=one["farm"], seeder=one["seeder"], runs=tuple(rows))


def _called(one: dict[str, Any]) -> list[str]:
    """All that a seeder may be called."""
    names = [one["seeder"], one["seeder_key"]]
    farms = (one["farm"], one["farm_key"])
    return [*names, *(f"{farm}/{name}" for farm in farms for name in names)]
