"""The verdict on each count of a run: it agrees, is doubtful or is left out, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp

import numpy as np

from ..core.findings import Finding, FindingKind
from ..core.result import CellReason, CellVerdict, Judgement
from ..core.what_was_meant import meant
from ..passes.matching import CountedPass, UnitCount
from .credibility import SURE, Credibility, credibility
from .ground_covered import Ground

LEFT_OUT = 0.5
"""A count that is more probably wrong than right is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What came of judging. ``weight`` holds for each count of each pass, in the order of
    `CountedPass.counts`, how far it is believed: 0 where it is left out, 1 where it agrees."""

    cells: tuple[CellVerdict, ...]
    weight: tuple[tuple[float, ...], ...]
    findings: tuple[Finding, ...]


def judge(counted: Sequence[CountedPass], ground: Ground) -> Judged:
    """Judge all counts of the passes that were measured."""
    pairs = [(i, u) for i, c in enumerate(counted) for u in c.counts]
    names = list(dict.fromkeys(u.unit for _, u in pairs))
    total = sum(ground.covariance_m2.values(), start=np.zeros(()))
    found = credibility(
        np.log([u.turns.value for _, u in pairs]),
        # by the turns usual on the pass: a count that is wrong would be given the wrong doubt
        np.array([(u.turns.std / _usual(counted[i])) ** 2 for i, u in pairs]),
        np.array([i for i, _ in pairs]),
        np.array([names.index(u.unit) for _, u in pairs]),
        np.log(ground.distance_m),
        np.sqrt(np.diag(total)) / ground.distance_m,
        np.array([_cut(c) for c in counted]),
    )
    cells, findings = [], []
    weight: list[list[float]] = [[] for _ in counted]
    before: dict[str, float] = {}
    for k, (i, u) in enumerate(pairs):
        believed = float(min(found.count[k], found.of_pass[i]))
        cell = _cell(counted[i], u, k, i, found, before.get(u.unit), ground)
        cells.append(cell)
        weight[i].append(0.0 if believed < LEFT_OUT else 1.0 if believed > SURE else believed)
        before[u.unit] = u.turns.value
    if not any(w for of_pass in weight for w in of_pass):
        weight = [[1.0] * len(c.counts) for c in counted]
    for i, c in enumerate(counted):
        if found.of_pass[i] < LEFT_OUT and c.counts:
            findings.append(_pass_off(c, i, found, ground))
    cells += [_elsewhere(c, u) for c in counted for u in c.read_elsewhere]
    return Judged(
        cells=_exchanged(tuple(cells)),
        weight=tuple(map(tuple, weight)),
        findings=tuple(findings),
    )


def _usual(counted: CountedPass) -> float:
    return float(np.median([u.turns.value for u in counted.counts]))


def _cut(counted: CountedPass) -> bool:
    return "track ends" in (counted.start.found, counted.end.found)


def _elsewhere(counted: CountedPass, unit: UnitCount) -> CellVerdict:
    return CellVerdict(
        number=counted.number,
        unit=unit.unit,
        line=unit.line,
        turns=unit.turns.value,
        verdict=Judgement.LEFT_OUT,
        reason=CellReason.TIMES,
    )


def _cell(
    counted: CountedPass,
    unit: UnitCount,
    k: int,
    i: int,
    found: Credibility,
    before: float | None,
    ground: Ground,
) -> CellVerdict:
    by_pass = found.of_pass[i] < min(found.count[k], SURE)
    believed = min(found.count[k], found.of_pass[i])
    verdict, reason = Judgement.AGREES, None
    expected: tuple[float, float] | None = None
    suggestion = None
    if believed <= SURE:
        verdict = Judgement.LEFT_OUT if believed < LEFT_OUT else Judgement.DOUBTFUL
        reason = CellReason.GROUND if by_pass else CellReason.COUNT
        middle, std = found.predicted[k], found.std[k]
        if by_pass:
            # turns that the ground would need, by the level of the other passes and this unit
            middle = np.log(ground.distance_m[i]) - found.level
            std = max(std, 0.02)
        step = 10.0 ** round(np.log10(max(unit.turns.std * 6**0.5, 1e-9)))
        expected = tuple(  # type: ignore[assignment]
            float(round(exp(middle + z * std) / step) * step) for z in (-2, 2)
        )
        assert expected is not None
        suggestion = meant(unit.turns.value, *expected, before)
    return CellVerdict(
        number=counted.number,
        unit=unit.unit,
        line=unit.line,
        turns=unit.turns.value,
        verdict=verdict,
        reason=reason,
        expected=expected,
        suggestion=suggestion,
    )


def _exchanged(cells: tuple[CellVerdict, ...]) -> tuple[CellVerdict, ...]:
    """Two counts of a pass that fit each other's unit are said to stand in each other's place."""
    out = [c for c in cells if c.verdict is Judgement.LEFT_OUT and c.expected is not None]
    changed = {}
    for one in out:
        for other in out:
            if one.number != other.number or one.unit == other.unit:
                continue
            assert one.expected is not None
            assert other.expected is not None
            if (
                one.expected[0] <= other.turns <= one.expected[1]
                and other.expected[0] <= one.turns <= other.expected[1]
                and one.reason is CellReason.COUNT
            ):
                changed[one.number, one.unit] = replace(
                    one, reason=CellReason.EXCHANGED, suggestion=other.turns
                )
    return tuple(changed.get((c.number, c.unit), c) for c in cells)


def _pass_off(counted: CountedPass, i: int, found: Credibility, ground: Ground) -> Finding:
    """That ground and counts of a pass disagree: its median count and what the ground needs."""
    middle = np.log(ground.distance_m[i]) - found.level
    ends = tuple(float(round(exp(middle + z * 0.02))) for z in (-2, 2))
    turns = _usual(counted)
    return Finding(
        kind=FindingKind.PASS_OFF,
        passes=(counted.number,),
        line=counted.counts[0].line,
        written=turns,
        expected=(ends[0], ends[1]),
    )
