"""What another version of the program changed, on the same runs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..core.errors import InputError
from .data_set import Fleet

MOST_MOVED = 20
_RUNS = (
    "SELECT source, version, status, message, verdict, seconds, ground_per_turn_m, log_std "
    "FROM runs WHERE status <> 'shared' AND source <> '' ORDER BY source, version"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionChange:
    """Runs of the same name in two data sets, or in two versions of one.

    ``moved`` is the ground per turn now over that before, minus 1: its median, and the share of
    runs that moved by more than half their standard uncertainty; ``wider`` the median ratio of the
    uncertainties, ``slower`` that of the seconds, None where they are not known. ``lost`` and
    ``won`` are the runs that have no figure any more, or have one now; ``most_moved`` the runs
    that moved most, in standard uncertainties.
    """

    before: str
    now: str
    runs: int
    moved: float
    moved_much: float
    wider: float
    slower: float | None
    other_verdict: int
    lost: tuple[dict[str, Any], ...]
    won: tuple[dict[str, Any], ...]
    most_moved: tuple[dict[str, Any], ...]


def version_change(before: Fleet, now: Fleet) -> VersionChange:
    """What changed between two data sets that hold the same runs.

    Raises
    ------
    InputError : no run stands in both.
    """
    old = {row["source"]: row for row in before.rows(_RUNS)}
    pairs = [(old[row["source"]], row) for row in now.rows(_RUNS) if row["source"] in old]
    both = [(a, b) for a, b in pairs if a["status"] == b["status"] == "measured"]
    if not both:
        raise InputError(
            f"no run has a figure in both {before.folder} and {now.folder}; measure the same "
            "folder of runs into both"
        )
    lines = [_line(a, b) for a, b in both]
    moved = np.array([one["moved"] for one in lines])
    in_std = np.array([abs(one["moved_in_u"]) for one in lines])
    wider = [b["log_std"] / a["log_std"] for a, b in both]
    slower = [b["seconds"] / a["seconds"] for a, b in both if a["seconds"] and b["seconds"]]
    return VersionChange(
        before=_versions(a for a, _ in pairs),
        now=_versions(b for _, b in pairs),
        runs=len(both),
        moved=float(np.median(moved)),
        moved_much=float(np.mean(in_std > 0.5)),
        wider=float(np.median(wider)),
        slower=float(np.median(slower)) if slower else None,
        other_verdict=sum(a["verdict"] != b["verdict"] for a, b in both),
        lost=tuple(_status(a, b) for a, b in pairs if a["status"] == "measured" != b["status"]),
        won=tuple(_status(a, b) for a, b in pairs if a["status"] != "measured" == b["status"]),
        most_moved=tuple(lines[i] for i in np.argsort(-in_std)[:MOST_MOVED] if in_std[i] > 0),
    )


def _versions(rows: Any) -> str:
    return ", ".join(sorted({row["version"] for row in rows}))


def _line(a: dict[str, Any], b: dict[str, Any]) -> dict[str, Any]:
    moved = b["ground_per_turn_m"] / a["ground_per_turn_m"] - 1
    return {
        "source": b["source"],
        "before_m": a["ground_per_turn_m"],
        "now_m": b["ground_per_turn_m"],
        "moved": moved,
        "moved_in_u": moved / a["log_std"],
        "verdict_before": a["verdict"],
        "verdict_now": b["verdict"],
    }


def _status(a: dict[str, Any], b: dict[str, Any]) -> dict[str, Any]:
    message = a["message"] or b["message"]
    return {"source": b["source"], "before": a["status"], "now": b["status"], "message": message}
