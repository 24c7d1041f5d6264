"""A day with a real phone's errors as measured: with the ends given, and by the whole path."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

import groundtruth
from groundtruth.core.run import Run

from .cases import Case
from .figures import Figure
from .methods import ours
from .phone_days import PhoneDay


def plain_estimate(case: Case) -> float:
    """Median place in the stand before to that in the stand after, else fix to fix. [m]"""
    places = []
    for mark in (case.start_s, case.end_s):
        stood = [s for s in case.stops if s[0] <= mark <= s[1]]
        near = np.zeros(len(case.time_s), dtype=bool)
        if stood:
            near = (case.time_s >= stood[0][0]) & (case.time_s <= stood[0][1])
        if near.any():
            places.append((np.median(case.east_m[near]), np.median(case.north_m[near])))
        else:
            places.append(
                tuple(np.interp(mark, case.time_s, m) for m in (case.east_m, case.north_m))
            )
    return float(np.hypot(*np.subtract(places[1], places[0])))


def figures_of(
    cases: Sequence[Case], device: str, drive: str, kind: str
) -> tuple[list[Figure], list[Figure]]:
    """Passes and the day's sum, the true ends being known."""
    about = {"device": device, "drive": drive, "kind": kind}
    if not cases:
        return [], []
    distance, covariance = ours(cases)
    truth = np.array([c.ground_m for c in cases])
    passes = [
        Figure(
            **about,
            error=float(distance[i] - truth[i]),
            std=float(covariance[i, i] ** 0.5),
            size=c.ground_m,
            plain=plain_estimate(c) - c.ground_m,
        )
        for i, c in enumerate(cases)
    ]
    error, std = float((distance - truth).sum()), float(covariance.sum() ** 0.5)
    held = float(abs(error) <= 1.96 * std)
    total = Figure(**about, error=error, std=std, size=float(truth.sum()), held=held)
    return passes, [total]


def ends_given(d: PhoneDay) -> tuple[list[Figure], list[Figure]]:
    """Passes and the day's sum of a day, the true ends being known."""
    return figures_of(d.cases, d.series.device, d.series.drive, d.kind.name)


def whole_path(d: PhoneDay) -> tuple[list[Figure], list[Figure]]:
    """Passes and the day's ground per turn, from track and turn sheet; all passes of the truth."""
    about = {"device": d.series.device, "drive": d.series.drive, "kind": d.kind.name}
    plain = {c.simulated.truth.number: plain_estimate(c) - c.ground_m for c in d.cases}
    nan = float("nan")
    try:
        run = Run(name=d.series.name, track=d.day.track, turns=d.day.sheet, seeder=d.day.seeder)
        result = groundtruth.measure(run)
    except groundtruth.GroundtruthError:
        return [
            Figure(**about, error=nan, std=nan, size=p.ground_m, plain=plain.get(p.number, nan))
            for p in d.day.passes
        ], [Figure(**about, error=nan, std=nan, size=d.day.ground_per_turn_m)]
    passes = []
    for p in d.day.passes:
        shares = [
            (min(f.end_s, p.end_s) - max(f.start_s, p.start_s))
            / (max(f.end_s, p.end_s) - min(f.start_s, p.start_s))
            for f in result.passes
        ]
        error = std = nan
        if shares and max(shares) > 0.5:
            found = result.passes[int(np.argmax(shares))].distance
            error, std = found.value - p.ground_m, found.std
        passes.append(
            Figure(**about, error=error, std=std, size=p.ground_m, plain=plain.get(p.number, nan))
        )
    figure, (low, high) = result.ground_per_turn, result.ground_per_turn_95
    truth = d.day.ground_per_turn_m
    held = float(low <= truth <= high)
    total = Figure(**about, error=figure.value - truth, std=figure.std, size=truth, held=held)
    return passes, [total]
