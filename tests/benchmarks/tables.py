"""The days of the accuracy benchmark as Markdown tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Record = dict[str, Any]

BEGIN, END = "<!-- accuracy tables: begin -->", "<!-- accuracy tables: end -->"
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


def _row(cells: Sequence[object]) -> str:
    return "| " + " | ".join(str(c) for c in cells) + " |"


def _table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    rule = ["---", *["---:"] * (len(head) - 1)]
    return "\n".join(_row(r) for r in (head, rule, *rows))


def _summary(by_name: dict[str, list[Record]]) -> str:
    rows = []
    for name, records in by_name.items():
        *_, least, truth = _columns(records, BEST)
        cells: list[object] = [name, len(truth), f"{100 * _rms(least / truth):.2f}"]
        for method in ("ours, one pass alone", "ours, passes of the day"):
            error, std, least, truth = _columns(records, method)
            if not len(error):
                cells += [LEFT_OUT] * 5
                continue
            cells += [
                f"{100 * float(np.mean(error / truth)):+.2f}",
                f"{100 * _rms(error / truth):.2f}",
                f"{_rms(error / least):.2f}",
                _share(error, std, Z95),
                _share(error, std, Z68),
            ]
        rows.append(cells)
    head = ["scenario", "passes", "bound %"]
    for prefix in ("alone", "day"):
        head += [f"{prefix}: {c}" for c in ("bias %", "RMSE %", "RMSE ÷ bound", "in 95 %", "68 %")]
    return "**One pass, by scenario**\n\n" + _table(head, rows)


def _pooled(by_name: dict[str, list[Record]]) -> str:
    rows = []
    for name, records in by_name.items():
        cells: list[object] = [name]
        for k in ("2", "4", "10", "20"):
            pairs = [pair for r in records for pair in r.get("pooled", {}).get(k, [])]
            if not pairs:
                cells.append(LEFT_OUT)
                continue
            error, std = np.array(pairs).T
            cells.append(
                f"{_share(error, std, Z95)} / {_share(error, std, Z68)} ({len(error)}; "
                f"{_rms(error / std):.2f})"
            )
        if cells[1:] != [LEFT_OUT] * 4:
            rows.append(cells)
    head = ["scenario", *(f"{k} passes" for k in (2, 4, 10, 20))]
    return (
        "**Sums over passes of a day: truth within the 95 % / 68 % interval, % "
        "(sums; rms of error ÷ u)**\n\n" + _table(head, rows)
    )


def _methods(by_name: dict[str, list[Record]]) -> str:
    rows = []
    for name, records in by_name.items():
        methods = list(dict.fromkeys(m for r in records for m in r["methods"]))
        for method in sorted(methods, key=lambda m: m == BEST):
            error, std, least, truth = _columns(records, method)
            if not len(error):
                continue
            spent = [r["methods"][method]["ms"] for r in records if method in r["methods"]]
            rows.append(
                [
                    name,
                    method,
                    f"{100 * float(np.mean(error / truth)):+.2f}",
                    f"{100 * _rms(error / truth):.2f}",
                    f"{_rms(error / least):.2f}",
                    _share(error, std, Z95),
                    _share(error, std, Z68),
                    f"{np.mean(spent):.2g}",
                ]
            )
    head = ["scenario", "method", "bias %", "RMSE %", "RMSE ÷ bound", "in 95 %", "in 68 %", "ms"]
    return "**Every method on every scenario**\n\n" + _table(head, rows)


def write_between(page: Path, text: str) -> None:
    """Replace what stands between the markers of a page."""
    old = page.read_text(encoding="utf-8")
    if BEGIN not in old or END not in old:
        raise SystemExit(f"{page}: the markers {BEGIN} and {END} are missing")
    before, rest = old.split(BEGIN, 1)
    after = rest.split(END, 1)[1]
    new = page.with_suffix(".md.tmp")
    new.write_text(f"{before}{BEGIN}\n\n{text}\n\n{END}{after}", encoding="utf-8")
    new.replace(page)
