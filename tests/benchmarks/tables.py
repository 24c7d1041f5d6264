"""The days of the accuracy benchmark as Markdown tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .page import markdown_table

Array = NDArray[np.float64]
Record = dict[str, Any]

ALONE, DAY = "ours, one pass alone", "ours, passes of the day"
BEST = "all parameters known"
LEFT_OUT = "–"
Z95, Z68 = 1.96, 1.0


def report(records: Sequence[Record]) -> str:
    """All tables: the methods by scenario, sums over passes, and what the figures rest on."""
    names = list(dict.fromkeys(r["scenario"] for r in records))
    by_name = {name: [r for r in records if r["scenario"] == name] for name in names}
    parts = [_summary(by_name), _pooled(by_name), _methods(by_name)]
    refused = sum(len(r["refused"]) for r in records)
    if refused:
        first = next(r["refused"][0] for r in records if r["refused"])
        parts.append(f"Refused: {refused}, the first with “{first}”.")
    return "\n\n".join(parts)


def _columns(records: Sequence[Record], method: str) -> tuple[Array, Array, Array, Array]:
    """Error, stated and least standard deviation, and ground, of the passes that were answered."""
    parts = []
    for r in records:
        found = r["methods"].get(method)
        if found:
            truth, least = np.array(r["ground_m"]), np.array(r["methods"][BEST]["u"])
            parts.append([np.array(found["m"]) - truth, np.array(found["u"]), least, truth])
    if not parts:
        return (np.zeros(0),) * 4
    error, std, least, truth = np.concatenate(parts, axis=1)
    known = np.isfinite(error)
    return error[known], std[known], least[known], truth[known]


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else float("nan")


def _share(error: Array, std: Array, limit: float) -> str:
    if not len(error) or not np.isfinite(std).all():
        return LEFT_OUT
    return f"{100 * float(np.mean(np.abs(error) <= limit * std)):.1f}"


def _efficiency(records: Sequence[Record], method: str) -> float:
    """RMSE over that of the best estimate of the same passes, each in units of its bound."""
    ours, best = [], []
    for r in records:
        if method in r["methods"]:
            truth, least = np.array(r["ground_m"]), np.array(r["methods"][BEST]["u"])
            error = np.array(r["methods"][method]["m"]) - truth
            known = np.isfinite(error)
            ours.append((error / least)[known])
            best.append(((np.array(r["methods"][BEST]["m"]) - truth) / least)[known])
    return _rms(np.concatenate(ours)) / _rms(np.concatenate(best)) if ours else float("nan")


def _summary(by_name: dict[str, list[Record]]) -> str:
    rows = []
    for name, records in by_name.items():
        *_, least, truth = _columns(records, BEST)
        cells: list[object] = [name, len(truth), f"{100 * _rms(least / truth):.2f}"]
        for method in (DAY, ALONE):
            error, std, least, truth = _columns(records, method)
            if not len(error):
                cells += [LEFT_OUT] * (6 if method == DAY else 2)
                continue
            if method == DAY:
                cells += [
                    f"{100 * float(np.mean(error / truth)):+.2f}",
                    f"{_rms(error / least):.2f}",
                    _share(error, std, Z95),
                    _share(error, std, Z68),
                ]
            cells += [f"{_efficiency(records, method):.2f}", _milliseconds(records, method)]
        rows.append(cells)
    head = ["scenario", "passes", "bound %", "bias %", "RMSE ÷ bound", "in 95 %", "in 68 %"]
    head += ["÷ best", "ms", "alone: ÷ best", "alone: ms"]
    return "**Ours, one pass, by scenario**\n\n" + markdown_table(head, rows)


def _milliseconds(records: Sequence[Record], method: str) -> str:
    """Processor time for a pass of 100 fixes."""
    spent = [
        r["methods"][method]["ms"] * len(r["fixes"]) for r in records if method in r["methods"]
    ]
    fixes = [sum(r["fixes"]) for r in records if method in r["methods"]]
    return f"{100 * sum(spent) / sum(fixes):.2g}"


def _pooled(by_name: dict[str, list[Record]]) -> str:
    rows = []
    seen = {k for records in by_name.values() for r in records for k in r.get("pooled", {})}
    numbers = sorted(seen, key=int)
    for name, records in by_name.items():
        cells: list[object] = [name]
        for k in numbers:
            pairs = [pair for r in records for pair in r.get("pooled", {}).get(k, [])]
            if not pairs:
                cells.append(LEFT_OUT)
                continue
            error, std = np.array(pairs).T
            cells.append(
                f"{_share(error, std, Z95)} / {_share(error, std, Z68)} ({len(error)}; "
                f"{_rms(error / std):.2f})"
            )
        if cells[1:] != [LEFT_OUT] * len(numbers):
            rows.append(cells)
    head = ["scenario", *(f"{k} passes" for k in numbers)]
    return (
        "**Sums over passes of a day: truth within the 95 % / 68 % interval, % "
        "(sums; rms of error ÷ u)**\n\n" + markdown_table(head, rows)
    )


def _methods(by_name: dict[str, list[Record]]) -> str:
    """One matrix each for RMSE ÷ bound, bias and coverage: scenarios down, methods across."""
    seen = (m for records in by_name.values() for r in records for m in r["methods"])
    methods = sorted(dict.fromkeys(seen), key=lambda m: (m in (ALONE, DAY, BEST), m == BEST))

    def matrix(title: str, cell: Callable[[Sequence[Record], str], str], shown: list[str]) -> str:
        rows = [[name, *(cell(records, m) for m in shown)] for name, records in by_name.items()]
        return f"**{title}**\n\n" + markdown_table(["scenario", *shown], rows)

    def ratio(records: Sequence[Record], method: str) -> str:
        error, _, least, _ = _columns(records, method)
        return f"{_rms(error / least):.2f}" if len(error) else LEFT_OUT

    def bias(records: Sequence[Record], method: str) -> str:
        error, *_, truth = _columns(records, method)
        return f"{100 * float(np.mean(error / truth)):+.2f}" if len(error) else LEFT_OUT

    def covered(records: Sequence[Record], method: str) -> str:
        error, std, *_ = _columns(records, method)
        wide = _share(error, std, Z95)
        return wide if wide == LEFT_OUT else f"{wide} / {_share(error, std, Z68)}"

    every = [r for records in by_name.values() for r in records]
    times = markdown_table(methods, [[_milliseconds(every, m) for m in methods]])
    stating = [
        m for m in methods if any(covered(records, m) != LEFT_OUT for records in by_name.values())
    ]
    return "\n\n".join(
        (
            matrix("RMSE ÷ bound, one pass, every method", ratio, methods),
            matrix("Bias, % of the ground covered", bias, methods),
            matrix("Truth within the stated 95 % / 68 % interval, %", covered, stating),
            f"**Processor time, ms for a pass of 100 fixes, all scenarios**\n\n{times}",
        )
    )
