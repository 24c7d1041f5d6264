"""Days with one mistake of a person or a recorder each, measured (truth: our simulator).

    python -m tests.benchmarks.mistakes [--days 20] [--seed0 0] [--kinds NAME ...] [--pairs 0]
        [--passes 10] [--units 4] [--jobs 2] [--show] [--write docs/turn-sheet.md]

Days with an ordinary phone; the truth is the figure to use from now on.
Every kind is put into the same days. Of all days a kind is:

- right: the truth lies in the 95 % interval, which is no wider than twice the clean day's;
- wide: it lies in a wider one;
- beside it: it lies outside, at most as far again as the interval reaches: chance puts about one
  clean day in twenty there;
- warned: it lies farther outside, and the result warns or says that it cannot tell;
- silently wrong: it lies farther outside, and nothing is said (chance: one day in ten thousand);
- refused: there is no answer.

"named": of the days on which counts were typed so that it can be told from the others, the share
on which these cells were left out and no others. "false": days on which a cell was left out that
was right. ``--pairs`` puts so many pairs of kinds, drawn anew for each day, into the days as well.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

import groundtruth
from groundtruth.core.result import CellReason, Result
from groundtruth.core.track import Track
from groundtruth.passes import Pass

from .mistake_kinds import KINDS, Kind
from .mistake_mornings import Morning, clean
from .mistake_tracks import WITHOUT_COUNTS
from .page import markdown_table, write_between

_COUNT = CellReason.COUNT
CLASSES = ("right", "wide", "beside it", "warned", "silently wrong", "refused")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one day with one kind of mistake; ``error`` and ``half_width`` are relative.

    ``named`` is None where no cell was to be named; ``said`` what was refused or warned of.
    """

    kind: str
    seed: int
    happened: str
    error: float = np.nan
    half_width: float = np.nan
    named: bool | None = None
    false: bool = False
    said: str = ""


def with_mistakes(seed: int, kinds: Sequence[Kind], passes: int = 10, units: int = 4) -> Morning:
    """The morning of a seed with these mistakes, in the order of the kinds."""
    variant = next((k.variant for k in kinds if k.variant), "")
    morning = clean(seed, variant, passes, units)
    for number, kind in enumerate(kinds):
        name = sum(kind.name.encode())
        rng = np.random.default_rng([seed, 5, number, name])
        for change in kind.changes:
            morning = change(morning, rng)
    return morning


@lru_cache(maxsize=16)
def _passes(track: Track) -> tuple[Pass, ...]:
    """The passes of a track; most mistakes leave it as it is."""
    return groundtruth.find_passes(track)


def _outcome(name: str, seed: int, morning: Morning, clean_half_width: float) -> Outcome:
    try:
        run = morning.run()
        result = groundtruth.measure(run, _passes(run.track))
    except groundtruth.GroundtruthError as refusal:
        return Outcome(kind=name, seed=seed, happened="refused", said=str(refusal))
    truth = morning.truth_m
    value, (low, high) = result.ground_per_turn.value, result.ground_per_turn_95
    half_width = (high - low) / 2 / value
    warned, unsure = _warned(result), result.verdict == "cannot tell"
    if low <= truth <= high:
        happened = "right" if half_width <= 2 * clean_half_width else "wide"
    elif abs(truth - value) <= (high - low):
        happened = "beside it"
    else:
        happened = "warned" if warned or unsure else "silently wrong"
    left = [c for c in result.cells if c.verdict == "left out"]
    out = {(c.number, c.unit) for c in left}
    seen = {(c.number, c.unit) for c in result.cells}
    to_name = morning.cells & seen  # a row whose pass was not recorded is left out anyway
    # where the recording is at fault, counts that are right are left out with the pass
    blamed = {(c.number, c.unit) for c in left if not morning.hurt or c.reason is _COUNT}
    return Outcome(
        kind=name,
        seed=seed,
        happened=happened,
        error=value / truth - 1,
        half_width=half_width,
        named=to_name <= out if to_name else None,
        false=bool(blamed - morning.touched),
        said="; ".join(warned),
    )


def _warned(result: Result) -> list[str]:
    """Kinds of what the result says to look at or to think about."""
    found = [f.kind.value for f in result.findings if f.severity in ("watch", "warning")]
    out = [c for c in result.cells if c.verdict != "agrees"]
    return [*found, *(f"cell {c.number}/{c.unit} {c.verdict}" for c in out[:3])]


@dataclass(frozen=True, slots=True)
class Job:
    """A day to measure: its seed, the kinds, how many pairs of kinds, its passes and row units."""

    seed: int
    kinds: tuple[str, ...]
    pairs: int
    passes: int
    units: int


def outcomes_of_day(job: Job) -> list[Outcome]:
    """What came of the day of a seed with each of these kinds, and with so many pairs."""
    seed, names, pairs = job.seed, job.kinds, job.pairs
    size = (job.passes, job.units)
    bare = _outcome("clean", seed, clean(seed, "", *size), np.inf)
    wanted = [(name, (KINDS[name],)) for name in names]
    rng = np.random.default_rng([seed, 6])
    mistakes = [k for k in KINDS.values() if not k.name.startswith("clean")]
    while pairs:
        one, two = (mistakes[i] for i in rng.choice(len(mistakes), size=2, replace=False))
        if (one.variant and two.variant) or set(one.changes) & set(two.changes):
            continue  # a day is driven and recorded in one way, and a mistake is made once
        if {one.variant, two.variant} & set(WITHOUT_COUNTS):
            continue  # no cell there to mistype, no row to lose
        wanted.append((f"pair: {one.name} + {two.name}", (one, two)))
        pairs -= 1
    found = []
    for name, kinds in wanted:
        found.append(_outcome(name, seed, with_mistakes(seed, kinds, *size), bare.half_width))
    return found


def outcomes(jobs: Sequence[Job], workers: int) -> Iterator[Outcome]:
    """What came of all days."""
    if workers <= 1:
        for job in jobs:
            yield from outcomes_of_day(job)
        return
    with ProcessPoolExecutor(workers) as pool:
        for found in pool.map(outcomes_of_day, jobs):
            yield from found


def table(found: Sequence[Outcome]) -> str:
    """A row for each kind, shares in per cent of its days."""
    kinds = dict.fromkeys(o.kind.split(":")[0] for o in found)
    rows = []
    for kind in kinds:
        of_kind = [o for o in found if o.kind.split(":")[0] == kind]
        answered = [o for o in of_kind if o.happened != "refused"]
        shares = [_percent([o.happened == c for o in of_kind]) for c in CLASSES]
        error = np.array([o.error for o in answered])
        rmse = f"{100 * np.sqrt(np.mean(error**2)):.2f}" if answered else "–"
        half = f"{100 * np.median([o.half_width for o in answered]):.1f}" if answered else "–"
        named = [o.named for o in answered if o.named is not None]
        warned = [bool(o.said) for o in answered]
        rows.append(
            [
                kind,
                len(of_kind),
                *shares,
                _percent(named) if named else "–",
                _percent([o.false for o in answered]),
                _percent(warned),
                rmse,
                half,
            ]
        )
    head = ("kind", "days", *CLASSES, "named", "false", "any warning", "RMSE %", "± %")
    return markdown_table(head, rows)


def _percent(held: Sequence[bool | None]) -> str:
    return f"{100 * float(np.mean([bool(h) for h in held])):.1f}" if held else "–"


def main() -> None:
    """Run the days, print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=20, help="days of each kind")
    parser.add_argument("--seed0", type=int, default=0, help="seed of the first day")
    parser.add_argument("--kinds", nargs="*", default=list(KINDS), choices=list(KINDS))
    parser.add_argument("--pairs", type=int, default=0, help="pairs of kinds on each day")
    parser.add_argument("--passes", type=int, default=10, help="passes a day")
    parser.add_argument("--units", type=int, default=4, help="row units counted")
    parser.add_argument("--jobs", type=int, default=2, help="processes side by side")
    parser.add_argument("--show", action="store_true", help="name the days that went wrong")
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    seeds = range(args.seed0, args.seed0 + args.days)
    jobs = [Job(s, tuple(args.kinds), args.pairs, args.passes, args.units) for s in seeds]
    found = list(outcomes(jobs, args.jobs))
    text = table(found)
    if args.write:
        write_between(args.write, text, "mistakes table")
    print(text)
    if args.show:
        for o in sorted(found, key=lambda o: (o.kind, o.seed)):
            wrong = o.happened in ("silently wrong", "refused", "warned", "wide")
            warned = o.kind.startswith("clean") and o.said
            if wrong or warned or o.named is False or o.false:
                named = {None: "", True: "named", False: "NOT NAMED"}[o.named]
                print(
                    f"{o.kind}, {o.seed}: {o.happened} {100 * o.error:+.1f} ± "
                    f"{100 * o.half_width:.1f} % {named}{' FALSE' if o.false else ''} {o.said}"
                )


if __name__ == "__main__":
    main()
